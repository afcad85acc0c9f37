"""What a fitted chance to sell rests on, effect by effect."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray
from scipy.stats import norm

from valuation.results.stock_chance import MONTH_DAYS, ChanceEffect, ChanceReport, SaleChance
from valuation.stocking.effects import Effects
from valuation.stocking.spells import Spells
from valuation.stocking.survival import Posterior, gauss

__all__ = ["chance_report"]

Floats = NDArray[np.float64]

_Z = float(norm.ppf(0.9))
_LOG_TENTH = math.log(1.1)
_NODES, _WEIGHTS = gauss(31)


def chance_report(
    spells: Spells, effects: Effects, found: Posterior, *, basis: str, own: bool
) -> ChanceReport:
    """Say what the chance to sell rests on.

    Parameters
    ----------
    spells : Spells
        What was on offer.
    effects : Effects
        Assumptions and kinds of cars.
    found : Posterior
        What the effects are.
    basis : str
        In words.
    own : bool
        False where the assumptions speak alone.

    Returns
    -------
    ChanceReport
        Kinds of cars without a car of the firm are not in it.
    """
    told = _Told(effects, found)
    known = {s.segment for s in spells.spells}
    others = own and not known <= set(effects.segments[:-1])
    kinds = effects.segments if others else effects.segments[:-1]
    return ChanceReport(
        basis=basis,
        own=own,
        cars=spells.cars,
        sales=spells.sales,
        offers=spells.offers,
        days=float(spells.days),
        first_month=tuple(told.first_month(name) for name in ("", *kinds)),
        effects=tuple(told.all_effects(kinds)),
        left_out=spells.left_out,
    )


class _Told:
    """Linear sums of the effects in words."""

    def __init__(self, effects: Effects, found: Posterior) -> None:
        self._effects = effects
        self._found = found
        self._mean, self._sd = effects.prior()

    def _sum(self, *places: int) -> tuple[float, float, float, float]:
        """Return mean and standard deviation of a sum of effects, found and assumed."""
        at = list(places)
        variance = self._found.covariance[np.ix_(at, at)].sum()
        assumed = math.sqrt((self._sd[at] ** 2).sum())
        mean, before = self._found.mean[at].sum(), self._mean[at].sum()
        return float(mean), math.sqrt(variance), float(before), assumed

    def first_month(self, kind: str) -> tuple[str, SaleChance]:
        """Return the chance in a first month, all cars together if no kind is named."""
        e = self._effects
        own = (int(e.of_segment(e.segment(kind))),) if kind else ()
        mean, sd, *_ = self._sum(0, *own)
        pull = e.elasticities(self._found.mean, e.segment(kind)) if kind else None
        apart = np.exp(self._found.mean[e.error]) * (
            np.exp(self._found.mean[e.elasticity]) if pull is None else pull
        )

        def chance(log_sales: Floats) -> Floats:
            """Return the mean over what buyers may see in a car."""
            rates = MONTH_DAYS * np.exp(log_sales[:, None] + apart * _NODES)
            return np.asarray(-np.expm1(-rates) @ _WEIGHTS)

        lower, upper = chance(mean + sd * np.array([-_Z, _Z])).tolist()
        middle = float(chance(mean + sd * _NODES) @ _WEIGHTS)
        return kind or "all cars", SaleChance(middle, lower, upper)

    def all_effects(self, kinds: tuple[str, ...]) -> Iterator[ChanceEffect]:
        """Yield every effect."""
        e, a = self._effects, self._effects.assumed
        yield self._effect("asking price 10% higher", _of_price, e.elasticity)
        for kind in kinds:
            own = int(e.of_segment(e.segment(kind))) + 3
            yield self._effect(f"asking price 10% higher, {kind}", _of_price, e.elasticity, own)
        yield self._effect("what buyers see in a car, against its estimate", _of_error, e.error)
        for number, (start, _) in enumerate(a.steps, start=1):
            name = f"on offer for {start} days and more, against the first weeks"
            yield self._effect(name, math.expm1, number)
        best = date(2001, 1, 1) + timedelta(days=a.best_day - 1)
        yield self._effect(
            f"about {best.day} {best:%B}, against the mean of the year", math.expm1, e.season
        )
        yield self._effect("condition 10 points better", math.expm1, e.condition)

    def _effect(self, name: str, change: Callable[[float], float], *places: int) -> ChanceEffect:
        mean, sd, before, assumed_sd = self._sum(*places)
        ends = sorted(100 * change(mean + z * sd) for z in (-_Z, _Z))
        return ChanceEffect(
            name,
            100 * change(mean),
            ends[0],
            ends[1],
            100 * change(before),
            min((sd / assumed_sd) ** 2, 1.0),
        )


def _of_error(log_error: float) -> float:
    """Return one standard deviation of the error of the estimates as a share of the estimate."""
    return math.expm1(math.exp(log_error))


def _of_price(log_elasticity: float) -> float:
    """Return the change of the sales a day for an asking price that is 10 % higher."""
    return math.expm1(-math.exp(log_elasticity) * _LOG_TENTH)
