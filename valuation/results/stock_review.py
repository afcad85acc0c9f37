"""The stock reviewed: each car with what is asked, what moved, what it costs, and the ways out."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from valuation.money import format_money
from valuation.results.stock_parts import CarWorth, Drift, StockWorth, WayOut
from valuation.results.words import INTERNAL, day_words

__all__ = ["NO_PROMISE", "ReviewedCar", "StockReview", "weeks_of"]

FORMAT = 1
"""Version of the machine-readable form."""

_TOLD = (
    "currency", "channel", "earlier", "basis", "own", "target_days", "old_after_days",
    "drift_percent", "elsewhere",
)  # fmt: skip

NO_PROMISE = (
    "Estimates and chances are learned from past sales and offers, and from assumptions; they "
    "promise no price and no sale, and are no appraisal by a licensed or certified appraiser."
)
"""Goes with every review."""


def weeks_of(days: int | None) -> float | None:
    """Return days as weeks.

    Examples
    --------
    >>> weeks_of(45), weeks_of(None)
    (6.4, None)
    """
    return None if days is None else round(days / 7, 1)


@dataclass(frozen=True)
class ReviewedCar:
    """One car of the stock.

    Parameters
    ----------
    stock, car : str
        Number and name.
    kind : str
        Kind of car that its chance to sell is learned from.
    facts : str
        Where what is known of the car comes from, in words.
    state : str
        ``listed``, ``in stock`` or ``withdrawn``.
    ask : Decimal or None
        Asking price that stands.
    now, then : CarWorth or None
        What it is worth today, and was at its purchase.
    drift : Drift or None
        How far the estimate moved since the last month.
    days_in_stock, days_listed : int or None
        Since the purchase, and since the first listing of a car that is on offer.
    paid, spent, holding : Decimal or None
        Purchase; work and all else that the ledger states; holding so far by the cost settings.
    old : bool
        True if it has to be decided about.
    ways : tuple of WayOut
        Ways out of a car to decide about, the present asking price first; else none.
    notes : tuple of str
        What to mind, in sentences.
    """

    stock: str
    car: str
    kind: str
    facts: str
    state: str
    ask: Decimal | None
    now: CarWorth | None
    then: CarWorth | None
    drift: Drift | None
    days_in_stock: int | None
    days_listed: int | None
    paid: Decimal | None
    spent: Decimal | None
    holding: Decimal | None
    old: bool
    ways: tuple[WayOut, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def cost(self) -> Decimal | None:
        """Purchase and money spent, without holding."""
        return None if self.paid is None or self.spent is None else self.paid + self.spent

    @property
    def over_estimate(self) -> float | None:
        """What the asking price lies over the estimate, in per cent."""
        if self.ask is None or self.now is None:
            return None
        return 100 * (float(self.ask) / self.now.central - 1)

    @property
    def best(self) -> WayOut | None:
        """The way that leaves most after what the money would earn elsewhere."""
        return max(self.ways, key=lambda w: w.beyond, default=None)

    @property
    def gain(self) -> float:
        """What the best way leaves more than holding; 0 where nothing is to be decided."""
        return self.best.beyond - self.ways[0].beyond if self.best else 0.0

    def line(self, currency: str) -> str:
        """Return the car as one line of text."""
        ask = "no asking price" if self.ask is None else format_money(float(self.ask), "")
        over = "" if self.over_estimate is None else f" ({self.over_estimate:+.0f}%)"
        weeks = weeks_of(self.days_in_stock)
        parts = (
            f"{self.stock:<10}{self.car[:34]:<36}",
            f"{ask + over:>18}",
            f"  worth {self.now.words(currency)}" if self.now else "  no estimate",
            f"  {weeks:g} weeks" if weeks is not None else "",
            f"  {self.drift.total:+.1f}%" if self.drift else "",
        )
        return "".join(parts).rstrip()

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form; amounts of the ledger are exact decimal texts."""
        out = asdict(self)
        for name in ("ask", "paid", "spent", "holding"):
            amount = getattr(self, name)
            out[name] = None if amount is None else str(amount)
        for name in ("now", "then"):
            worth = getattr(self, name)
            out[name] = worth and asdict(worth) | {"on": worth.on.isoformat()}
        if self.drift:
            moved = {"since": self.drift.since.isoformat(), "total": self.drift.total}
            out["drift"] = asdict(self.drift) | moved
        return out | {"over_estimate": self.over_estimate, "best": self.best and self.best.name}


def _urgency(car: ReviewedCar) -> tuple[bool, float, int, str]:
    """Sort cars to decide about; those whose ways out are not known come last."""
    return not car.ways, -round(car.gain, 2), -(car.days_listed or 0), car.stock


@dataclass(frozen=True)
class StockReview:
    """All cars of the firm on one day.

    Parameters
    ----------
    currency : str
        Of all amounts.
    as_of : datetime.date
        Day of the review.
    channel : str
        Channel of the estimates.
    since : datetime.date
        Day that drift is held against.
    earlier : bool
        True if an earlier model says what it said then.
    cars : tuple of ReviewedCar
        In the order of their purchase.
    worth : StockWorth or None
        All together; None if no car has a range and a stated purchase.
    basis : str
        What chances to sell rest on, in words.
    own : bool
        False where assumptions speak alone.
    target_days : int
        Days for which chances stand.
    old_after_days : int
        Days on offer from which on a car has to be decided about.
    drift_percent : float
        A drift beyond it is told.
    elsewhere : str
        What money earns in other cars, in a sentence.
    notes : tuple of str
        What to mind, in sentences.
    """

    currency: str
    as_of: date
    channel: str
    since: date
    earlier: bool
    cars: tuple[ReviewedCar, ...]
    worth: StockWorth | None
    basis: str
    own: bool
    target_days: int
    old_after_days: int
    drift_percent: float
    elsewhere: str
    notes: tuple[str, ...] = ()

    @property
    def to_decide(self) -> tuple[ReviewedCar, ...]:
        """Cars that have to be decided about, the one with most to gain first."""
        old = [c for c in self.cars if c.old]
        return tuple(sorted(old, key=_urgency))

    @property
    def drifted(self) -> tuple[ReviewedCar, ...]:
        """Cars whose estimate moved by more than is let pass, the farthest first."""
        moved = [c for c in self.cars if c.drift and abs(c.drift.total) > self.drift_percent]
        return tuple(sorted(moved, key=lambda c: -abs(c.drift.total) if c.drift else 0.0))

    def money(self, amount: float) -> str:
        """Write an amount with the currency."""
        return format_money(amount, self.currency)

    @property
    def counted(self) -> str:
        """How many cars there are, in words."""
        n = len(self.cars)
        cars = "1 car" if n == 1 else f"{n:,} cars"
        return f"{cars} in stock on {day_words(self.as_of)}, {len(self.to_decide):,} to decide"

    def summary(self) -> str:
        """Return the review as plain text."""
        lines = [INTERNAL, self.counted]
        if self.worth:
            lines += [
                f"  {self.worth.words(self.currency)}",
                f"  below what was paid and spent with a chance of {self.worth.below_cost:.0%}",
                *(f"  not counted: {n:,} because {why}" for why, n in self.worth.left_out),
            ]
        lines.append(f"  chances from {self.basis}")
        if self.to_decide:
            head = f"on offer for {self.old_after_days} days and more, most to gain first"
            lines += ["", f"  {head}"]
        for car in self.to_decide:
            lines.append(f"  {car.line(self.currency)}")
            lines += [f"      {self._way(w)}" for w in car.ways]
        lines += ["", "  every car", *(f"  {c.line(self.currency)}" for c in self.cars), ""]
        lines += [f"  note: {note}" for note in self.notes]
        return "\n".join([*lines, f"  {self.elsewhere}", f"  {NO_PROMISE}"])

    def _way(self, way: WayOut) -> str:
        ask = "" if way.ask is None else format_money(way.ask, "")
        chance = "at what is bid" if way.chance is None else way.chance.words()
        return (
            f"{way.name:<10}{ask:>10}  {chance:<20}{way.days:>5.0f} days, holding "
            f"{format_money(way.cost, '')}, net {format_money(way.net, self.currency)}"
        )

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        days = {"as_of": self.as_of.isoformat(), "since": self.since.isoformat()}
        held = {
            "cars": [c.to_dict() for c in self.cars],
            "worth": self.worth and self.worth.to_dict(),
            "to_decide": [c.stock for c in self.to_decide],
        }
        told = {name: getattr(self, name) for name in _TOLD}
        return {"format": FORMAT, "for": INTERNAL, **days, **told, **held,
                "notes": list(self.notes)}  # fmt: skip
