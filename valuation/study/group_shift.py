"""How far some sales are off together: what an indicator of them alone, added to a fit, would say.

The estimate and its precision follow from what the fit has left, without a new fit: with w the
weights and r the residuals of the group, u the weighted sum of its rows and V the covariance of
the coefficients without the noise variance, the indicator would be ``w'r / (w'1 - u'Vu)`` and its
variance ``sigma^2 / (w'1 - u'Vu)`` (an added variable: Cook and Weisberg 1982, section 2.3.2, for
a penalised fit).  Whatever the fit has put down to a venue or to the market of those months
competes with the indicator and loses to it as far as the data say.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from valuation.study.leave_out import FittedSales

__all__ = ["group_shift"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_LEAST_KNOWN = 1e-6
"""Below this share of its weight a group can't be told from what the fit already holds."""


def group_shift(sales: FittedSales, rows: Ints) -> tuple[float, float]:
    """Return how far some sales are off together, log units, and the standard error.

    Parameters
    ----------
    sales : FittedSales
        The sales of a market.
    rows : ndarray of int
        Positions of the group's.

    Returns
    -------
    (float, float)
        The shift is 0 and its error infinite where nothing but these sales tells what they are
        worth.
    """
    fitted, weights = sales.market.fitted, sales.weights[rows]
    together = np.asarray(sales.design.X[rows].T @ weights, dtype=np.float64)
    known = float(weights.sum()) - _quadratic(sales, together)
    if known <= _LEAST_KNOWN * float(weights.sum()):
        return 0.0, float("inf")
    error = fitted.sigma * float(np.sqrt(fitted.inflation / known))
    return float(weights @ sales.residuals[rows]) / known, error


def _quadratic(sales: FittedSales, x: Floats) -> float:
    """Return the variance of a combination of columns of any model lines, without the noise's.

    Given the common coefficients those of two model lines are independent, so each line adds its
    own variance, and what all of them hang on in common is counted once.
    """
    layout, posterior = sales.market.fitted.layout, sales.market.fitted.posterior
    border, common = posterior.border, x[layout.common].copy()
    total = 0.0
    for line, columns in posterior.columns.items():
        local = x[layout.local[columns]]
        if not local.any():
            continue
        active = posterior.active[line]
        back = local @ posterior.gain[line]
        common[active] -= back
        total += float(local @ posterior.block[line] @ local)
        total -= float(back @ border[np.ix_(active, active)] @ back)
    used = np.flatnonzero(common)
    return total + float(common[used] @ border[np.ix_(used, used)] @ common[used])
