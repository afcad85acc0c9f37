"""Prices of a batch beside what a model that did not know them says."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from valuation.appraisal.data import MarketData, market_data
from valuation.appraisal.market import MarketModel
from valuation.appraisal.outlook import level_variance, outlook
from valuation.features.table import day_number
from valuation.models.ranges import GRID
from valuation.records import SalesBook

__all__ = ["BatchPrices", "Shift", "batch_prices", "middle_of"]

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

NEAR = float(np.log(1.02))
"""A price so close to its estimate, on the log scale, repeats it."""

_DF = 5.0
"""Degrees of freedom of the errors of a batch, as robust as they are efficient."""


@dataclass(frozen=True, slots=True)
class Shift:
    """Where the errors of some sales have their middle.

    Parameters
    ----------
    middle, error : float
        On the log scale, with its standard error.
    n : int
        Sales.
    """

    middle: float
    error: float
    n: int


@dataclass(frozen=True)
class BatchPrices:
    """Errors of a batch, sale by sale.

    Parameters
    ----------
    frame : pandas.DataFrame
        The sales that could be judged.
    error : ndarray, shape (n,)
        Log price less the middle of what the model forecasts for it.
    spread : ndarray, shape (n,)
        Standard deviation of such errors, by the ranges of the model.
    near : ndarray of bool, shape (n,)
        Whether the price repeats the central estimate to two per cent.
    near_chance : ndarray, shape (n,)
        Probability of that, by the ranges of the model.
    unseen : int
        Sales that were left out because their model line was never seen.
    shared : float
        Standard deviation of what the errors of one month share: the market moves.
    months : float
        Months from the last sale that the model knows to the middle of the batch, at least 1.
    """

    frame: pd.DataFrame
    error: Floats
    spread: Floats
    near: Mask
    near_chance: Floats
    unseen: int
    shared: float
    months: float

    def __len__(self) -> int:
        return len(self.error)

    def shift(self, rows: Mask | None = None) -> Shift:
        """Return where the errors of all sales, or of some, have their middle."""
        keep = np.ones(len(self), dtype=bool) if rows is None else rows
        return middle_of(self.error[keep], self.spread[keep])


def middle_of(error: Floats, spread: Floats) -> Shift:
    """Return the middle of some errors of unlike spread: Student t location, by iteration.

    Parameters
    ----------
    error, spread : ndarray, shape (n,)
        At least one.

    Returns
    -------
    Shift
        Middle and standard error; as little moved by a few wild prices as a median, and surer.
    """
    scale = _T_SCALE * spread
    middle = float(np.median(error))
    weight = np.ones(len(error))
    for _ in range(50):
        weight = (_DF + 1.0) / (_DF + ((error - middle) / scale) ** 2) / scale**2
        before, middle = middle, float(weight @ error / weight.sum())
        if abs(middle - before) < 1e-9:
            break
    # Information of a t location: (df + 1) / (df + 3) / scale^2 a sale, if the spreads are right;
    # if the sales scatter more than these say, their own scatter counts.
    said = float(np.sum((_DF + 1.0) / (_DF + 3.0) / scale**2)) ** -0.5
    own = float(np.sqrt(weight**2 @ (error - middle) ** 2)) / float(weight.sum())
    return Shift(middle, max(said, own) if len(error) >= 5 else said, len(error))


_T_SCALE = 1.0 / float(stats.t.ppf(0.8413, _DF))
"""From half the width of the middle 68 per cent to the scale of Student t noise."""


def batch_prices(market: MarketModel, book: SalesBook) -> BatchPrices:
    """Set the prices of a batch beside what the model says of such sales.

    Parameters
    ----------
    market : MarketModel
        Fitted without them.
    book : SalesBook
        The sales, in the currency of the market.

    Returns
    -------
    BatchPrices
        Sales of model lines that the market never saw are left out, unless all are.
    """
    data = market_data(_judged(market, book), unsold="as bids", least=0)
    line = market.fitted.spec.line_of(data.table)
    seen = line >= 0
    unseen = int((~seen).sum())
    rows = np.flatnonzero(seen if seen.any() else ~seen)
    kept = data.take(rows)
    middle, spread, central, offsets = _forecast(market, kept)
    error = kept.log_price - middle
    from_centre = kept.log_price - central
    chance = [
        float(np.interp(c - m + NEAR, o, GRID) - np.interp(c - m - NEAR, o, GRID))
        for c, m, o in zip(central, middle, offsets, strict=True)
    ]
    days = kept.day[np.isfinite(kept.day)]
    middle_day = float(np.median(days)) if len(days) else float("nan")
    shared = float(np.sqrt(level_variance(market.fitted, middle_day)))
    gap = (middle_day - _known_until(market)) / 30.4
    return BatchPrices(
        kept.frame,
        error,
        spread,
        np.abs(from_centre) <= NEAR,
        np.array(chance),
        unseen if seen.any() else 0,
        shared,
        max(gap, 1.0) if np.isfinite(gap) else 1.0,
    )


def _judged(market: MarketModel, book: SalesBook) -> SalesBook:
    """Leave out highest bids on unsold cars where the market does not take them for prices."""
    if market.settings.unsold == "as bids":
        return book
    return book.subset((book.table["outcome"] != "not sold").to_numpy(dtype=bool))


def _known_until(market: MarketModel) -> float:
    return day_number(market.as_of) if market.as_of else market.fitted.last_day


def _forecast(market: MarketModel, data: MarketData) -> tuple[Floats, Floats, Floats, Floats]:
    """Return middle, spread and centre of each forecast, and its distribution around the middle."""
    if not len(data):
        none = np.zeros(0)
        return none, none, none, np.zeros((0, len(GRID)))
    forecast = market.fitted.forecast(data.table)
    middle, spread, central, around = [], [], [], []
    for i, day in enumerate(data.day.tolist()):
        out = outlook(market.fitted, market.calibration, forecast, day=day, row=i)
        base, offsets = out.fitted + out.deviation, out.offsets
        if not len(offsets):
            offsets = market.fitted.sigma * np.asarray(stats.t.ppf(GRID, _DF), dtype=np.float64)
        low, centre, high = np.interp([0.1587, 0.5, 0.8413], GRID, offsets)
        middle.append(base + float(centre))
        spread.append(max(float(high - low) / 2, 1e-6))
        central.append(out.central)
        around.append(offsets - centre)
    return np.array(middle), np.array(spread), np.array(central), np.array(around)
