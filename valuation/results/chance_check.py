"""Chances of a sale that could have been foretold, beside the sales that came."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from valuation.results.stock_chance import MONTH_DAYS
from valuation.results.words import day_words

__all__ = ["LEAST_EXPECTED", "ChanceCheck", "ChanceGroups", "ChanceRow"]

FORMAT = 1
"""Version of the machine-readable form."""

LEAST_EXPECTED = 5.0
"""Groups in which fewer sales are expected, and fewer came, say nothing."""


@dataclass(frozen=True, slots=True)
class ChanceRow:
    """One group of times on offer: the sales foretold beside those that came.

    Parameters
    ----------
    name : str
        What the group holds.
    times : int
        Times on offer: a car, at one asking price, within one month.
    days : int
        Days on offer in all of them.
    expected : float
        Sales that the chances foretold for exactly these days.
    sold : int
        Sales that came.
    lower, upper : int
        95 % binomial limits of the sales if every chance is right.
    widest_lower, widest_upper : int
        The same limits with what was not known of the effects: in 95 of 100 cases the sales lie
        here if the chances and their bands are right.
    """

    name: str
    times: int
    days: int
    expected: float
    sold: int
    lower: int
    upper: int
    widest_lower: int
    widest_upper: int

    @property
    def told(self) -> float:
        """Foretold chance a month, from 0 to 1."""
        return self._a_month(self.expected)

    @property
    def came(self) -> float:
        """Share that was sold a month, from 0 to 1, as a chance."""
        return self._a_month(self.sold)

    @property
    def limits(self) -> tuple[float, float]:
        """Where chance alone puts `came`, as chances a month."""
        return self._a_month(self.lower), self._a_month(self.upper)

    @property
    def inside(self) -> bool:
        """Whether the sales lie within the binomial limits."""
        return self.lower <= self.sold <= self.upper

    @property
    def verdict(self) -> str:
        """How the sales that came stand to those foretold, in words."""
        if max(self.expected, self.sold) < LEAST_EXPECTED:
            return "too few to tell"
        if self.inside:
            return "as foretold"
        much = "more" if self.sold > self.upper else "fewer"
        if self.widest_lower <= self.sold <= self.widest_upper:
            return f"{much}, within what was not known"
        return f"{much} than foretold"

    def _a_month(self, sales: float) -> float:
        return -math.expm1(-sales / self.days * MONTH_DAYS)

    def words(self) -> str:
        """Return the group as one line of text."""
        limits = f"{self.lower:,} to {self.upper:,}"
        return (
            f"{self.name:<34}{self.times:>7,}{100 * self.told:>9.0f}%{100 * self.came:>8.0f}%"
            f"{self.expected:>10,.1f}{self.sold:>8,}   {limits:<14}{self.verdict}"
        )

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form."""
        return asdict(self) | {
            "told_a_month": self.told,
            "came_a_month": self.came,
            "inside": self.inside,
            "verdict": self.verdict,
        }


@dataclass(frozen=True, slots=True)
class ChanceGroups:
    """All groups of one kind.

    Parameters
    ----------
    by : str
        Short name of the kind.
    label : str
        The kind in words.
    rows : tuple of ChanceRow
        Its groups.
    """

    by: str
    label: str
    rows: tuple[ChanceRow, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form."""
        return {"by": self.by, "label": self.label, "rows": [r.to_dict() for r in self.rows]}


@dataclass(frozen=True)
class ChanceCheck:
    """How chances of a sale did, each foretold from what was known at the start of its month.

    Parameters
    ----------
    first, as_of : datetime.date
        First and last day of the months that were foretold.
    months : int
        How many they are.
    assumed_months : int
        In so many of them the assumptions spoke alone.
    overall : ChanceRow or None
        All times on offer; None if nothing was on offer.
    kinds : tuple of ChanceGroups
        Groups by the chance foretold first, then by other things.
    p_value : float or None
        How likely the groups of chances differ so much from what was foretold if every chance is
        right (chi-squared); None with fewer than two such groups.
    notes : tuple of str
        What to mind, in sentences.
    """

    first: date
    as_of: date
    months: int
    assumed_months: int
    overall: ChanceRow | None
    kinds: tuple[ChanceGroups, ...] = ()
    p_value: float | None = None
    notes: tuple[str, ...] = ()

    def groups(self, by: str) -> ChanceGroups | None:
        """Return the groups of a kind; None if there are none."""
        return next((k for k in self.kinds if k.by == by), None)

    def headline(self) -> str:
        """Return the answer as a sentence."""
        row = self.overall
        if row is None:
            return "No car of the ledger was on offer at a known price in these months."
        said = f"{row.expected:,.1f} sales were foretold, {row.sold:,} came"
        if row.verdict == "too few to tell":
            return f"{said}: too few to tell."
        if row.inside:
            return f"{said}: within the {row.lower:,} to {row.upper:,} that chance explains."
        much = "more" if row.sold > row.upper else "fewer"
        if row.verdict.endswith("foretold"):
            reach = f"{row.widest_lower:,} to {row.widest_upper:,}"
            return f"{said}: {much} than chance and what was not known explain ({reach})."
        return (
            f"{said}: {much} than chance alone explains ({row.lower:,} to {row.upper:,}), within "
            "what was not known of the effects."
        )

    def sentences(self) -> Iterator[str]:
        """Yield what the groups say."""
        if self.p_value is not None:
            much = "no more" if self.p_value >= 0.05 else "more"
            yield (
                f"Groups of chances differ {much} from what was foretold than chance alone "
                f"explains (p {self.p_value:.2g})."
            )
        off = [
            f"{kind.label}, {row.name}: {row.sold:,} sold, {row.expected:,.1f} foretold"
            for kind in self.kinds
            for row in kind.rows
            if row.verdict.endswith(" than foretold")
        ]
        tested = sum(row.verdict != "too few to tell" for kind in self.kinds for row in kind.rows)
        if off:
            yield (
                f"{len(off):,} of {tested:,} groups {'lies' if len(off) == 1 else 'lie'} outside "
                f"even the wider limits, where one in twenty does by chance: {'; '.join(off)}."
            )
        elif tested:
            yield f"None of {tested:,} groups lies outside what chance and the bands explain."
        if self.assumed_months:
            yield (
                f"In {self.assumed_months:,} of {self.months:,} months the starting assumptions "
                "spoke alone: own sales were too few."
            )

    def summary(self) -> str:
        """Return the check as plain text."""
        lines = [
            f"Chances of a sale, {day_words(self.first)} to {day_words(self.as_of)}",
            f"  {self.headline()}",
            *(f"  {s}" for s in self.sentences()),
        ]
        if self.overall is not None:
            head = (
                f"  {'':<34}{'times':>7}{'foretold':>10}{'came':>9}{'expected':>10}{'sold':>8}"
                "   95% limits"
            )
            lines += ["", head, f"  {self.overall.words()}"]
        for kind in self.kinds:
            lines += ["", f"  {kind.label}", *(f"  {row.words()}" for row in kind.rows)]
        lines += [""] if self.notes else []
        lines += [f"  {note}" for note in self.notes]
        return "\n".join(lines)

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        return {
            "format": FORMAT,
            "first": self.first.isoformat(),
            "as_of": self.as_of.isoformat(),
            "months": self.months,
            "assumed_months": self.assumed_months,
            "overall": self.overall.to_dict() if self.overall else None,
            "kinds": [kind.to_dict() for kind in self.kinds],
            "p_value": self.p_value,
            "findings": [self.headline(), *self.sentences()],
            "notes": list(self.notes),
        }
