"""One market measured: errors, effects, the index, and a short backtest."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from truth_changes import effect_counts
from truth_components import level_path
from truth_fits import TrueFit, fit_as_shipped, fit_with_truth
from truth_markets import Trial, make_trial
from truth_measures import noise_scale, path_error, rms

from valuation.appraisal.fitting import Fitted
from valuation.appraisal.settings import ModelSettings
from valuation.features.table import FeatureTable
from valuation.study.backtest import backtest

__all__ = ["index_of", "measure_fit", "measure_range"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


def errors_on(
    trial: Trial, rows: Ints, fitted: Fitted, predict: Callable[[FeatureTable], Floats]
) -> dict[str, float]:
    """Return the errors on rows that no fit has seen.

    Parameters
    ----------
    trial : Trial
        Market with its truth.
    rows : ndarray of int
        Rows.
    fitted : Fitted
        The fit under test.
    predict : callable
        The same for the fit with the true variance components.

    Returns
    -------
    dict of str to float
        Root mean square and median absolute error against the true expected log price: of the
        regression, with the closest sales, of the fit with the truth; the noise, and the error
        with it.
    """
    if not len(rows):
        return {"n": 0}
    table, truth = trial.data.table.take(rows), trial.world.truth
    true, noise = truth.expected[rows], truth.residual()[rows]
    forecast = fitted.forecast(table)
    plain = forecast.log_price - true
    near = plain + forecast.deviation
    held = predict(table) - true
    return {
        "n": len(rows),
        "rmse": rms(plain),
        "median": float(np.median(np.abs(plain))),
        "rmse_with_closest": rms(near),
        "rmse_true_components": rms(held),
        "median_true_components": float(np.median(np.abs(held))),
        "noise": rms(noise),
        "rmse_with_noise": rms(plain - noise),
        "bias": float(plain.mean()),
    }


def index_of(fitted: Fitted, table: FeatureTable, days: Floats) -> tuple[Floats, Floats]:
    """Return the fitted market level of the mix of model lines of some sales, about its mean.

    Parameters
    ----------
    fitted : Fitted
        The fit.
    table : FeatureTable
        Sales whose model lines and makes give the mix.
    days : ndarray, shape (n_days,)
        Days.

    Returns
    -------
    path, sd : ndarray, shape (n_days,)
        Level less its mean over the days, and the standard deviation of that.  What a few sales
        of one stretch share (the selection of sales) is no part of it.
    """
    spec = fitted.spec
    names = [t.name for t in spec.terms if t.attribute == "market" and t.penalty == "estimated"]
    part = spec.only(names)
    if not part.n_columns:
        return np.zeros(len(days)), np.zeros(len(days))
    mine = np.repeat([t.name in names for t in spec.terms], np.diff(spec.starts))
    columns, lines = np.flatnonzero(mine), spec.line_of(table)
    path, posterior = np.zeros(len(days)), fitted.posterior
    # Local coefficients err with the common ones (through the gain) and on their own.
    common, own = np.zeros((len(days), len(posterior.border))), np.zeros(len(days))
    for line in np.unique(lines):
        row = table.take(np.full(len(days), np.flatnonzero(lines == line)[0]))
        row = replace(row, numbers={**row.numbers, "day": days})
        X = float(np.mean(lines == line)) * part.transform(row).X.toarray()
        X -= X.mean(axis=0)
        path += X @ fitted.coef[columns]
        local = spec.is_local[columns] & (X != 0).any(axis=0)
        both = ~spec.is_local[columns]
        common[:, spec.within[columns[both]]] += X[:, both]
        if local.any():
            at = np.searchsorted(posterior.columns[line], spec.within[columns[local]])
            gain, active = posterior.gain[line][at], posterior.active[line]
            common[:, active] -= X[:, local] @ gain
            alone = posterior.block[line][np.ix_(at, at)]
            alone = alone - gain @ posterior.border[np.ix_(active, active)] @ gain.T
            own += np.einsum("ij,jk,ik->i", X[:, local], alone, X[:, local])
    variance = np.einsum("ij,jk,ik->i", common, posterior.border, common, optimize=True) + own
    return path, np.sqrt(np.maximum(variance * fitted.sigma**2 * fitted.inflation, 0.0))


def _index(trial: Trial, fitted: Fitted) -> dict[str, float]:
    table = trial.data.table.take(trial.train)
    day = table.numbers["day"]
    days = np.arange(day.min(), day.max() + 1, 7.0)
    path, sd = index_of(fitted, table, days)
    true = level_path(trial, days, trial.train)
    error, share = path_error(path, true, sd)
    return {
        "days": len(days),
        "error": error,
        "inside": share,
        "sd": rms(sd),
        "true_movement": rms(true - true.mean()),
    }


def measure_fit(market: str, size: int, seed: int) -> tuple[dict[str, Any], dict[str, float]]:
    """Fit one market and measure everything but its ranges.

    Parameters
    ----------
    market : str
        Name of the market.
    size, seed : int
        Sales to fit on; seed.

    Returns
    -------
    measures : dict
        ``fresh``, ``later``, ``effects``, ``index``, ``components`` and scales of the noise.
    seconds : dict of str to float
        Time of the fits: of no consequence for the measures, and kept apart from them.
    """
    start = time.perf_counter()
    trial = make_trial(market, size, seed)
    made = time.perf_counter()
    fitted = fit_as_shipped(trial)
    shipped = time.perf_counter()
    held: TrueFit = fit_with_truth(trial, fitted)
    done = time.perf_counter()
    noise = trial.world.truth.residual()[trial.train]
    measures = {
        "fresh": errors_on(trial, trial.fresh, fitted, held.predict),
        "later": errors_on(trial, trial.later, fitted, held.predict),
        "effects": effect_counts(trial, fitted, fitted.last_day),
        "index": _index(trial, fitted),
        "components": held.components.sources,
        "scales": {
            "fitted": fitted.sigma,
            "true": noise_scale(noise - noise.mean(), ModelSettings().robust_df),
            "inflation": fitted.inflation,
            "held": len(fitted.held),
        },
    }
    seconds = {"market": made - start, "fit": shipped - made, "fit_with_truth": done - shipped}
    return measures, seconds


RANGE_SETTINGS = ModelSettings(origins=6)
"""A short record of past forecasts: half of the shipped one."""

RANGE_MONTHS = 12


def measure_range(market: str, size: int, seed: int) -> tuple[dict[str, Any], dict[str, float]]:
    """Backtest the last twelve months of one market.

    Parameters
    ----------
    market : str
        Name of the market.
    size, seed : int
        Sales in all; seed.

    Returns
    -------
    measures : dict
        Counts of priced and covered sales, accuracy.
    seconds : dict of str to float
        Time of the backtest.
    """
    start = time.perf_counter()
    world = make_trial(market, size, seed).world
    result = backtest(world.book(), months=RANGE_MONTHS, settings=RANGE_SETTINGS)
    p = result.predictions
    priced = p["lower"].notna().to_numpy()
    inside = ((p["price"] >= p["lower"]) & (p["price"] <= p["upper"])).to_numpy() & priced
    width = np.log(p["upper"][priced] / p["lower"][priced])
    error = np.abs(p["central"] / p["price"] - 1)
    measures: Mapping[str, Any] = {
        "tested": len(p),
        "priced": int(priced.sum()),
        "covered": int(inside.sum()),
        "median_error": float(np.median(error)),
        "median_log_width": float(np.median(width)) if priced.any() else float("nan"),
    }
    return dict(measures), {"backtest": time.perf_counter() - start}
