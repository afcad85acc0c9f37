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

from valuation.results.stock_chance import ChanceReport, DaysToSell, SaleChance
from valuation.running.threads import one_thread
from valuation.stocking.chance_report import chance_report
from valuation.stocking.settings import MONTH_DAYS, StockSettings
from valuation.stocking.spells import Spells
from valuation.stocking.survival import OTHER_CARS, Effects, Posterior, pieces_of, posterior

__all__ = ["ChanceToSell", "fit_chance"]

Floats = NDArray[np.float64]

_DRAWS = 400

_BAND = (0.1, 0.9)


@dataclass(frozen=True)
class ChanceToSell:
    """How fast the firm's cars sell, from its own spells on offer and starting assumptions.

    Every chance is worked out for each of some hundred draws of the effects, so that chances at
    several prices and days fit together: a higher asking price never raises one, and more days
    never lower one.

    Parameters
    ----------
    effects : Effects
        Assumptions and kinds of cars.
    found : Posterior
        What the effects are.
    condition : float
        Condition grade that stands in where nobody stated one.
    report : ChanceReport
        What it rests on.
    seed : int
        Seed of the draws.
    """

    effects: Effects = field(repr=False)
    found: Posterior = field(repr=False)
    condition: float
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

        Returns
        -------
        ndarray, shape (n_draws, n_asks, n_days)
            Chances.  The mean over draws is the chance to reckon with; their spread says how sure
            we are.  Amounts that follow from a chance are worked out draw by draw.
        """
        at = np.asarray(days, dtype=np.intp)
        if at.size == 0 or at.min() < 1:
            raise ValueError("days have to be 1 or more")
        last = int(at.max())
        number = self.effects.segment(segment)
        grade = self.condition if condition is None else condition
        columns = self.effects.columns(
            day.toordinal() + np.arange(last, dtype=float),
            listed_days + np.arange(last, dtype=float),
            grade,
            number,
        )
        with one_thread():
            rates = np.exp(self._draws @ columns.T)
        pull = self.effects.elasticities(self._draws, number)
        asks = np.asarray(log_asks, dtype=float)
        if asks.ndim == 1:
            used = np.cumsum(rates, axis=1)[:, None, at - 1]
            used = used * np.exp(-pull[:, None] * asks)[:, :, None]
        else:
            priced = rates[:, None, :] * np.exp(-pull[:, None, None] * asks[None, :, :last])
            used = np.cumsum(priced, axis=2)[:, :, at - 1]
        chances: Floats = -np.expm1(-used)
        return chances

    def chance(
        self,
        days: int,
        log_ask_over_value: float,
        segment: str,
        day: date,
        condition: float | None = None,
        listed_days: int = 0,
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
    ) -> tuple[SaleChance, ...]:
        """Return for each of the next months the chance of a sale in it, if still for sale then.

        Parameters
        ----------
        months : int
            How many, 1 or more; each of :data:`~valuation.stocking.settings.MONTH_DAYS` days,
            rounded.
        log_ask_over_value, segment, day, condition, listed_days
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
        )[:, 0, :]
        used = np.diff(-np.log1p(-np.minimum(drawn, 1 - 1e-12)), axis=1, prepend=0.0)
        return tuple(chance_of(-np.expm1(-used[:, m])) for m in range(months))

    def expected(
        self,
        log_ask_over_value: float,
        segment: str,
        day: date,
        condition: float | None = None,
        listed_days: int = 0,
        *,
        horizon: int,
    ) -> DaysToSell:
        """Return the mean days on offer until the sale, at most up to a horizon.

        Parameters
        ----------
        log_ask_over_value, segment, day, condition, listed_days
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
        )[:, 0, :]
        # A car sold on the first day was on offer for one day.
        days = 1 + (1 - drawn[:, :-1]).sum(axis=1)
        low, high = np.quantile(days, _BAND)
        mean = float(days.mean())
        return DaysToSell(mean, min(float(low), mean), max(float(high), mean), horizon)


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
