"""What to ask for a car of the firm: each asking price with its chance, its days and its money."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from valuation.money import format_money
from valuation.results.stock_chance import DaysToSell, SaleChance
from valuation.results.words import INTERNAL, day_words

__all__ = [
    "NO_PROMISE",
    "AskPoint",
    "Band",
    "MoneyElsewhere",
    "StockAsk",
]

FORMAT = 1
"""Version of the machine-readable form."""

NO_PROMISE = (
    "A chance is learned from past offers and assumptions and promises no sale. Bands say how sure "
    "we are of a chance or a mean, not what can happen to one car."
)
"""Goes with every answer."""


@dataclass(frozen=True, slots=True)
class Band:
    """A mean amount with the 80 % band of how sure we are of it.

    Parameters
    ----------
    value : float
        What to reckon with.
    lower, upper : float
        Ends of the band; they hold `value`.
    """

    value: float
    lower: float
    upper: float

    def words(self, currency: str = "") -> str:
        """Say it in whole units.

        Examples
        --------
        >>> Band(4210.4, 3000.0, 5100.0).words("EUR")
        '4,210 EUR (3,000 to 5,100)'
        """
        ends = " to ".join(format_money(x, "") for x in (self.lower, self.upper))
        return f"{format_money(self.value, currency)} ({ends})"


@dataclass(frozen=True, slots=True)
class MoneyElsewhere:
    """What the firm's money earned in its cars.

    Parameters
    ----------
    a_day : float or None
        Share of the money tied up that a day earned at least (lower end of an 80 % interval), 0
        where it may have earned nothing; None where too few cars were sold.
    sales : int
        Sold cars of which money and days are known.
    """

    a_day: float | None
    sales: int

    def words(self) -> str:
        """Say it as a sentence.

        Examples
        --------
        >>> MoneyElsewhere(0.0005, 41).words()
        'Money tied up earned at least 0.50 a day for every 1,000 so far (41 cars sold).'
        """
        if self.a_day is None:
            return (
                f"What your money earns elsewhere is not known: the ledger has only {self.sales} "
                "sold cars with all their amounts and days. Patience costs here what the cost "
                "settings state for holding, and no more."
            )
        if self.a_day == 0:
            return (
                f"Your cars so far ({self.sales} sold) did not surely earn anything after all "
                "costs: money tied up is reckoned to earn nothing elsewhere."
            )
        return (
            f"Money tied up earned at least {1000 * self.a_day:.2f} a day for every 1,000 so far "
            f"({self.sales} cars sold)."
        )


@dataclass(frozen=True, slots=True)
class AskPoint:
    """One asking price and what follows from it.

    Parameters
    ----------
    ask : int
        In whole units.
    percent : float
        What it lies over the estimate, in per cent.
    chance : SaleChance
        To be sold within the target days.
    days : DaysToSell
        On offer, from the day of the answer on.
    received : int
        What a customer then pays.
    net : Band
        What the car earns in the mean after every cost, whether it is sold or goes to auction.
    a_day : Band
        The same for every 1,000 of the money in it and each day from purchase to money.
    beyond : int
        Mean net less what the money would earn elsewhere in those days.
    """

    ask: int
    percent: float
    chance: SaleChance
    days: DaysToSell
    received: int
    net: Band
    a_day: Band
    beyond: int

    def words(self, currency: str) -> str:
        """Return the price as one line of text."""
        return (
            f"{format_money(self.ask, currency):>14} ({_signed(self.percent)})  "
            f"{self.chance.words():<18} {self.days.words():<24} "
            f"net {self.net.words():<26} {self.a_day.value:+.2f}"
        )


@dataclass(frozen=True)
class StockAsk:
    """What to ask for a car.

    Parameters
    ----------
    car, stock : str
        Name, and number in the ledger if it has one.
    currency : str
        Of all amounts.
    as_of : datetime.date
        First day of the asking price.
    kind : str
        Kind of car that its chance to sell is learned from.
    channel : str
        Channel of the estimate.
    estimate : int
        Central estimate.
    spread : tuple of (int, int) or None
        Ends of its 80 % range; None where past forecasts are too few.
    target_days : int
        Days for which chances are given.
    target_percent : float or None
        How likely the car has to be sold by then; None where no target is set.
    horizon_days : int
        After so many more days on offer it goes to auction.
    points : tuple of AskPoint
        By asking price, rising.
    recommended, quicker, patient, best_net, best_a_day, without_target : int
        Places of prices among `points`: the one to ask; one that sells in less time and one that
        takes more; those of the highest net and of the highest net a day for the money; and what
        would be recommended without a target.
    auction_channel : str
        Where it goes at last.
    auction : Band
        What that leaves of the hammer price in the mean, before money in the car and holding.
    auction_now : float
        Net of sending it there today.
    outlay : int
        Money in the car.
    days_held : int
        Days since it was bought.
    holding_a_day : float
        What a day costs.
    asked_now : int or None
        Asking price that stands.
    basis : str
        What the chance to sell rests on.
    own : bool
        False where assumptions speak alone.
    elsewhere : MoneyElsewhere
        What money earns in other cars.
    notes : tuple of str
        What to mind, in sentences.
    """

    car: str
    stock: str
    currency: str
    as_of: date
    kind: str
    channel: str
    estimate: int
    spread: tuple[int, int] | None
    target_days: int
    target_percent: float | None
    horizon_days: int
    points: tuple[AskPoint, ...]
    recommended: int
    quicker: int
    patient: int
    best_net: int
    best_a_day: int
    without_target: int
    auction_channel: str
    auction: Band
    auction_now: float
    outlay: int
    days_held: int
    holding_a_day: float
    asked_now: int | None
    basis: str
    own: bool
    elsewhere: MoneyElsewhere
    notes: tuple[str, ...] = ()

    @property
    def best(self) -> AskPoint:
        """The price to ask."""
        return self.points[self.recommended]

    @property
    def named(self) -> tuple[tuple[str, AskPoint], ...]:
        """The alternatives by name, in the order of a table; each price once."""
        places = {
            "quicker": self.quicker,
            "recommended": self.recommended,
            "patient": self.patient,
            "without the target": self.without_target,
            "highest net": self.best_net,
            "highest net a day": self.best_a_day,
        }
        seen: dict[int, list[str]] = {}
        for name, place in places.items():
            if name in ("quicker", "patient") and place == self.recommended:
                continue  # the prices tried end before such a one
            if name == "without the target" and self.target_percent is None:
                continue
            seen.setdefault(place, []).append(name)
        return tuple((", ".join(names), self.points[place]) for place, names in seen.items())

    @property
    def rule(self) -> str:
        """By which rule the price is recommended, in a sentence."""
        first = (
            "Recommended is the price with the highest expected net after what the money in the "
            "car would earn elsewhere in the same days"
        )
        if self.target_percent is None:
            return f"{first}. No target of days is set."
        return (
            f"{first}, among the prices at which the car is sold within {self.target_days} days "
            f"with a chance of {self.target_percent:.0f}% or more."
        )

    def money(self, amount: float) -> str:
        """Write an amount with the currency."""
        return format_money(amount, self.currency)

    def summary(self) -> str:
        """Return the answer as plain text."""
        ends = "no range: past forecasts are too few"
        if self.spread:
            ends = "80% range " + " to ".join(self.money(x) for x in self.spread)
        number = f"{self.stock}  " if self.stock else ""
        lines = [
            INTERNAL,
            f"{number}{self.car}, {day_words(self.as_of)}",
            f"  ask           {self.money(self.best.ask)} ({_signed(self.best.percent)})",
            f"  estimate      {self.money(self.estimate)} ({self.channel}); {ends}",
            f"  money in it   {self.money(self.outlay)} for {self.days_held} days; "
            f"{self.holding_a_day:,.2f} {self.currency} a day",
            f"  at auction    leaves {self.auction.words(self.currency)}; "
            f"sent there today, net {self.money(self.auction_now)}",
            f"  chance from   {self.basis}",
            "",
            f"  asking price, chance to be sold within {self.target_days} days, days on offer, "
            "expected net, net a day for every 1,000",
            *(f"  {p.words(self.currency)}  {name}" for name, p in self.named),
            "",
            f"  {self.rule}",
            f"  {self.elsewhere.words()}",
            *(f"  {note}" for note in self.notes),
            f"  {NO_PROMISE}",
        ]
        return "\n".join(lines)

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        out = asdict(self) | {"as_of": self.as_of.isoformat(), "rule": self.rule}
        return {"format": FORMAT, "for": INTERNAL, **out}


def _signed(percent: float) -> str:
    """Write per cent with its sign; what rounds to nothing has none."""
    whole = round(percent)
    return f"{whole:+d}%" if whole else "0%"
