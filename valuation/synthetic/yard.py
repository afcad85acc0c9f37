"""An invented firm over two years: what it bought, what it asked, what became of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from valuation.errors import SettingsError
from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.settings import MarketSettings
from valuation.synthetic.yard_cars import YardCar, buy_cars
from valuation.synthetic.yard_costs import YardCosts
from valuation.synthetic.yard_demand import Demand
from valuation.synthetic.yard_outcomes import Outcome, Played
from valuation.synthetic.yard_play import AUCTION, KnownCar, Policy, play

__all__ = ["FIRST", "MONTHS", "Habit", "Yard", "make_yard"]

FIRST = date(2023, 1, 1)
"""First day of the ledger."""

MONTHS = 24
_LAST = date(2024, 12, 31)
_HISTORY_YEARS = 3


@dataclass(frozen=True, slots=True)
class Habit:
    """How the firm asks: what it holds a car to be worth plus a share, cut when it stays.

    Parameters
    ----------
    share : float
        Share on top, the same for every car.
    share_sd : float
        By how much the share differs with the mood of the day, as a standard deviation.
    cut : float
        Share by which a price is cut.
    cut_every : int
        Days between cuts.
    most_cuts : int
        So often at most.
    give_up : int
        Days on sale after which a car goes to auction.
    """

    share: float = 0.14
    share_sd: float = 0.05
    cut: float = 0.05
    cut_every: int = 70
    most_cuts: int = 2
    give_up: int = 280

    def policy(self, cars: Iterable[YardCar]) -> Policy:
        """Return the habit as a policy for these cars."""
        moods = {car.stock: car.mood for car in cars}

        def asked(known: KnownCar) -> float | Literal["auction"]:
            if known.listed_days >= self.give_up:
                return AUCTION
            if known.ask is None:
                share = self.share + self.share_sd * moods[known.stock]
                return _advertised(known.estimate * (1 + share))
            cuts = min(known.listed_days // self.cut_every, self.most_cuts)
            if len(known.asks) <= cuts:
                return _advertised(known.ask * (1 - self.cut))
            return known.ask

        return asked


@dataclass(frozen=True)
class Yard:
    """An invented firm with its market and the truth.

    Parameters
    ----------
    market : SyntheticMarket
        The market it buys at.
    cars : tuple of YardCar
        What it bought, by day of purchase.
    demand : Demand
        How its customers behave.
    costs : YardCosts
        What keeping and selling costs it.
    habit : Habit
        How it asks.
    history : Played
        What became of its cars: what the ledger says up to its last day, and how it went on.
    since, until : datetime.date
        First and last day of the ledger.
    seed : int
        Seed from which everything was drawn.
    """

    market: SyntheticMarket = field(repr=False)
    cars: tuple[YardCar, ...] = field(repr=False)
    demand: Demand
    costs: YardCosts
    habit: Habit
    history: Played = field(repr=False)
    since: date
    until: date
    seed: int

    def play(self, policy: Policy, *, stocks: Iterable[str] | None = None) -> Played:
        """Ask for the cars what another policy says; each car keeps its luck.

        Parameters
        ----------
        policy : Policy
            From what the firm knows of a car on a day to an asking price or to auction.
        stocks : iterable of str, optional
            Numbers of the cars to play; all by default.

        Returns
        -------
        Played
            Played out to the last car, past the end of the ledger.
        """
        return play(self._of(stocks), policy, demand=self.demand, costs=self.costs)

    def habitual(self, *, stocks: Iterable[str] | None = None) -> Played:
        """Return the history of some of the cars, all by default."""
        wanted = {car.stock for car in self._of(stocks)}
        return Played(tuple(o for o in self.history.outcomes if o.stock in wanted))

    def outcome(self, stock: str) -> Outcome:
        """Return what became of one car under the firm's habit."""
        return self.habitual(stocks=[stock]).outcomes[0]

    def in_stock(self, day: date) -> tuple[YardCar, ...]:
        """Return the cars that the firm has bought and not yet sold by the end of a day."""
        sold = {o.stock: o.sold for o in self.history.outcomes}
        return tuple(c for c in self.cars if c.bought <= day < sold[c.stock])

    def segments(self) -> Mapping[str, tuple[str, ...]]:
        """Return the model lines of each segment that has any, as ``make model``."""
        out: dict[str, list[str]] = {}
        for spec in self.market.truth.world.lines.specs:
            out.setdefault(spec.segment, []).append(f"{spec.make} {spec.model}")
        return {name: tuple(sorted(lines)) for name, lines in sorted(out.items())}

    def _of(self, stocks: Iterable[str] | None) -> tuple[YardCar, ...]:
        if stocks is None:
            return self.cars
        wanted = set(stocks)
        unknown = sorted(wanted - {car.stock for car in self.cars})
        if unknown:
            raise SettingsError(
                "synthetic yard",
                "no such stock number",
                got=", ".join(unknown),
                remedy="Use numbers of its cars",
            )
        return tuple(car for car in self.cars if car.stock in wanted)


def make_yard(
    *,
    seed: int,
    sales: int = 4500,
    a_month: int = 12,
    demand: Demand | None = None,
    habit: Habit | None = None,
) -> Yard:
    """Make a market and let a firm trade on it for two years.

    Parameters
    ----------
    seed : int
        The same seed and settings give the same firm.
    sales : int
        Records of the market over five years, the last two of them those of the ledger.
    a_month : int
        Cars the firm buys a month, where so many are to be had.
    demand : Demand, optional
        How its customers behave.
    habit : Habit, optional
        How it asks.

    Returns
    -------
    Yard
        With the truth of every car.
    """
    start = FIRST.replace(year=FIRST.year - _HISTORY_YEARS)
    market = make_market(MarketSettings(sales=sales, start=start, end=_LAST), seed=seed)
    demand, habit, costs = demand or Demand(), habit or Habit(), YardCosts()
    cars = buy_cars(
        market,
        since=FIRST,
        months=MONTHS,
        a_month=a_month,
        eager_sd=demand.eager_sd,
        seed=seed,
    )
    history = play(cars, habit.policy(cars), demand=demand, costs=costs)
    return Yard(market, cars, demand, costs, habit, history, FIRST, _LAST, seed)


def _advertised(amount: float) -> float:
    """Return an amount as the firm writes it on the windscreen: 12,950 or 64,900."""
    step = 500 if amount < 50_000 else 1000
    return float(max(round(amount / step), 1) * step - (50 if amount < 50_000 else 100))
