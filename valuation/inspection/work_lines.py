"""What the work on a car comes to: its lines one by one, and the car when they are done."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from valuation.inspection.contents import CostRange
from valuation.records import Car, Value, ZoneMark

__all__ = ["AfterWork", "Held", "WorkLine"]

Held = ZoneMark | Value
"""A mark of a zone or a value of an attribute."""


@dataclass(frozen=True, slots=True)
class WorkLine:
    """One line of work and what it does to the car.

    Parameters
    ----------
    what : str
        What is to be done.
    zone, attribute : str
        Zone it puts right, or attribute it changes; empty for none.
    label : str
        The same for people.
    before, after : ZoneMark, Value or None
        Mark of the zone, or value of the attribute, without and with the line; None if it is not
        settled or the line names neither.
    low, high : decimal.Decimal
        What it costs.
    currency : str
        ISO 4217 code, empty if nothing names one.
    days : float or None
        How long it takes, None if nobody said.
    counts : bool
        Whether the car is another after it; if not, it is a cost alone.
    note : str
        Why not, or what else follows; empty if there is nothing to say.
    """

    what: str
    zone: str
    attribute: str
    label: str
    before: Held | None
    after: Held | None
    low: Decimal
    high: Decimal
    currency: str
    days: float | None
    counts: bool
    note: str

    def summary(self) -> str:
        """Return the line for a screen."""
        told = f"{self.what}: {CostRange(self.low, self.high, self.currency).shown}"
        if self.days is not None:
            told += f", {self.days:g} day" + ("" if self.days == 1 else "s")
        if self.counts:
            told += f"; {self.label} from {_shown(self.before)} to {_shown(self.after)}"
        return f"{told}. {self.note}".rstrip()

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form."""
        return {
            "what": self.what,
            "zone": self.zone,
            "attribute": self.attribute,
            "before": _plain(self.before),
            "after": _plain(self.after),
            "low": str(self.low),
            "high": str(self.high),
            "currency": self.currency,
            "days": self.days,
            "counts": self.counts,
            "note": self.note,
        }


@dataclass(frozen=True)
class AfterWork:
    """A car when the work on it is done.

    Parameters
    ----------
    car : Car
        The car, without the work that is done.
    lines : tuple of WorkLine
        Every line of the work, in its order.
    notes : tuple of str
        What goes for the work as a whole, in sentences.
    """

    car: Car
    lines: tuple[WorkLine, ...]
    notes: tuple[str, ...] = ()

    @property
    def costs(self) -> tuple[CostRange, ...]:
        """What all lines cost together: one range for each currency, in their order."""
        out = []
        for currency in dict.fromkeys(line.currency for line in self.lines):
            mine = [line for line in self.lines if line.currency == currency]
            low = sum((line.low for line in mine), Decimal(0))
            out.append(CostRange(low, sum((line.high for line in mine), Decimal(0)), currency))
        return tuple(out)

    @property
    def days(self) -> float | None:
        """How long the work takes if one line follows the other, None if no line says."""
        told = [line.days for line in self.lines if line.days is not None]
        return math.fsum(told) if told else None

    def summary(self) -> str:
        """Return what the work does, for a screen."""
        if not self.lines:
            return "No work is listed."
        head = "Work: " + " and ".join(c.shown for c in self.costs)
        if self.days is not None:
            head += f", {self.days:g} day" + ("" if self.days == 1 else "s")
        lines = [f"  {line.summary()}" for line in self.lines]
        return "\n".join([f"{head}.", *lines, *self.notes])

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form."""
        return {
            "lines": [line.to_dict() for line in self.lines],
            "costs": [
                {"low": str(c.low), "high": str(c.high), "currency": c.currency} for c in self.costs
            ],
            "days": self.days,
            "marks": {zone: _plain(mark) for zone, mark in self.car.marks.items()},
            "notes": list(self.notes),
        }


def _plain(value: Held | None) -> Any:
    return list(value) if isinstance(value, tuple) else value


def _shown(value: Held | None) -> str:
    if value is None:
        return "not settled"
    if isinstance(value, str):
        return value
    if isinstance(value, tuple):
        span = any(not isinstance(v, str) for v in value)
        words = [v if isinstance(v, str) else f"{v:g}" for v in value]
        return f"between {' and '.join(words)}" if span else "; ".join(words) or "none"
    return f"{value:g}"
