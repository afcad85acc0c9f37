"""What a market index by segment is: month by month a level with its bands."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

__all__ = [
    "INDEX_CAVEAT",
    "DaysToSell",
    "IndexMonth",
    "MarketIndex",
    "SegmentIndex",
    "SellThrough",
    "YearChange",
]

INDEX_CAVEAT = (
    "Date, age and year of build hang together, so no sales can tell their trends apart: the split "
    "is fixed by letting no trend run on past the last sale, and the index follows cars whose age "
    "does not change."
)
"""What every index has to say of its level."""


@dataclass(frozen=True, slots=True)
class SellThrough:
    """How many of the lots offered at auction were sold.

    Parameters
    ----------
    sold, offered : int
        Lots sold, and lots that were either sold or not.
    low, high : float
        Ends of the 95 % interval of the share (Wilson 1927).
    over : str
        ``month``, or ``quarter`` or ``year`` where a month has too few lots.
    """

    sold: int
    offered: int
    low: float
    high: float
    over: str

    @property
    def share(self) -> float:
        """Share sold, 0 to 1."""
        return self.sold / self.offered


@dataclass(frozen=True, slots=True)
class DaysToSell:
    """How long cars stood before they were sold.

    Parameters
    ----------
    cars : int
        Cars sold of which it is known.
    median, low, high : float
        Days: middle, and lower and upper quarter.
    over : str
        ``month``, or ``quarter`` or ``year`` where a month has too few cars.
    """

    cars: int
    median: float
    low: float
    high: float
    over: str


@dataclass(frozen=True, slots=True)
class YearChange:
    """The change of a level over twelve months.

    Parameters
    ----------
    first, last : str
        The two months.
    change, low, high : float
        Change as a share, and its 80 % band.
    """

    first: str
    last: str
    change: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class IndexMonth:
    """The level of a segment in one month.

    Parameters
    ----------
    month : str
        As ``2024-03``.
    level : float
        Mean level of the month; that of the base is 100.
    lower80, upper80, lower95, upper95 : float
        Bands of the level against the base.
    sales : int
        Sales of the segment in that month.
    thin : bool
        Whether they are so few that the level rests on the months around it.
    held : bool
        Whether the month lies past the last sale, so that the level is held.
    sell_through : SellThrough or None
        None where outcomes are not stated or lots are too few.
    days_to_sell : DaysToSell or None
        None where nobody knows.
    revised_by : float or None
        Level less what the earlier model said of the same month, in points; None if it said
        nothing.
    was_held : bool
        Whether the earlier model only held its level there: the revision is then the error of a
        forecast.
    """

    month: str
    level: float
    lower80: float
    upper80: float
    lower95: float
    upper95: float
    sales: int
    thin: bool
    held: bool
    sell_through: SellThrough | None = None
    days_to_sell: DaysToSell | None = None
    revised_by: float | None = None
    was_held: bool = False

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form, levels to the hundredth."""
        out = asdict(self)
        for name in ("level", "lower80", "upper80", "lower95", "upper95", "revised_by"):
            out[name] = None if out[name] is None else round(out[name], 2)
        if self.sell_through is not None:
            out["sell_through"] = {"share": self.sell_through.share, **out["sell_through"]}
        return out


@dataclass(frozen=True, slots=True)
class SegmentIndex:
    """The index of one segment.

    Parameters
    ----------
    name, belongs : str
        Its name, and what belongs to it in words.
    sales : int
        Its sales in the evidence, whose mix is held constant.
    yearly : float
        How far it moves beside the market in a year, log units.
    months : tuple of IndexMonth
        Oldest first.
    year : YearChange or None
        Change over the year up to the latest month; None where the evidence is younger.
    notes : tuple of str
        What to know of it, in sentences.
    """

    name: str
    belongs: str
    sales: int
    yearly: float
    months: tuple[IndexMonth, ...]
    year: YearChange | None = None
    notes: tuple[str, ...] = ()

    @property
    def latest(self) -> IndexMonth:
        """The last month that the evidence reaches, the last of all if it reaches none."""
        known = [m for m in self.months if not m.held]
        return known[-1] if known else self.months[-1]

    def at(self, month: str) -> IndexMonth | None:
        """Return a month by its name, None where there is none."""
        return next((m for m in self.months if m.month == month), None)

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form."""
        return {
            "name": self.name,
            "belongs": self.belongs,
            "sales": self.sales,
            "yearly": round(self.yearly, 4),
            "year": None if self.year is None else asdict(self.year),
            "notes": list(self.notes),
            "months": [m.to_dict() for m in self.months],
        }


@dataclass(frozen=True, slots=True)
class MarketIndex:
    """Levels of the market by segment and month.

    Parameters
    ----------
    base : str
        Month whose level is 100 in every segment.
    as_of : datetime.date
        Day up to which sales were used.
    last_sale : datetime.date
        Day of the last sale.
    estimand : str
        What is estimated, as for a valuation.
    segments : tuple of SegmentIndex
        One each.
    notes : tuple of str
        What to know of all of them, in sentences.
    against : datetime.date or None
        Day of the earlier model that revisions are measured against.
    """

    base: str
    as_of: date
    last_sale: date
    estimand: str
    segments: tuple[SegmentIndex, ...]
    notes: tuple[str, ...] = ()
    against: date | None = None

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        return {
            "format": 1,
            "base": self.base,
            "as_of": self.as_of.isoformat(),
            "last_sale": self.last_sale.isoformat(),
            "estimand": self.estimand,
            "against": None if self.against is None else self.against.isoformat(),
            "caveat": INDEX_CAVEAT,
            "notes": list(self.notes),
            "segments": [s.to_dict() for s in self.segments],
        }

    def summary(self) -> str:
        """Return the latest level of each segment as plain text."""
        lines = [
            f"Market index by segment, {self.base} = 100 ({self.estimand}, sales up to "
            f"{self.last_sale.isoformat()})"
        ]
        width = max((len(s.name) for s in self.segments), default=0)
        lines += [f"  {s.name:<{width}}  {_latest(s)}" for s in self.segments]
        if self.against is not None:
            lines.append(f"Against the model of {self.against.isoformat()}:")
            lines += [f"  {s.name:<{width}}  {revised_words(s)}" for s in self.segments]
        return "\n".join([*lines, *self.notes, INDEX_CAVEAT])


def _latest(segment: SegmentIndex) -> str:
    m = segment.latest
    y = segment.year
    since = "" if y is None else f", {y.change:+.1%} in a year ({y.low:+.1%} to {y.high:+.1%})"
    lots = m.sell_through
    sold = "" if lots is None else f", {lots.share:.0%} of the lots of the {lots.over} sold"
    thin = ", thin" if m.thin else ""
    return (
        f"{m.month}: {m.level:6.1f} (80% band {m.lower80:.1f} to {m.upper80:.1f}){since}; "
        f"{m.sales:,} of {segment.sales:,} sales{thin}{sold}"
    )


def revised_words(segment: SegmentIndex) -> str:
    """Say how far the months that the earlier model knew were revised, and how its forecast did."""
    known = [m for m in segment.months if m.revised_by is not None and not m.was_held]
    ahead = [m for m in segment.months if m.revised_by is not None and m.was_held and not m.held]
    said = []
    if known:
        most = max(known, key=lambda m: abs(m.revised_by or 0.0))
        said.append(
            f"{len(known)} months revised by at most {most.revised_by or 0.0:+.1f} points "
            f"({most.month})"
        )
    else:
        said.append("not in the earlier index")
    said += [
        f"{m.month} was forecast {m.level - (m.revised_by or 0.0):.1f} and came out {m.level:.1f}"
        for m in ahead
    ]
    return "; ".join(said)
