"""How honest ranges were: at three levels, and segment by segment."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import pandas as pd

from valuation.scoring.intervals import CoverageInterval, coverage_interval

__all__ = ["LEVELS", "RangeCheck", "SegmentCheck", "bound_columns", "check_ranges"]

LEVELS = (80, 50, 95)
"""Levels of the ranges that are tested, per cent; the first is the one that is shown."""

LEAST = 30
"""Fewest ranges of a segment that are tested."""

FLOOR = 0.75
"""A segment fails if significantly fewer than this share of its 80 % ranges held."""

TARGET = (0.78, 0.82)
"""Where the share of held 80 % ranges should lie."""


@dataclass(frozen=True, slots=True)
class SegmentCheck:
    """The 80 % ranges of one segment.

    Parameters
    ----------
    by, segment : str
        What the cars are grouped by, and the group; grouped by what is known before the sale.
    ranges : int
        Cars given a range.
    held_pct : float
        Per cent of them whose price lay inside.
    fails : bool
        Whether that is significantly below 75 %, with Bonferroni's correction for the number
        of segments of the same kind.
    """

    by: str
    segment: str
    ranges: int
    held_pct: float
    fails: bool


@dataclass(frozen=True, slots=True)
class RangeCheck:
    """How honest the ranges were.

    Parameters
    ----------
    held_pct : dict of int to float
        For ranges at 50, 80 and 95 % the per cent that held; empty without any range.
    interval : CoverageInterval or None
        Of the 80 % ranges, with a 95 % interval that knows that sales of one month miss together;
        None for fewer than two months.
    segments : tuple of SegmentCheck
        Segments with at least 30 ranges.
    """

    held_pct: dict[int, float]
    interval: CoverageInterval | None
    segments: tuple[SegmentCheck, ...]

    @property
    def meets(self) -> bool | None:
        """Whether the interval of the 80 % ranges meets 78 to 82 %; None if unknown."""
        return None if self.interval is None else self.interval.overlaps(*TARGET)

    @property
    def failing(self) -> tuple[SegmentCheck, ...]:
        """Segments that fail."""
        return tuple(s for s in self.segments if s.fails)

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form."""
        return {
            "held_pct": {str(k): round(v, 2) for k, v in self.held_pct.items()},
            "interval_80": None if self.interval is None else asdict(self.interval),
            "meets_78_to_82": self.meets,
            "segments": [asdict(s) for s in self.segments],
        }

    def lines(self) -> list[str]:
        """Return the check as lines of plain text, empty without any range."""
        if not self.held_pct:
            return []
        held = ", ".join(f"{v:.1f}% of the {k}% ranges" for k, v in self.held_pct.items())
        out = [f"  held                    {held}"]
        if self.interval is not None:
            low, high = 100 * self.interval.lower, 100 * self.interval.upper
            said = "meets" if self.meets else "misses"
            out.append(
                f"  80% ranges, by months   {low:.1f}% to {high:.1f}%, which {said} 78% to 82%"
            )
        return out + [
            f"  too narrow              {s.by.replace('_', ' ')} {s.segment}: "
            f"{s.held_pct:.1f}% of {s.ranges:,} held"
            for s in self.failing
        ]


def bound_columns(level: int) -> tuple[str, str]:
    """Return the names of the columns of predictions with the bounds at a level.

    Examples
    --------
    >>> bound_columns(80), bound_columns(50)
    (('lower', 'upper'), ('lower_50', 'upper_50'))
    """
    return ("lower", "upper") if level == LEVELS[0] else (f"lower_{level}", f"upper_{level}")


def check_ranges(predictions: pd.DataFrame, keys: dict[str, Any]) -> RangeCheck:
    """Check the ranges of tested sales.

    Parameters
    ----------
    predictions : pandas.DataFrame
        With ``price`` and the columns of :func:`bound_columns` for each level; NaN where no range
        was given.
    keys : dict of str to array of str, each of shape (n,)
        Segments of each car, by kind; ``month`` clusters the sales.

    Returns
    -------
    RangeCheck
        Without levels if no range was given.
    """
    given = predictions["lower"].notna().to_numpy()
    p = predictions[given]
    if not len(p):
        return RangeCheck({}, None, ())
    month = np.asarray(keys["month"])[given]
    held = {level: 100.0 * float(_inside(p, level).mean()) for level in LEVELS}
    segments = tuple(
        s for by, values in keys.items() for s in _segments(p, by, np.asarray(values)[given], month)
    )
    return RangeCheck(held, _interval(p, month, 0.95), segments)


def _inside(p: pd.DataFrame, level: int) -> Any:
    low, high = bound_columns(level)
    return (p[low] <= p["price"]) & (p["price"] <= p[high])


def _interval(p: pd.DataFrame, month: Any, confidence: float) -> CoverageInterval | None:
    if len(np.unique(month)) < 2:
        return None
    price, lower, upper = (p[c].to_numpy() for c in ("price", "lower", "upper"))
    return coverage_interval(price, lower, upper, month.tolist(), confidence=confidence)


def _segments(p: pd.DataFrame, by: str, values: Any, month: Any) -> Iterator[SegmentCheck]:
    names, counts = np.unique(values, return_counts=True)
    tested = [str(n) for n, c in zip(names, counts, strict=True) if c >= LEAST]
    for name in tested:
        rows = values == name
        part = p[rows]
        # Sales of one month miss together; within a single month each is by itself.
        cluster = month[rows] if len(np.unique(month[rows])) > 1 else np.arange(rows.sum())
        # One-sided at 5 % over all segments of the kind: twice the tail, one end is read.
        interval = _interval(part, cluster.astype(str), 1.0 - 2 * 0.05 / len(tested))
        fails = interval is not None and interval.upper < FLOOR
        held = 100.0 * float(_inside(part, 80).mean())
        yield SegmentCheck(by, name, int(rows.sum()), round(held, 2), fails)
