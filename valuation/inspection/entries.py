"""Entries of one table of a settings file, read with every fault kept."""

from __future__ import annotations

import math
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from valuation.importing.car_value import Wrong

__all__ = ["Entries", "shown"]


class Entries:
    """One table of a settings file.

    A wrong entry becomes a fault and something harmless stands in for it, so that the rest is
    checked too.

    Parameters
    ----------
    entries : mapping
        Content of the table.
    place : str
        Name of the table for faults.
    faults : list of Wrong
        Where faults are put.
    """

    def __init__(self, entries: Mapping[str, Any], place: str, faults: list[Wrong]) -> None:
        self._entries = entries
        self._place = place
        self._faults = faults
        self._asked: set[str] = set()

    @classmethod
    def of(
        cls, raw: Mapping[str, Any], name: str, faults: list[Wrong], *, place: str = ""
    ) -> Entries:
        """Return the table `name` of `raw`; a fault and an empty table if there is none."""
        content, place = raw.get(name), place or name
        if isinstance(content, Mapping):
            return cls(content, place, faults)
        got = "nothing" if content is None else repr(content)
        faults.append(Wrong(place, got, f"a table [{place}]"))
        # Its own fault says enough: those of its entries go nowhere.
        return cls({}, place, [])

    def has(self, key: str) -> bool:
        """Return whether there is an entry of this name."""
        return key in self._entries

    def wrong(self, key: str, got: str, allowed: str) -> None:
        """Put down a fault."""
        self._faults.append(Wrong(f"{self._place}.{key}", got, allowed))

    def number(self, key: str, low: float, high: float, default: float | None = None) -> float:
        """Return a number from `low` to `high`; without a default it has to be there."""
        value = self._take(key)
        if value is None and default is not None:
            return default
        fits = not isinstance(value, bool) and isinstance(value, int | float)
        if not fits or not math.isfinite(value) or not low <= value <= high:
            self.wrong(key, shown(value), f"a number from {low:g} to {high:g}")
            return low if default is None else default
        return float(value)

    def days(self, key: str) -> int | None:
        """Return a whole number of days, None if there is no such entry."""
        value = self._take(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int) or value < 0:
            self.wrong(key, shown(value), "a whole number of days, 0 or more")
            return None
        return value

    def text(self, key: str, default: str | None = None) -> str:
        """Return a text; without a default it has to be there, and unless that is empty, filled."""
        value = self._take(key)
        if default is not None and value in (None, default):
            return default
        if not isinstance(value, str) or not value.strip():
            self.wrong(key, shown(value), "text between quotation marks")
            return default or ""
        return value.strip()

    def flag(self, key: str, default: bool = False) -> bool:
        """Return true or false."""
        value = self._take(key)
        if value is None:
            return default
        if not isinstance(value, bool):
            self.wrong(key, shown(value), "true or false")
            return default
        return value

    def word(self, key: str, allowed: tuple[str, ...]) -> str:
        """Return one of some words."""
        value = self._take(key)
        if value not in allowed:
            self.wrong(key, shown(value), "one of " + ", ".join(allowed))
            return allowed[0] if allowed else ""
        return str(value)

    def words(self, key: str, allowed: tuple[str, ...]) -> tuple[str, ...]:
        """Return a list of some words, empty if there is no such entry."""
        value = self._take(key)
        if value is None:
            return ()
        if not isinstance(value, list) or any(v not in allowed for v in value):
            self.wrong(key, shown(value), "a list of " + ", ".join(allowed))
            return ()
        return tuple(value)

    def listed(self, key: str) -> list[Any]:
        """Return a list, empty if there is no such entry or it is none."""
        value = self._take(key)
        if isinstance(value, list):
            return value
        if value is not None:
            self.wrong(key, shown(value), "a list between square brackets")
        return []

    def end(self) -> None:
        """Put down a fault for every entry that nobody asked for."""
        known = ", ".join(sorted(self._asked))
        for key in self._entries:
            if key not in self._asked:
                self.wrong(key, "an unknown entry", f"one of {known}")

    def _take(self, key: str) -> Any:
        self._asked.add(key)
        return self._entries.get(key)


def shown(value: Any) -> str:
    """Return what stands in an entry, as people write it.

    Examples
    --------
    >>> shown(None), shown("red"), shown({"low": Decimal("0.1"), "high": [3, True]})
    ('nothing', "'red'", '{ low = 0.1, high = [3, True] }')
    """
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{k} = {shown(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(shown, value)) + "]"
    if isinstance(value, Decimal):
        return str(value)
    return "nothing" if value is None else repr(value)
