"""The difference between two cars, and how sure it is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from valuation.appraisal.data import cars_table
from valuation.appraisal.fitting import Fitted
from valuation.records import Car

__all__ = ["Contrast", "contrast", "variances"]

Floats = NDArray[np.float64]


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
    """Compare two cars on one day, all else equal.

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
        Second less first.  A model line that no sale has brings no variance of its own.
    """
    a = fitted.spec.transform(cars_table([first], day))
    b = fitted.spec.transform(cars_table([second], day))
    step = (b.X - a.X).tocsr()
    step.eliminate_zeros()
    columns, values = step.indices.astype(np.intp), step.data
    line = int(b.line[0])
    owner = fitted.layout.owner[columns]
    if ((owner < 0) | (owner == line)).all():
        variance = fitted.quadratic(line, columns, values) if len(columns) else 0.0
    else:
        variance = float(variances(fitted, step)[0])
    return Contrast(float(values @ fitted.coef[columns]), float(np.sqrt(variance)))


def variances(fitted: Fitted, steps: sparse.csr_array) -> Floats:
    """Return the variance of some combinations of coefficients, over several model lines too.

    Parameters
    ----------
    fitted : Fitted
        The market.
    steps : scipy.sparse.csr_array, shape (k, n_columns)
        The combinations.

    Returns
    -------
    ndarray, shape (k,)
        Their variances by the posterior of the coefficients.
    """
    V = steps.toarray().T.astype(np.float64)
    found = (V * fitted.covariance_times(V)).sum(0)
    return np.asarray(np.maximum(found, 0.0) * fitted.sigma**2 * fitted.inflation)
