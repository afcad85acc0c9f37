"""Parts of a ratio study: a measure against its band, a stratum, what was kept apart."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from valuation.results.coverage import HeldRanges
from valuation.scoring.ratio_study import BANDS, RatioStudy, Verdict
from valuation.scoring.ratios import Interval

__all__ = ["KeptApart", "Measure", "OutlyingSale", "StrataKind", "Stratum"]


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure of a set of sales, held against the band of the standard.

    Parameters
    ----------
    name : str
        Key of the measure in :data:`valuation.scoring.ratio_study.BANDS`.
    value : float
        Its value.
    interval : Interval or None
        Its 95 % interval; None where there is none.
    verdict : {"inside", "outside", "far outside", "suspect"}
        Where the value lies.
    proven : bool
        Whether it lies beyond its band by more than chance explains: the whole interval does, at a
        level corrected for the number of strata of the kind, and of what compares cheap and dear
        cars more than the scatter of prices alone would show.  Never for the MKI, which has no
        interval.
    apart : float or None
        Of the VEI, the gap between the intervals of the groups with the lowest and the highest
        median, in per cent of the overall median.
    """

    name: str
    value: float
    interval: Interval | None
    verdict: Verdict
    proven: bool
    apart: float | None = None

    @property
    def below(self) -> bool:
        """Whether the value lies below its band."""
        return self.value < BANDS[self.name].lower


@dataclass(frozen=True, slots=True)
class Stratum:
    """A set of sales alike in one thing, or all of them.

    Parameters
    ----------
    by, name : str
        What the sales are grouped by, and the group.
    pooled : tuple of (str, int)
        Thin groups of which it is made, with their sales; empty for a group by itself.
    tested : int
        Sales, those without an estimate included.
    study : RatioStudy or None
        All measures; None if no sale has an estimate.
    measures : tuple of Measure
        Those that say something of this group, each against its band.
    within_10_pct, within_20_pct : float or None
        Per cent of the estimates within 10 and 20 % of the price; None without estimates.
    priced : int
        Sales whose car was given a range.
    held : tuple of HeldRanges
        How often ranges held, level by level; empty without any.
    """

    by: str
    name: str
    pooled: tuple[tuple[str, int], ...]
    tested: int
    study: RatioStudy | None
    measures: tuple[Measure, ...]
    within_10_pct: float | None
    within_20_pct: float | None
    priced: int
    held: tuple[HeldRanges, ...]

    @property
    def priced_pct(self) -> float:
        """Per cent of the sales whose car was given a range."""
        return 100.0 * self.priced / self.tested if self.tested else 0.0

    def measure(self, name: str) -> Measure | None:
        """Return a measure by its name, None if it says nothing here."""
        return next((m for m in self.measures if m.name == name), None)

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
            "sales": self.study.sales if self.study else 0,
            "measures": {m.name: asdict(m) for m in self.measures},
            "within_10_pct": self.within_10_pct,
            "within_20_pct": self.within_20_pct,
            "priced": self.priced,
            "held": [h.to_dict() for h in self.held],
            "study": self.study.to_dict() if self.study else None,
        }


@dataclass(frozen=True, slots=True)
class StrataKind:
    """Strata of one kind.

    Parameters
    ----------
    by, label : str
        What the sales are grouped by, and that for a heading.
    strata : tuple of Stratum
        Group by group; thin ones are pooled in the last.
    """

    by: str
    label: str
    strata: tuple[Stratum, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form."""
        return {"by": self.by, "strata": [s.to_dict() for s in self.strata]}


@dataclass(frozen=True, slots=True)
class KeptApart:
    """Rows that are no sale at a known price.

    Parameters
    ----------
    what : str
        What they are and why they don't count, in words.
    rows : int
        How many.
    median_ratio : float or None
        Median of estimate over amount, which is no ratio to a price; None without estimates.
    """

    what: str
    rows: int
    median_ratio: float | None


@dataclass(frozen=True, slots=True)
class OutlyingSale:
    """A sale whose ratio lies more than three interquartile ranges from the quartiles.

    Parameters
    ----------
    sale : str
        How it is called, empty if it has no name.
    price, estimate : float
        In the currency of the report.
    """

    sale: str
    price: float
    estimate: float

    @property
    def ratio(self) -> float:
        """Estimate over price."""
        return self.estimate / self.price
