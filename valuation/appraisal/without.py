"""A market without some of its sales, as if they had never been in it, in a fraction of a fit."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from valuation.appraisal.fitting import Fitted
from valuation.appraisal.market import MarketModel, market_of
from valuation.models.comparables import ComparableSales
from valuation.models.evidence import weights_of
from valuation.models.without_rows import Left, Problem, without_rows
from valuation.running.threads import one_thread

__all__ = ["without_sales"]

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

_CLIPPED = 0.95
"""Leverage from which on leave-one-out residuals are those of this leverage."""


def without_sales(
    market: MarketModel, rows: NDArray[np.intp], *, weigh_anew: bool = True
) -> MarketModel:
    """Return a market without some of its sales.

    Parameters
    ----------
    market : MarketModel
        Fitted and calibrated.
    rows : ndarray of int
        Positions of the sales in its frame.
    weigh_anew : bool
        Whether the weights of the other sales settle anew.  If they are kept, a trace of a sale
        that is left out stays in them: its neighbours were trusted more or less because of it.

    Returns
    -------
    MarketModel
        The same object if there are none.  Else frame, comparable sales, codes, typical cars,
        counts, usual sale, coefficients and their covariance are those of the other sales: the
        coefficients solve the normal equations of the other sales, so no price of a sale that is
        left out is in them.  Kept is what the fit of all sales settled and no single sale moves
        by much: columns, stand-ins for what is not stated, penalties, noise and its inflation, and
        the calibration of the ranges.  The day of the model is kept too.

    Raises
    ------
    ValueError
        If no sale would be left.
    """
    if not len(rows):
        return market
    out = np.zeros(len(market.frame), dtype=bool)
    out[rows] = True
    if out.all():
        raise ValueError(f"without_sales: no sale would be left (got: all {len(out)})")
    with one_thread():
        problem = _problem(market)
        fitted = market.fitted
        left = without_rows(
            problem,
            fitted.layout,
            fitted.posterior,
            fitted.coef,
            out,
            weigh=_weigh(market) if weigh_anew else None,
        )
        X, data = market.design.X[~out], market.data.take(~out)
        moved = _moved(market, left, X, problem.target, ~out)
        return market_of(
            data,
            moved,
            market.calibration,
            market.currency,
            market.as_of,
            market.settings,
            X=X,
        )


def _problem(market: MarketModel) -> Problem:
    """Return the fit of a market as least squares with weights and penalties as it left them."""
    fitted, X = market.fitted, market.design.X
    # Of a price that is only a lower bound, what the fit expects it to be counts.
    target = X @ fitted.coef + fitted.sales.residuals
    weights = _weigh(market)(fitted.sales.residuals)
    penalty = fitted.sigma**2 / fitted.prior_variance
    return Problem(X, np.asarray(target), weights, penalty, fitted.layout.mean)


def _weigh(market: MarketModel) -> Callable[[Floats], Floats]:
    """Return what weighs residuals, the noise as the fit left it."""
    return partial(weights_of, sigma2=market.fitted.sigma**2, df=market.settings.robust_df)


def _moved(
    market: MarketModel, left: Left, X: sparse.csr_array, target: Floats, keep: Mask
) -> Fitted:
    fitted = replace(market.fitted, coef=left.coef, posterior=left.posterior)
    residuals = np.asarray(target[keep] - X @ left.coef)
    sales = _sales(market.fitted.sales, fitted, left, X, residuals, keep)
    days = sales.day[~np.isnan(sales.day)]
    return replace(
        fitted,
        sales=sales,
        codes=_codes(fitted.codes, sales),
        last_day=float(days.max()) if len(days) else float("nan"),
    )


def _sales(
    old: ComparableSales,
    fitted: Fitted,
    left: Left,
    X: sparse.csr_array,
    residuals: Floats,
    keep: Mask,
) -> ComparableSales:
    honest = np.where(old.honest == 0, 1.0, old.honest)
    leverage = np.where(old.honest == 0, 0.0, 1.0 - old.residuals / honest)[keep]
    leverage = np.clip(leverage + left.more_leverage, 0.0, _CLIPPED)
    return replace(
        old,
        effects=fitted.by_attribute(X).astype(np.float32),
        residuals=residuals,
        honest=residuals / (1.0 - leverage),
        trust=np.minimum(left.weights, 1.0),
        line=old.line[keep],
        make=old.make[keep],
        version=old.version[keep],
        day=old.day[keep],
        chassis=old.chassis[keep] if len(old.chassis) else old.chassis,
        stated=old.stated[keep] if len(old.stated) else old.stated,
    )


def _codes(
    codes: Mapping[str, Mapping[str, int]], sales: ComparableSales
) -> dict[str, dict[str, int]]:
    """Return the codes of levels that a sale still has."""
    left = {name: set(np.unique(getattr(sales, name)).tolist()) for name in codes}
    return {name: {v: i for v, i in of.items() if i in left[name]} for name, of in codes.items()}
