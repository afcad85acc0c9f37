"""Parts of the review of a stock: what a car is worth, what moved, what can be done with it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from valuation.money import format_money
from valuation.results.stock_chance import SaleChance

__all__ = ["CarWorth", "Drift", "StockWorth", "WayOut"]


@dataclass(frozen=True, slots=True)
class CarWorth:
    """What a car is estimated to bring on a day.

    Parameters
    ----------
    on : datetime.date
        The day.
    central : float
        Central estimate.
    lower, upper : float or None
        Its range; None where past forecasts are too few, or the car lies outside the evidence.
    level : float or None
        Nominal coverage of the range.
    source : str
        Who says so, in words.
    """

    on: date
    central: float
    lower: float | None
    upper: float | None
    level: float | None
    source: str

    def words(self, currency: str) -> str:
        """Say it in whole units.

        Examples
        --------
        >>> CarWorth(date(2025, 3, 1), 41000.4, 36000.0, 46000.0, 0.8, "today's model").words("EUR")
        '41,000 EUR (36,000 to 46,000)'
        """
        if self.lower is None or self.upper is None:
            return f"{format_money(self.central, currency)} (no range)"
        ends = f"{format_money(self.lower, '')} to {format_money(self.upper, '')}"
        return f"{format_money(self.central, currency)} ({ends})"


@dataclass(frozen=True, slots=True)
class Drift:
    """How far the central estimate of a car moved, and by what.

    Parameters
    ----------
    since : datetime.date
        Day it is held against.
    market : float
        Change by the level of the market, in per cent.
    model : float or None
        The rest, in per cent: what today's model says otherwise than the earlier one of the same
        car on the same day.  None without an earlier model.
    """

    since: date
    market: float
    model: float | None

    @property
    def total(self) -> float:
        """Both together, in per cent."""
        return 100 * ((1 + self.market / 100) * (1 + (self.model or 0.0) / 100) - 1)

    def words(self) -> str:
        """Say both parts.

        Examples
        --------
        >>> Drift(date(2025, 3, 1), -1.04, 2.6).words()
        '+1.5% (market -1.0%, model +2.6%)'
        >>> Drift(date(2025, 3, 1), -1.04, None).words()
        '-1.0% (market alone)'
        """
        if self.model is None:
            return f"{self.total:+.1f}% (market alone)"
        return f"{self.total:+.1f}% (market {self.market:+.1f}%, model {self.model:+.1f}%)"


@dataclass(frozen=True, slots=True)
class WayOut:
    """One thing that can be done with a car, and what follows in the mean.

    Parameters
    ----------
    name : {"hold", "new ask", "auction"}
        What is done.
    ask : int or None
        Asking price in whole units, None at auction.
    chance : SaleChance or None
        To be sold within the target days; None at auction, where it goes at what is bid.
    days : float
        From today to the money.
    cost : float
        Holding in these days.
    net : float
        What the car earns after every cost, that of the past included.
    lower, upper : float or None
        80 % band of how sure we are of the mean net, where one is known.
    beyond : float
        Net less what the money in the car would earn elsewhere up to then.
    """

    name: str
    ask: int | None
    chance: SaleChance | None
    days: float
    cost: float
    net: float
    lower: float | None
    upper: float | None
    beyond: float


@dataclass(frozen=True, slots=True)
class StockWorth:
    """What the cars of a stock are worth together, beside the money in them.

    Parameters
    ----------
    cars : int
        Cars that are counted: those with a range and a stated purchase.
    worth : float
        Mean of the sum of their prices.
    lower, upper : float
        80 % range of the sum, with what the cars have in common.
    sd, sd_apart : float
        Standard deviation of the sum, and what it would be if the cars had nothing in common.
    cost : float
        Purchases and money spent.
    holding : float
        Holding so far by the cost settings.
    below_cost : float
        Probability, 0 to 1, that the sum is below `cost`.
    left_out : tuple of (str, int)
        Reasons why cars are not counted, with their number.
    """

    cars: int
    worth: float
    lower: float
    upper: float
    sd: float
    sd_apart: float
    cost: float
    holding: float
    below_cost: float
    left_out: tuple[tuple[str, int], ...] = ()

    def words(self, currency: str) -> str:
        """Say it in a sentence."""
        ends = f"{format_money(self.lower, '')} to {format_money(self.upper, '')}"
        counted = "1 car is" if self.cars == 1 else f"{self.cars:,} cars together are"
        return (
            f"{counted} worth {format_money(self.worth, currency)} ({ends}) against "
            f"{format_money(self.cost, '')} paid and spent, {format_money(self.holding, '')} of "
            "holding so far not counted."
        )

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form."""
        left = [{"why": why, "cars": n} for why, n in self.left_out]
        return asdict(self) | {"left_out": left}
