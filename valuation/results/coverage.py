"""How often ranges held: over all tested sales, and group by group."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any, Literal

from valuation.scoring.intervals import CoverageInterval

__all__ = [
    "CoverageKind",
    "CoverageReport",
    "CoverageRow",
    "HeldRanges",
    "RangeVerdict",
    "pooled_words",
]

FORMAT = 1
"""Version of the machine-readable form."""

RangeVerdict = Literal[
    "in order",
    "too narrow",
    "wider than needed",
    "few held, may be chance",
    "many held, may be chance",
    "too few to tell",
]
"""What is said of the 80 % ranges of a group."""


def pooled_words(names: tuple[tuple[str, int], ...]) -> str:
    """Name what a row of thin groups is made of.

    Parameters
    ----------
    names : tuple of (str, int)
        Groups and how many sales each has.

    Examples
    --------
    >>> pooled_words((("Kora", 4), ("Torvane", 7)))
    'pooled: Kora (4), Torvane (7)'
    """
    return "pooled: " + ", ".join(f"{name} ({count:,})" for name, count in names)


@dataclass(frozen=True, slots=True)
class HeldRanges:
    """How many ranges of one level held.

    Parameters
    ----------
    level : int
        Level of the ranges, per cent.
    ranges : int
        Cars given such a range.
    held_pct : float
        Per cent of them whose price lay inside, the bounds included.
    interval : CoverageInterval or None
        Its 95 % interval, which knows that sales of one month miss together; None for fewer than
        two ranges.
    """

    level: int
    ranges: int
    held_pct: float
    interval: CoverageInterval | None

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form."""
        return asdict(self)

    def words(self) -> str:
        """Return the share with its interval.

        Examples
        --------
        >>> HeldRanges(80, 10, 70.0, None).words()
        '70.0%'
        """
        if self.interval is None:
            return f"{self.held_pct:.1f}%"
        low, high = 100 * self.interval.lower, 100 * self.interval.upper
        return f"{self.held_pct:.1f}% ({low:.1f} to {high:.1f})"


@dataclass(frozen=True, slots=True)
class CoverageRow:
    """The ranges of one group of sales.

    Parameters
    ----------
    by, name : str
        What the sales are grouped by, and the group.
    pooled : tuple of (str, int)
        Thin groups of which it is made, with their sales; empty for a group by itself.
    tested : int
        Sales.
    held : tuple of HeldRanges
        Level by level, the one that is shown first; empty without any range.
    verdict : RangeVerdict
        Of the 80 % ranges, held against chance.
    """

    by: str
    name: str
    pooled: tuple[tuple[str, int], ...]
    tested: int
    held: tuple[HeldRanges, ...]
    verdict: RangeVerdict

    @property
    def ranges(self) -> int:
        """Cars given a range."""
        return self.held[0].ranges if self.held else 0

    @property
    def priced_pct(self) -> float:
        """Per cent of the sales whose car was given a range."""
        return 100.0 * self.ranges / self.tested if self.tested else 0.0

    def at(self, level: int) -> HeldRanges | None:
        """Return how ranges of a level held, None if there are none."""
        return next((h for h in self.held if h.level == level), None)

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form."""
        return {
            "by": self.by,
            "name": self.name,
            "pooled": [{"name": name, "sales": count} for name, count in self.pooled],
            "tested": self.tested,
            "ranges": self.ranges,
            "held": [h.to_dict() for h in self.held],
            "verdict": self.verdict,
        }


@dataclass(frozen=True, slots=True)
class CoverageKind:
    """Groups of one kind.

    Parameters
    ----------
    by, label : str
        What the sales are grouped by, and that for a heading.
    rows : tuple of CoverageRow
        Group by group; thin ones are pooled in the last row.
    """

    by: str
    label: str
    rows: tuple[CoverageRow, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form."""
        return {"by": self.by, "rows": [row.to_dict() for row in self.rows]}


@dataclass(frozen=True)
class CoverageReport:
    """How often the ranges of forecasts held.

    Parameters
    ----------
    currency : str
        Of the bands of estimates; empty if not stated.
    first, last : datetime.date or None
        Days of the first and the last sale.
    overall : CoverageRow
        All sales.
    meets : bool or None
        Whether the interval of the 80 % ranges meets 78 to 82 %; None without one.
    kinds : tuple of CoverageKind
        Groups: each by what is known before the sale, never by the price that was paid.
    least : int
        Fewest sales of a group that stands by itself.
    notes : tuple of str
        What the figures rest on, in sentences.
    """

    currency: str
    first: date | None
    last: date | None
    overall: CoverageRow
    meets: bool | None
    kinds: tuple[CoverageKind, ...]
    least: int
    notes: tuple[str, ...]

    @property
    def failing(self) -> tuple[CoverageRow, ...]:
        """Groups whose ranges are too narrow by more than chance explains."""
        return tuple(r for k in self.kinds for r in k.rows if r.verdict == "too narrow")

    @property
    def too_wide(self) -> tuple[CoverageRow, ...]:
        """Groups whose ranges are wider than needed by more than chance explains."""
        return tuple(r for k in self.kinds for r in k.rows if r.verdict == "wider than needed")

    @property
    def findings(self) -> tuple[str, ...]:
        """What to know of the ranges, in sentences."""
        return tuple(_findings(self))

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        return {
            "format": FORMAT,
            "currency": self.currency,
            "first": self.first and self.first.isoformat(),
            "last": self.last and self.last.isoformat(),
            "overall": self.overall.to_dict(),
            "meets_78_to_82": self.meets,
            "kinds": [kind.to_dict() for kind in self.kinds],
            "least": self.least,
            "findings": list(self.findings),
            "notes": list(self.notes),
        }

    def summary(self) -> str:
        """Return the report as plain text."""
        lines = [f"Did the ranges hold? {self.overall.tested:,} sales."]
        lines += [f"  {h.level}% ranges: {h.words()} of {h.ranges:,}" for h in self.overall.held]
        lines += [f"  {said}" for said in self.findings]
        for kind in self.kinds:
            lines += ["", f"{kind.label}:"]
            lines += [f"  {_line(row)}" for row in kind.rows]
        return "\n".join([*lines, "", *self.notes])


def _line(row: CoverageRow) -> str:
    held = row.at(80)
    said = "no range" if held is None else f"80% ranges held {held.words()}"
    return f"{row.name}: {row.ranges:,} of {row.tested:,} given a range; {said}; {row.verdict}"


def _findings(report: CoverageReport) -> Iterator[str]:
    held = report.overall.at(80)
    if held is None:
        yield "No car was given a range."
        return
    if report.meets is None:
        yield f"{held.held_pct:.1f}% of the 80% ranges held; too few sales to say how sure that is."
    else:
        said = "as promised" if report.meets else "not what 80% promises"
        yield f"{held.words()} of the 80% ranges held: {said}."
    for row in report.failing:
        share = row.at(80)
        yield (
            f"Too narrow for {row.by} {row.name}: {share.words() if share else '–'} of "
            f"{row.ranges:,} held. Risks of loss are understated there."
        )
    for row in report.too_wide:
        share = row.at(80)
        yield (
            f"Wider than needed for {row.by} {row.name}: {share.words() if share else '–'} of "
            f"{row.ranges:,} held. Bids are more careful there than they need be."
        )
