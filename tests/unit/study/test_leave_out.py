"""What leaving a sale out moves is what a fit without it says."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.linalg
from numpy.typing import NDArray

from valuation.appraisal.data import market_data
from valuation.appraisal.fitting import fit_market_data
from valuation.appraisal.market import MarketModel
from valuation.features.assumptions import default_assumptions
from valuation.records import SalesBook
from valuation.study.leave_out import FittedSales

Floats = NDArray[np.float64]


@pytest.fixture(scope="module")
def sales(tiny_market: MarketModel) -> FittedSales:
    return FittedSales(tiny_market)


@pytest.fixture(scope="module")
def large(small_market: MarketModel) -> FittedSales:
    return FittedSales(small_market)


def solved(sales: FittedSales, weights: Floats) -> Floats:
    """Solve the penalised normal equations anew, densely, with the given weights."""
    fitted, layout = sales.market.fitted, sales.market.fitted.layout
    X = sales.design.X.toarray()
    precision = fitted.sigma**2 / fitted.prior_variance
    normal = (X.T * weights) @ X + np.diag(precision)
    pull = np.where(np.isfinite(layout.sd), precision * layout.mean, 0.0)
    right = X.T @ (weights * sales.data.log_price) + pull
    # By rows and columns in order of size: as exact as singular values and ten times as quick.
    return scipy.linalg.lstsq(normal, right, lapack_driver="gelsy")[0]


@pytest.mark.parametrize("which", ["tiny", "small"])
def test_what_moves_is_what_a_fit_without_the_sale_says(
    which: str, sales: FittedSales, large: FittedSales
) -> None:
    fits = sales if which == "tiny" else large
    before = solved(fits, fits.weights)
    assert before == pytest.approx(fits.market.fitted.coef, abs=5e-3)
    order = np.argsort(-np.abs(fits.own))
    rows = order[[0, 1, 50]]
    X = fits.design.X.toarray()
    for i, moves in zip(rows.tolist(), fits.moves(rows), strict=True):
        weights = fits.weights.copy()
        weights[i] = 0.0
        step = solved(fits, weights) - before
        own = float(X[i] @ step)
        assert moves.own == pytest.approx(own, rel=0.02, abs=2e-5)
        assert fits.own[i] == pytest.approx(own, rel=0.02, abs=2e-5)
        start = fits._starts(np.array([i]))
        mean = start.mean.toarray()[0]
        assert moves.typical == pytest.approx(float(mean @ step), rel=0.02, abs=2e-5)
        spec = fits.market.fitted.spec
        for k in range(len(spec.attributes)):
            mine = spec.column_attribute == k
            expected = float(((X[i] - mean) * step)[mine].sum())
            assert moves.lines[k] == pytest.approx(expected, rel=0.03, abs=5e-5)


def test_typical_car_and_lines_add_up_to_the_own_estimate(large: FittedSales) -> None:
    rows = np.arange(0, len(large), 9)
    for moves in large.moves(rows):
        assert moves.typical + float(moves.lines.sum()) == pytest.approx(moves.own, abs=1e-12)


def test_all_typical_cars_at_once_are_the_same_as_one_by_one(large: FittedSales) -> None:
    rows = np.arange(0, len(large), 9)
    assert large.typical[rows] == pytest.approx([m.typical for m in large.moves(rows)], abs=1e-12)


def test_an_error_is_that_of_the_fit_without_the_sale(sales: FittedSales) -> None:
    i = int(np.argmax(np.abs(sales.errors)))
    weights = sales.weights.copy()
    weights[i] = 0.0
    row = sales.design.X[[i]].toarray()[0]
    without = float(row @ solved(sales, weights))
    assert sales.errors[i] == pytest.approx(sales.data.log_price[i] - without, rel=0.01)


def test_a_market_that_is_learned_anew_moves_the_same_way(
    tiny_market: MarketModel, sales: FittedSales
) -> None:
    """Weights and noise settle anew in a real fit: the direction and the size stay."""
    settings = tiny_market.settings
    book = SalesBook(tiny_market.frame, tiny_market.currency, tiny_market.dated)
    data = market_data(book, unsold=settings.unsold)
    order = np.argsort(-np.abs(sales.own))[:8]
    pairs = []
    for i in order.tolist():
        kept = np.delete(np.arange(len(data)), i)
        again = fit_market_data(
            data.take(kept),
            settings=settings,
            assumptions=default_assumptions(),
            penalties=tiny_market.fitted.penalties,
        )
        row = data.table.take(np.array([i]))
        pairs.append((sales.own[i], float(again.forecast(row).log_price[0]) - _fitted(sales, i)))
    said, real = np.array(pairs).T
    assert np.corrcoef(said, real)[0, 1] > 0.95
    assert real == pytest.approx(said, rel=0.5, abs=0.03)


def _fitted(sales: FittedSales, i: int) -> float:
    return float(sales.data.log_price[i] - sales.residuals[i])


def test_a_leverage_that_was_clipped_is_worked_out(large: FittedSales) -> None:
    market = large.market
    for i in np.argsort(-large.leverage)[:3].tolist():
        start, stop = large.design.X.indptr[i], large.design.X.indptr[i + 1]
        columns = large.design.X.indices[start:stop].astype(np.intp)
        values = large.design.X.data[start:stop]
        line = int(large.design.line[i])
        spread = market.fitted.quadratic(line, columns, values) / (
            market.fitted.sigma**2 * market.fitted.inflation
        )
        assert large.leverage[i] == pytest.approx(large.weights[i] * spread, rel=1e-3)
