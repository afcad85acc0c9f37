"""The difference between two cars, and how sure it is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from valuation.appraisal.data import cars_table
from valuation.appraisal.fitting import Fitted
from valuation.records import Car

__all__ = ["Contrast", "contrast"]


@dataclass(frozen=True, slots=True)
class Contrast:
    """A difference in fitted log price.

    Parameters
    ----------
    effect : float
        Log price of the second car less that of the first.
    sd : float
        Its standard deviation: the posterior of the coefficients, no noise of a single sale.
    """

    effect: float
    sd: float

    def interval(self, z: float = 1.6448536269514722) -> tuple[float, float]:
        """Return the interval of `z` standard deviations, 90 % by default."""
        return self.effect - z * self.sd, self.effect + z * self.sd


def contrast(fitted: Fitted, first: Car, second: Car, *, day: float) -> Contrast:
    """Compare two cars of one model line on one day, all else equal.

    Parameters
    ----------
    fitted : Fitted
        The market.
    first, second : Car
        Cars with their sale.
    day : float
        Days since 1970-01-01, NaN for an undated market.

    Returns
    -------
    Contrast
        Second less first.  Between two model lines the variance of the first line's own
        effects is left out.
    """
    a = fitted.spec.transform(cars_table([first], day))
    b = fitted.spec.transform(cars_table([second], day))
    step = (b.X - a.X).tocsr()
    step.eliminate_zeros()
    columns, values = step.indices.astype(np.intp), step.data
    line = int(b.line[0])
    mine = (fitted.layout.owner[columns] < 0) | (fitted.layout.owner[columns] == line)
    variance = fitted.quadratic(line, columns[mine], values[mine]) if mine.any() else 0.0
    return Contrast(float(values @ fitted.coef[columns]), float(np.sqrt(variance)))
