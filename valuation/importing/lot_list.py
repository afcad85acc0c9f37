"""What a catalogue of lots is once it is read: the lots, the rows set aside, what was noticed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from valuation.importing.repeats import chassis_key
from valuation.records import Car, SetAside

__all__ = ["FORMAT", "Lot", "LotList", "plain_amount"]

FORMAT = 1
"""Version of a list of lots as data."""


def plain_amount(amount: Decimal | None) -> int | str | None:
    """Return an amount as plain data: a whole one as a number, cents as text."""
    if amount is None:
        return None
    return int(amount) if amount == amount.to_integral_value() else str(amount)


@dataclass(frozen=True)
class Lot:
    """One lot of a catalogue: a car that will be offered, and what the house says of it.

    Parameters
    ----------
    number : str
        Lot number as printed, such as ``112`` or ``F12.1``; empty if the list gives none.
    day : str
        Day of the sale as stated, a date or a word such as ``Friday``; empty if not stated.
    sale_date : datetime.date or None
        The same as a date where it can be read as one.
    order : int
        Place among the rows of the list, the first being 1: the running order.
    car : Car
        Everything that columns and words tell about the car.
    estimate_low, estimate_high : decimal.Decimal or None
        The house's estimate in `currency`; None for an end that is not stated.
    reserve_kind : {"none", "yes", "not stated"}
        Whether the seller set a reserve.
    reserve : decimal.Decimal or None
        Its amount in `currency` where it is stated.
    currency : str
        ISO 4217 code; ``XXX``, "no currency", where nobody states one.
    venue : str
        House, as stated; empty if not.
    notes : str
        What the buyer wrote about it.
    remarks : tuple of str
        What was noticed while it was read, in sentences.
    row : int
        Row number in the file as a spreadsheet counts it; in a text, the line it begins in.
    file : str
        Name of the file, without its folder.
    """

    number: str
    day: str
    sale_date: date | None
    order: int
    car: Car
    estimate_low: Decimal | None
    estimate_high: Decimal | None
    reserve_kind: str
    reserve: Decimal | None
    currency: str
    venue: str
    notes: str
    remarks: tuple[str, ...]
    row: int
    file: str

    @property
    def name(self) -> str:
        """The lot for people: its number, or its row, and its car."""
        return f"{self.place}, {self.car.name}"

    @property
    def place(self) -> str:
        """The lot without its car: by its number, or by its row where it has none."""
        return f"lot {self.number}" if self.number else f"row {self.row}"

    @property
    def chassis_key(self) -> str:
        """What two records of its chassis have in common; empty if the number tells nothing."""
        return chassis_key(self.car.chassis, self.car.values.get("make"))

    @property
    def estimate(self) -> str:
        """The estimate as text; empty if there is none."""
        low, high = self.estimate_low, self.estimate_high
        if low is None and high is None:
            return ""
        if low is None:
            return f"up to {high:,} {self.currency}"
        if high is None:
            return f"from {low:,} {self.currency}"
        return f"{low:,} {self.currency}" if low == high else f"{low:,} to {high:,} {self.currency}"

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        car = self.car
        return {
            "number": self.number,
            "day": self.day,
            "sale_date": self.sale_date.isoformat() if self.sale_date else None,
            "order": self.order,
            "car": {
                "name": car.name,
                "title": car.title,
                "description": car.description,
                "chassis": car.chassis,
                "values": {
                    name: list(value) if isinstance(value, tuple) else value
                    for name, value in car.values.items()
                },
            },
            "estimate_low": plain_amount(self.estimate_low),
            "estimate_high": plain_amount(self.estimate_high),
            "reserve_kind": self.reserve_kind,
            "reserve": plain_amount(self.reserve),
            "currency": self.currency,
            "venue": self.venue,
            "notes": self.notes,
            "remarks": list(self.remarks),
            "row": self.row,
            "file": self.file,
        }


@dataclass(frozen=True)
class LotList:
    """A catalogue of lots that was read.

    Parameters
    ----------
    lots : tuple of Lot
        Lots whose car has a make and a year, in their running order.
    set_aside : tuple of SetAside
        Rows that are no such lot, each with all its reasons.
    rows : int
        Rows that hold something, ``len(lots) + len(set_aside)``.
    currency : str
        ISO 4217 code most lots are in, ``XXX`` where nobody states one.
    notes : tuple of str
        What was noticed about the list as a whole, in sentences.
    aside_places : tuple of (str, str)
        Lot number and day of each row set aside, in the order of `set_aside`; empty where not
        stated.
    """

    lots: tuple[Lot, ...]
    set_aside: tuple[SetAside, ...]
    rows: int
    currency: str
    notes: tuple[str, ...] = ()
    aside_places: tuple[tuple[str, str], ...] = ()

    def __len__(self) -> int:
        return len(self.lots)

    @property
    def reasons(self) -> Mapping[str, int]:
        """How many rows were set aside for each kind of fault; a row may have several."""
        return dict(Counter(f.code for s in self.set_aside for f in s.faults).most_common())

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        return {
            "format": FORMAT,
            "rows": self.rows,
            "currency": self.currency,
            "lots": [lot.to_dict() for lot in self.lots],
            "set_aside": [
                {
                    "number": number,
                    "day": day,
                    "file": s.file,
                    "row": s.row,
                    "faults": [
                        {"code": f.code, "column": f.column, "got": f.got, "remedy": f.remedy}
                        for f in s.faults
                    ],
                    "cells": dict(s.cells),
                }
                for s, (number, day) in zip(self.set_aside, self.aside_places, strict=True)
            ],
            "notes": list(self.notes),
        }

    def summary(self) -> str:
        """Return what was read and what was not, as text for people."""
        noticed = [lot for lot in self.lots if lot.remarks]
        lines = [
            f"{self.rows:,} rows of a catalogue in {self.currency}: {len(self.lots):,} lots read, "
            f"{len(self.set_aside):,} set aside."
        ]
        if self.set_aside:
            lines += ["", "Set aside (a row may have several reasons):"]
            for s, (number, _) in zip(self.set_aside, self.aside_places, strict=True):
                place = f"lot {number}" if number else f"{s.file}, row {s.row}"
                why = "; ".join(f"{f.code} ({f.got})" if f.got else f.code for f in s.faults)
                lines.append(f"  {place}: {why}. {s.faults[0].remedy}.")
        if noticed:
            lines += ["", "To look at:"]
            lines += [f"  {lot.name}: {' '.join(lot.remarks)}" for lot in noticed]
        if self.notes:
            lines += ["", "What was noticed:", *(f"  - {n}" for n in self.notes)]
        return "\n".join(lines)

    def __str__(self) -> str:
        return self.summary()
