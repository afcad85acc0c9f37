"""Tables of a car file: their keys, texts and numbers, each wrong entry told and the rest read."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Any

from valuation.importing.car_value import Wrong

__all__ = ["check_keys", "is_list", "number_at", "plain_number", "tables_of", "text_at"]

Table = Mapping[str, Any]


def is_list(value: Any) -> bool:
    """Return whether an entry is a list."""
    return isinstance(value, Sequence) and not isinstance(value, str)


def tables_of(
    entry: Any, name: str, keys: Collection[str], faults: list[Wrong]
) -> Iterator[tuple[str, Table]]:
    """Yield the tables ``[[name]]`` of a car file, each with its name in messages.

    Parameters
    ----------
    entry : object
        What stands under `name`: a list of tables.
    name : str
        Its key.
    keys : collection of str
        Keys a table may have.
    faults : list of Wrong
        An entry that is no list of tables, and every unknown key, is appended.
    """
    if not is_list(entry) or not all(isinstance(table, Mapping) for table in entry):
        faults.append(Wrong(name, str(entry), f"tables, each under [[{name}]]"))
        return
    for at, table in enumerate(entry, start=1):
        place = f"{name} {at}"
        check_keys(table, place, keys, faults)
        yield place, table


def check_keys(table: Table, place: str, keys: Collection[str], faults: list[Wrong]) -> None:
    """Append a fault for each key of a table that is not one of `keys`."""
    allowed = f"one of the keys {', '.join(keys)}"
    faults += [Wrong(f"{place}.{key}", str(key), allowed) for key in table if key not in keys]


def text_at(table: Table, key: str, place: str, faults: list[Wrong]) -> str:
    """Return the text under a key without blanks round it, empty if there is none."""
    value = table.get(key, "")
    if isinstance(value, str):
        return value.strip()
    faults.append(Wrong(f"{place}.{key}", str(value), "text between quotation marks"))
    return ""


def number_at(
    table: Table, key: str, place: str, most: float, allowed: str, faults: list[Wrong]
) -> float | None:
    """Return the number from 0 to `most` under a key, None if there is none or it is wrong."""
    value = table.get(key)
    if value is None:
        return None
    if isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= most:
        return float(value)
    faults.append(Wrong(f"{place}.{key}", str(value), allowed))
    return None


def plain_number(value: float) -> int | float:
    """Return a whole number as one, so that a file says 63 and not 63.0.

    Examples
    --------
    >>> plain_number(63.0), plain_number(63.5)
    (63, 63.5)
    """
    return int(value) if float(value).is_integer() else float(value)
