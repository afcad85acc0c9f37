"""The chance that a car of the firm is sold by some day, given what is asked for it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import softmax

from valuation.results.stock_chance import MONTH_DAYS, ChanceReport, DaysToSell, SaleChance
from valuation.running.threads import one_thread
from valuation.stocking.chance_report import chance_report
from valuation.stocking.effects import OTHER_CARS, Effects
from valuation.stocking.settings import StockSettings
from valuation.stocking.spells import Spells
from valuation.stocking.survival import Posterior, gauss, pieces_of, posterior, usual_ask

__all__ = ["ChanceToSell", "fit_chance"]

Floats = NDArray[np.float64]

Asked = Sequence[tuple[int, float]]
"""Days and log asking price over the estimate of each price of a car so far, in order."""

_DRAWS = 200

_NODES, _WEIGHTS = gauss(7)
"""Errors of the estimate of a car, in standard deviations, with their weights."""

_BAND = (0.1, 0.9)


@dataclass(frozen=True)
class ChanceToSell:
    """How fast the firm's cars sell, from its own spells on offer and starting assumptions.

    Every chance is worked out for each of two hundred draws of the effects, and in each over what
    buyers may see in the car that its estimate doesn't know, so that chances at several prices and
    days fit together: a higher asking price never raises one, and more days never lower one.

    Parameters
    ----------
    effects : Effects
        Assumptions and kinds of cars.
    found : Posterior
        What the effects are.
    condition : float
        Condition grade that stands in where nobody stated one.
    usual_ask : float
        Log asking price over the estimate with which the firm's cars begin, in the mean.
    report : ChanceReport
        What it rests on.
    seed : int
        Seed of the draws.
    """

    effects: Effects = field(repr=False)
    found: Posterior = field(repr=False)
    condition: float
    usual_ask: float
    report: ChanceReport
    seed: int = 0

    @property
    def basis(self) -> str:
        """What it rests on, in words."""
        return self.report.basis

    @property
    def own(self) -> bool:
        """False where there are too few own sales and the assumptions speak alone."""
        return self.report.own

    @cached_property
    def _draws(self) -> Floats:
        return self.found.draws(_DRAWS, seed=self.seed)

    def summary(self) -> str:
        """Return what it rests on as plain text."""
        return self.report.summary()

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form of what it rests on."""
        return self.report.to_dict()

    def sold_by(
        self,
        log_asks: Floats,
        days: Sequence[int],
        *,
        segment: str,
        day: date,
        condition: float | None = None,
        listed_days: int = 0,
        asked: Asked = (),
    ) -> Floats:
        """Return for each draw of the effects the chance that a car is sold by some days.

        Parameters
        ----------
        log_asks : ndarray, shape (n_asks,) or (n_asks, max(days))
            Log asking prices over the estimate; by day where the price changes on the way.
        days : sequence of int
            Numbers of days on offer from `day` on, 1 or more.
        segment : str
            Kind of car; one the firm never had is as the whole stock, give or take.
        day : datetime.date
            First day.
        condition : float, optional
            Condition grade; the usual one of the stock if it is not given.
        listed_days : int
            Days on offer before `day`.
        asked : sequence of (int, float)
            What the firm asked for the car until now: days, and log asking price over the
            estimate.  Its first price tells some of what the firm sees in the car, and that it
            did not sell so far says the rest.  Without any, a car with `listed_days` counts as
            offered at the firm's usual price, which tells nothing of this one.

        Returns
        -------
        ndarray, shape (n_draws, n_asks, n_days)
            Chances.  The mean over draws is the chance to reckon with; their spread says how sure
            we are.  Amounts that follow from a chance are worked out draw by draw.
        """
        at = np.asarray(days, dtype=np.intp)
        if at.size == 0 or at.min() < 1:
            raise ValueError("days have to be 1 or more")
        number = self.effects.segment(segment)
        car = _Offered(number, day, self.condition if condition is None else condition, listed_days)
        rates = self._rates(car, np.arange(int(at.max())))
        pull = self.effects.elasticities(self._draws, number)
        asks = np.asarray(log_asks, dtype=float)
        if asks.ndim == 1:
            used = np.cumsum(rates, axis=1)[:, None, at - 1]
            used = used * np.exp(-pull[:, None] * asks)[:, :, None]
        else:
            priced = rates[:, None, :] * np.exp(-pull[:, None, None] * asks[None, :, : at.max()])
            used = np.cumsum(priced, axis=2)[:, :, at - 1]
        chances = np.zeros(used.shape)
        lifts, weights = self._seen(car, pull, asked)
        for lift, weight in zip(lifts.T, weights.T, strict=True):
            chances -= weight[:, None, None] * np.expm1(-lift[:, None, None] * used)
        return np.clip(chances, 0.0, 1.0)

    def _rates(self, car: _Offered, days: NDArray[np.intp]) -> Floats:
        """Return sales a day at the estimate, shape (n_draws, n_days), so many days from `day`."""
        columns = self.effects.columns(
            car.day.toordinal() + days.astype(float),
            car.listed_days + days.astype(float),
            car.condition,
            car.segment,
        )
        with one_thread():
            rates: Floats = np.exp(self._draws @ columns.T)
        return rates

    def _seen(self, car: _Offered, pull: Floats, asked: Asked) -> tuple[Floats, Floats]:
        """Return what errors of the estimate do to the sales a day, and how likely each is.

        Both of shape (n_draws, n_nodes).  A car that stayed unsold is likelier one that buyers
        see less in.
        """
        error, sees = self.effects.errors(self._draws)
        first = asked[0][1] - self.usual_ask if asked else 0.0
        apart = error * np.sqrt(1 - sees) if asked else error
        lifts = np.exp(pull[:, None] * ((sees * first)[:, None] + apart[:, None] * _NODES))
        before = asked or ((car.listed_days, self.usual_ask),)
        asks = np.repeat([ask for _, ask in before], [days for days, _ in before])
        if not len(asks):
            return lifts, np.broadcast_to(_WEIGHTS, lifts.shape)
        rates = self._rates(car, np.arange(-len(asks), 0))
        used = (rates * np.exp(-pull[:, None] * asks)).sum(axis=1)
        log_weights = np.log(_WEIGHTS) - lifts * used[:, None]
        return lifts, softmax(log_weights, axis=1)

    def chance(
        self,
        days: int,
        log_ask_over_value: float,
        segment: str,
        day: date,
        condition: float | None = None,
        listed_days: int = 0,
        *,
        asked: Asked = (),
    ) -> SaleChance:
        """Return the chance that a car still for sale is sold within some days.

        Parameters
        ----------
        days : int
            Days on offer from `day` on, 1 or more.
        log_ask_over_value : float
            Log asking price less log estimate.
        segment : str
            Kind of car.
        day : datetime.date
            First day.
        condition : float, optional
            Condition grade, 0 to 100.
        listed_days : int
            Days on offer before `day`.
        asked : sequence of (int, float)
            As for :meth:`sold_by`.

        Returns
        -------
        SaleChance
            With its 80 % band.
        """
        drawn = self.sold_by(
            np.array([log_ask_over_value]),
            [days],
            segment=segment,
            day=day,
            condition=condition,
            listed_days=listed_days,
            asked=asked,
        )
        return chance_of(drawn[:, 0, 0])

    def monthly(
        self,
        months: int,
        log_ask_over_value: float,
        segment: str,
        day: date,
        condition: float | None = None,
        listed_days: int = 0,
        *,
        asked: Asked = (),
    ) -> tuple[SaleChance, ...]:
        """Return for each of the next months the chance of a sale in it, if still for sale then.

        Parameters
        ----------
        months : int
            How many, 1 or more; each of :data:`~valuation.results.stock_chance.MONTH_DAYS` days,
            rounded.
        log_ask_over_value, segment, day, condition, listed_days, asked
            As for :meth:`chance`.

        Returns
        -------
        tuple of SaleChance
            Monthly hazards, the next month first.
        """
        ends = [round(MONTH_DAYS * m) for m in range(1, months + 1)]
        drawn = self.sold_by(
            np.array([log_ask_over_value]),
            ends,
            segment=segment,
            day=day,
            condition=condition,
            listed_days=listed_days,
            asked=asked,
        )[:, 0, :]
        left = np.maximum(1 - drawn, 1e-12)
        stayed = left / np.column_stack([np.ones(len(left)), left[:, :-1]])
        return tuple(chance_of(1 - stayed[:, m]) for m in range(months))

    def expected(
        self,
        log_ask_over_value: float,
        segment: str,
        day: date,
        condition: float | None = None,
        listed_days: int = 0,
        *,
        horizon: int,
        asked: Asked = (),
    ) -> DaysToSell:
        """Return the mean days on offer until the sale, at most up to a horizon.

        Parameters
        ----------
        log_ask_over_value, segment, day, condition, listed_days, asked
            As for :meth:`chance`.
        horizon : int
            Days after which the car is offered no longer; one not sold by then counts with them.

        Returns
        -------
        DaysToSell
            Restricted mean with its 80 % band.
        """
        drawn = self.sold_by(
            np.array([log_ask_over_value]),
            range(1, horizon + 1),
            segment=segment,
            day=day,
            condition=condition,
            listed_days=listed_days,
            asked=asked,
        )[:, 0, :]
        # A car sold on the first day was on offer for one day.
        days = 1 + (1 - drawn[:, :-1]).sum(axis=1)
        low, high = np.quantile(days, _BAND)
        mean = float(days.mean())
        return DaysToSell(mean, min(float(low), mean), max(float(high), mean), horizon)


@dataclass(frozen=True, slots=True)
class _Offered:
    """A car on offer: number of its kind, day, condition grade, days on offer before that day."""

    segment: int
    day: date
    condition: float
    listed_days: int


def chance_of(drawn: Floats) -> SaleChance:
    """Return the mean of drawn chances with the band between their tenths.

    Parameters
    ----------
    drawn : ndarray, shape (n_draws,)
        Chances.
    """
    low, high = np.quantile(drawn, _BAND)
    # Chances are up to 1, where means of draws can come out by a last digit above.
    mean = min(float(drawn.mean()), 1.0)
    return SaleChance(mean, min(float(low), mean), max(float(high), mean))


def fit_chance(spells: Spells, settings: StockSettings, *, seed: int = 0) -> ChanceToSell:
    """Learn how fast the firm's cars sell.

    Parameters
    ----------
    spells : Spells
        What was on offer, up to the day that is known.
    settings : StockSettings
        Assumptions, and how many own sales it takes to speak of them.
    seed : int
        Seed of the draws behind chances and bands.

    Returns
    -------
    ChanceToSell
        Of evidence and assumptions weighed by their precisions; of the assumptions alone, and said
        so, where own sales are fewer than :attr:`StockSettings.least_sales`.
    """
    assumed = settings.assumptions
    own = spells.sales >= settings.least_sales
    effects = Effects(assumed, _kinds(spells, settings.least_cars) if own else (OTHER_CARS,))
    used = spells.spells if own else ()
    found = posterior(pieces_of(used, effects), effects)
    stated = [s.condition for s in spells.spells if s.condition is not None]
    return ChanceToSell(
        effects,
        found,
        float(np.mean(stated)) if stated else assumed.middling,
        usual_ask(spells.spells),
        chance_report(spells, effects, found, basis=_basis(spells.sales, settings), own=own),
        seed,
    )


def _kinds(spells: Spells, least: int) -> tuple[str, ...]:
    """Return the kinds of cars with enough cars, and the others."""
    pairs = {(s.car, s.segment) for s in spells.spells}
    counts = Counter(segment for _, segment in pairs)
    kinds = sorted(name for name, n in counts.items() if n >= least and name != OTHER_CARS)
    return (*kinds, OTHER_CARS)


def _basis(sales: int, settings: StockSettings) -> str:
    n = f"{sales:,} own sale" + ("" if sales == 1 else "s")
    if sales >= settings.least_sales:
        return f"{n} and the starting assumption"
    few = "no own sale" if sales == 0 else f"only {n}"
    return f"starting assumption alone: {few}, {settings.least_sales} are needed"
