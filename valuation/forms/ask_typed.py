"""What is typed where days or a chance are asked for."""

from __future__ import annotations

from valuation.errors import SettingsError
from valuation.reading.numbers import read_number

__all__ = ["LEAST_CHANCE", "TARGET_DAYS", "typed_days", "typed_percent"]

TARGET_DAYS = "Days to sell within"
LEAST_CHANCE = "Least chance, %"

_MOST_DAYS = 3650
_LEAST, _MOST = 1, 99


def typed_days(text: str) -> int | None:
    """Return days as they were typed; None for an empty field.

    Parameters
    ----------
    text : str
        A whole number.

    Raises
    ------
    SettingsError
        If it is no number of days.

    Examples
    --------
    >>> typed_days(" 60 days"), typed_days("")
    (60, None)
    """
    typed = text.strip()
    if not typed:
        return None
    number = typed.casefold().removesuffix("days").strip()
    if not number.isdecimal() or not 1 <= int(number) <= _MOST_DAYS:
        raise SettingsError(
            TARGET_DAYS,
            f"it has to be a whole number from 1 to {_MOST_DAYS:,}",
            got=typed,
            remedy="Write how many days you give it, such as 60, or nothing",
        )
    return int(number)


def typed_percent(text: str) -> float | None:
    """Return a chance in per cent as it was typed; None for an empty field.

    Parameters
    ----------
    text : str
        A number, with or without its sign.

    Raises
    ------
    SettingsError
        If it is no chance.

    Examples
    --------
    >>> typed_percent("62,5 %"), typed_percent("60"), typed_percent("")
    (62.5, 60.0, None)
    """
    typed = text.strip()
    if not typed:
        return None
    found = read_number(typed.removesuffix("%").strip())
    if found is None or not _LEAST <= found <= _MOST:
        raise SettingsError(
            LEAST_CHANCE,
            f"it has to be a number from {_LEAST} to {_MOST}",
            got=typed,
            remedy="Write it in per cent, such as 60, or nothing",
        )
    return found
