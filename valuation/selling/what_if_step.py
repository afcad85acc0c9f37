"""The step from a car to the same car otherwise: log effect, certainty, and what it rests on.

The regression is linear in its columns, so the step is the difference of the columns (means over
what a fact can still be, where one is open) times the coefficients, and its variance the quadratic
form of that difference in their posterior covariance.  What the closest sales brought beyond their
attributes belongs to the car and its surroundings: it is held fixed, and so are these sales.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.batch import Batch
from valuation.appraisal.fitting import Fitted
from valuation.appraisal.outlook import ahead_variance, outlook_of
from valuation.appraisal.wordings import label_of
from valuation.features.table import day_number
from valuation.money import log_mean, whole_units
from valuation.results.valuation import NoRange, PriceRange
from valuation.results.what_if_parts import AttributeStep

__all__ = [
    "Z90",
    "Step",
    "attribute_steps",
    "evidence_share",
    "range_after",
    "range_as_it_is",
    "step_between",
]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

Z90 = 1.6448536269514722
"""Standard deviations to each side of a 90 % interval."""

FEWEST = 20
"""Fewest past errors that can carry a range."""

_AROUND = (0, 1, 2, 5)
"""Columns of the difficulty estimate that speak of the sales around a car."""


@dataclass(frozen=True)
class Step:
    """A difference between two cars on the log scale.

    Parameters
    ----------
    columns : ndarray of int, shape (n,)
        Columns in which they differ.
    values : ndarray, shape (n,)
        By how much.
    line : int
        Code of the model line, -1 for none.
    effect, sd : float
        Log price of the second less that of the first, and its standard deviation.
    share : float
        Share of evidence: one less posterior over prior variance.
    """

    columns: Ints
    values: Floats
    line: int
    effect: float
    sd: float
    share: float

    @property
    def interval(self) -> tuple[float, float]:
        """The 90 % interval."""
        return self.effect - Z90 * self.sd, self.effect + Z90 * self.sd

    def in_money(self, central: float) -> tuple[float, float]:
        """Return the interval in money from a log central estimate."""
        low, high = (float(np.exp(central) * np.expm1(end)) for end in self.interval)
        return low, high


def step_between(batch: Batch, first: int, second: int) -> Step:
    """Return the step from one car of a batch to another of the same model line.

    Parameters
    ----------
    batch : Batch
        Cars valued on one day.
    first, second : int
        Positions of the two.
    """
    design = batch.forecast.design
    step = (design.X[[second]] - design.X[[first]]).tocsr()
    step.eliminate_zeros()
    columns = step.indices.astype(np.intp)
    return _step(batch.market.fitted, columns, step.data, int(design.line[second]))


def _step(fitted: Fitted, columns: Ints, values: Floats, line: int) -> Step:
    owner = fitted.layout.owner[columns]
    mine = (owner < 0) | (owner == line)
    variance = fitted.quadratic(line, columns[mine], values[mine]) if mine.any() else 0.0
    before = float(values**2 @ fitted.prior_variance[columns]) if len(columns) else 0.0
    share = 1.0 if not np.isfinite(before) else 1.0 - variance / max(before, 1e-300)
    return Step(
        columns,
        values,
        line,
        float(values @ fitted.coef[columns]),
        float(np.sqrt(variance)),
        float(np.clip(share, 0.0, 1.0)) if len(columns) else 0.0,
    )


def attribute_steps(
    fitted: Fitted, step: Step, central: float, total: int
) -> tuple[AttributeStep, ...]:
    """Split a step by the lines of the explanation, in money that adds up to the change.

    Parameters
    ----------
    fitted : Fitted
        The market.
    step : Step
        The step.
    central : float
        Log of the central estimate before it.
    total : int
        The change in whole currency units.
    """
    kinds = fitted.spec.column_attribute[step.columns]
    parts = [(k, _part(fitted, step, kinds == k)) for k in np.unique(kinds).tolist()]
    factor = log_mean(float(np.exp(central)), float(np.exp(central + step.effect)))
    exact = [factor * part.effect for _, part in parts]
    whole = whole_units(exact, total=total) if parts else []
    return tuple(
        AttributeStep(
            fitted.spec.attributes[k],
            label_of(fitted.spec.attributes[k]),
            amount,
            factor * part.interval[0],
            factor * part.interval[1],
            part.share,
        )
        for (k, part), amount in zip(parts, whole, strict=True)
    )


def evidence_share(steps: Sequence[AttributeStep]) -> float:
    """Return which share of a change sales show: that of its lines, each by its size."""
    size = [max(abs(s.amount), 1) for s in steps]
    shares = [s.evidence_share for s in steps]
    return float(np.average(shares, weights=size)) if steps else 0.0


def _part(fitted: Fitted, step: Step, chosen: NDArray[np.bool_]) -> Step:
    return _step(fitted, step.columns[chosen], step.values[chosen], step.line)


def range_as_it_is(batch: Batch, i: int) -> PriceRange | NoRange:
    """Return the range of a car of a batch at the usual level, or why there is none."""
    out = batch.outlooks[i]
    return _range(batch, batch.outside[i], out.central, out.offsets - out.correction)


def range_after(batch: Batch, first: int, second: int) -> PriceRange | NoRange:
    """Return the range of a car once it is otherwise, the sales around it held fixed.

    It is as wide as that of a car of which so much is known, and stands around the central
    estimate after the step.

    Parameters
    ----------
    batch : Batch
        Cars valued on one day.
    first, second : int
        The car as it is, and as it would be.
    """
    forecast, calibration = batch.forecast, batch.market.calibration
    hard = forecast.difficulty[second].copy()
    hard[list(_AROUND)] = forecast.difficulty[first][list(_AROUND)]
    around = forecast.around[first]
    day = day_number(batch.as_of) if batch.as_of else float("nan")
    extra = batch.unsettled[second].variance + ahead_variance(batch.market.fitted, calibration, day)
    own = (around.own, around.own_share)
    price = float(forecast.effects[second].sum())
    out = outlook_of(calibration, price, around.deviation, own, hard, extra)
    held = replace(out, correction=batch.outlooks[first].correction)
    return _range(batch, batch.outside[second], held.central, out.offsets - out.correction)


def _range(
    batch: Batch, outside: Sequence[str], central: float, offsets: Floats
) -> PriceRange | NoRange:
    market = batch.market
    if outside:
        return NoRange(f"{'. '.join(outside)}. A range would pretend to know.")
    if market.calibration.n < FEWEST or not len(offsets):
        return NoRange("Too few forecasts of past sales can be checked for a range.")
    level = market.settings.level
    low, high = market.calibration.interval(offsets, level)
    return PriceRange(level, float(np.exp(central + low)), float(np.exp(central + high)))
