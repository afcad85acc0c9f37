"""A filled sheet as it came: what stands in which box, and where that box is."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from types import MappingProxyType
from typing import Any

from valuation.importing.car_value import Wrong
from valuation.inspection.form import Form, Place

__all__ = ["Entry", "Sheet", "entry_text"]

Entry = str | float | int | bool | date
"""What can stand in a box."""


def entry_text(value: Entry) -> str:
    """Return an entry as text: whole numbers without a point, days as 2025-06-14.

    Examples
    --------
    >>> entry_text(1968.0), entry_text(" TV 68 "), entry_text(date(2025, 6, 14)), entry_text(True)
    ('1968', 'TV 68', '2025-06-14', 'yes')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float) and math.isfinite(value) and value.is_integer():
        return str(int(value))
    return str(value).strip()


@dataclass(frozen=True)
class Sheet:
    """Entries of one sheet.

    Parameters
    ----------
    name : str
        Name of the file, for messages.
    form : Form
        What was asked.
    entries : mapping of Place to Entry
        Boxes that are filled in.
    where : mapping of Place to str
        For messages: tab and cell, or key.
    faults : tuple of Wrong
        Entries that belong to no box of the form.
    """

    name: str
    form: Form
    entries: Mapping[Place, Entry]
    where: Mapping[Place, str]
    faults: tuple[Wrong, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "entries", MappingProxyType(dict(self.entries)))
        object.__setattr__(self, "where", MappingProxyType(dict(self.where)))

    def value(self, part: str, row: str, box: str) -> Entry | None:
        """Return what stands in a box, None if it is empty."""
        return self.entries.get(Place(part, row, box))

    def text(self, part: str, row: str, box: str) -> str:
        """Return what stands in a box as text, empty if nothing does."""
        value = self.value(part, row, box)
        return "" if value is None else entry_text(value)

    def column(self, part: str, box: str) -> dict[str, Any]:
        """Return what stands in the same box of every row that has it filled in."""
        return {p.row: v for p, v in self.entries.items() if p.part == part and p.box == box}

    def boxes(self, part: str, row: str) -> dict[str, Any]:
        """Return what stands in the boxes of one row."""
        return {p.box: v for p, v in self.entries.items() if (p.part, p.row) == (part, row)}

    def lines(self, part: str) -> tuple[str, ...]:
        """Return the numbers of the lines that are filled in, in order."""
        return tuple(sorted({p.row for p in self.entries if p.part == part}, key=int))

    def wrong(self, place: Place, got: str, allowed: str) -> Wrong:
        """Return the fault of an entry, with where it stands."""
        return Wrong(self.where.get(place, self._key(place)), got, allowed)

    def _key(self, place: Place) -> str:
        return ".".join(p for p in place if p)
