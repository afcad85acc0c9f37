"""A market without some sales is the market that never had them, penalties and weights kept."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import scipy.linalg
from numpy.typing import NDArray

from valuation.appraisal.appraise import appraise
from valuation.appraisal.market import MarketModel
from valuation.appraisal.stated import StatedValues
from valuation.appraisal.typical import typical_cars
from valuation.appraisal.without import without_sales
from valuation.models.evidence import weights_of
from valuation.records import Car

Floats = NDArray[np.float64]

OUT = np.array([3, 40, 41, 149])


@pytest.fixture(scope="module", params=["tiny", "small"])
def market(request: pytest.FixtureRequest) -> MarketModel:
    """Return a market without columns of model lines, and one with them."""
    found: MarketModel = request.getfixturevalue(f"{request.param}_market")
    return found


@pytest.fixture(scope="module")
def left(market: MarketModel) -> MarketModel:
    return without_sales(market, OUT, weigh_anew=False)


def keep(market: MarketModel) -> NDArray[np.bool_]:
    mask = np.ones(len(market.frame), dtype=bool)
    mask[OUT] = False
    return mask


def solved(market: MarketModel, rows: NDArray[np.bool_], weights: Floats | None = None) -> Floats:
    """Solve the penalised normal equations of some sales densely, from the prices."""
    fitted, layout = market.fitted, market.fitted.layout
    if weights is None:
        weights = weights_of(fitted.sales.residuals, fitted.sigma**2, market.settings.robust_df)
    X, w = market.design.X[rows].toarray(), weights[rows]
    penalty = fitted.sigma**2 / fitted.prior_variance
    pull = np.where(np.isfinite(layout.sd), penalty * layout.mean, 0.0)
    right = X.T @ (w * market.data.log_price[rows]) + pull
    # Penalties span fifteen powers of ten; scaled to a diagonal of ones the rest is harmless.
    normal = (X.T * w) @ X + np.diag(penalty)
    scale = 1 / np.sqrt(np.maximum(np.diag(normal), 1e-12))
    whole = normal * scale * scale[:, None]
    return scale * scipy.linalg.solve(whole, right * scale, assume_a="sym")


def test_the_coefficients_are_those_of_a_fit_without_the_sales(
    market: MarketModel, left: MarketModel
) -> None:
    expected = solved(market, keep(market))
    X = market.design.X
    assert X @ left.fitted.coef == pytest.approx(X @ expected, abs=1e-8)
    # The sales did say something, so this is no comparison of a fit with itself.
    assert np.abs(X @ (market.fitted.coef - expected)).max() > 1e-3


def test_the_covariance_is_that_of_a_fit_without_the_sales(
    market: MarketModel, left: MarketModel
) -> None:
    fitted, asked = market.fitted, np.concatenate([OUT, np.arange(50, 100)])
    weights = weights_of(fitted.sales.residuals, fitted.sigma**2, market.settings.robust_df)[OUT]
    X = market.design.X[asked].toarray()
    before = X @ times(market, X.T)
    across = before[:, : len(OUT)]
    more = np.linalg.solve(np.diag(1 / weights) - across[: len(OUT)], across.T)
    expected = before + across @ more
    scale = np.sqrt(np.diag(expected))
    after = X @ times(left, X.T)
    assert np.abs((after - expected) / scale / scale[:, None]).max() < 1e-3
    assert np.abs((before - expected) / scale / scale[:, None]).max() > 1e-2


def times(market: MarketModel, vectors: Floats) -> Floats:
    return market.fitted.covariance_times(vectors)


def test_the_price_of_a_sale_that_is_left_out_is_in_nothing(
    market: MarketModel, left: MarketModel
) -> None:
    frame = market.frame.copy()
    frame.loc[OUT, "price"] *= 3.0
    again = without_sales(replace(market, frame=frame), OUT, weigh_anew=False)
    car = Car({"make": "Torvane", "model": "GT", "year": 1966.0})
    assert appraise(again, car) == appraise(left, car)


def told_otherwise(market: MarketModel, factor: float) -> MarketModel:
    """Return a market whose fit ended elsewhere, as with another price of the sales left out."""
    fitted, X = market.fitted, market.design.X
    toward = fitted.covariance_times(X[OUT].T.toarray()).sum(1)
    coef = fitted.coef + 0.3 * np.log(factor) * toward / np.abs(X @ toward).max()
    residuals = market.data.log_price - X @ coef
    residuals[OUT] += np.log(factor)
    sales = replace(fitted.sales, residuals=residuals)
    return replace(market, fitted=replace(fitted, coef=coef, sales=sales))


def test_weights_that_settle_anew_keep_no_trace_of_the_sales(market: MarketModel) -> None:
    X, weights = market.design.X, {}
    shown = {f: without_sales(told_otherwise(market, f), OUT) for f in (0.5, 1.0, 3.0)}
    for factor in (0.5, 3.0):
        before = X @ (told_otherwise(market, factor).fitted.coef - market.fitted.coef)
        assert np.abs(before).max() > 0.2
        after = X @ (shown[factor].fitted.coef - shown[1.0].fitted.coef)
        assert np.abs(after).max() < 1e-5
        for f in (factor, 1.0):
            weights[f] = shown[f].fitted.sales.trust
        assert weights[factor] == pytest.approx(weights[1.0], abs=1e-4)


def test_weights_that_settle_anew_are_those_of_the_residuals(market: MarketModel) -> None:
    left = without_sales(market, OUT)
    sales, fitted = left.fitted.sales, left.fitted
    weights = weights_of(sales.residuals, fitted.sigma**2, market.settings.robust_df)
    assert sales.trust == pytest.approx(np.minimum(weights, 1.0), abs=1e-4)
    everywhere = np.ones(len(market.frame))
    everywhere[keep(market)] = weights
    expected = solved(market, keep(market), everywhere)
    X = market.design.X
    assert X @ fitted.coef == pytest.approx(X @ expected, abs=1e-5)
    assert np.abs(X @ (expected - solved(market, keep(market)))).max() > 1e-4


def test_the_sales_are_gone_from_all_that_is_counted(
    market: MarketModel, left: MarketModel
) -> None:
    mask = keep(market)
    frame = market.frame[mask].reset_index(drop=True)
    assert left.frame.equals(frame)
    sales = left.fitted.sales
    for name in ("effects", "residuals", "honest", "trust", "line", "make", "version", "day"):
        assert len(getattr(sales, name)) == len(frame), name
    assert left.fitted.codes["chassis"].keys() == set(left.data.table.factors["chassis"].levels)
    afresh = typical_cars(left.fitted, left.data)
    typical = left.typical
    assert (typical.lines, typical.makes) == (afresh.lines, afresh.makes)
    assert typical.counts.tolist() == afresh.counts.tolist()
    assert typical.counts[0] == len(frame)
    assert typical.used.tolist() == afresh.used.tolist()
    assert abs(typical.rows - afresh.rows).max() < 1e-15
    assert np.array_equal(typical.low, afresh.low, equal_nan=True)
    counted = StatedValues({str(n): frame[n].to_numpy() for n in frame})
    mine, theirs = (v.counts("body", "Torvane") for v in (left.stated, counted))
    assert mine.of_all.tolist() == theirs.of_all.tolist()


def test_what_the_sales_bring_beyond_their_attributes_follows(
    market: MarketModel, left: MarketModel
) -> None:
    sales, mask = left.fitted.sales, keep(market)
    fitted_price = market.design.X[mask] @ left.fitted.coef
    assert sales.residuals == pytest.approx(market.data.log_price[mask] - fitted_price, abs=1e-9)
    assert sales.effects.sum(1) == pytest.approx(fitted_price, abs=1e-4)
    some = np.arange(60)
    leverage = (1 - sales.residuals / sales.honest)[some]
    old, fitted = market.fitted.sales, market.fitted
    weights = weights_of(old.residuals, fitted.sigma**2, market.settings.robust_df)[mask][some]
    X = market.design.X[mask][some].toarray()
    expected = weights * np.einsum("ij,ji->i", X, times(left, X.T))
    assert leverage == pytest.approx(np.clip(expected, 0, 0.95), abs=4e-3)


def test_a_line_of_which_no_sale_is_left_is_unknown(tiny_market: MarketModel) -> None:
    line = tiny_market.data.table.factors["line"]
    rows = np.flatnonzero(line.codes == 0)
    left = without_sales(tiny_market, rows)
    name = line.levels[0]
    assert name in tiny_market.typical.lines
    assert name not in left.typical.lines
    assert len(left.frame) == len(tiny_market.frame) - len(rows)


def test_without_nothing_it_is_the_same_market(tiny_market: MarketModel) -> None:
    assert without_sales(tiny_market, np.zeros(0, dtype=np.intp)) is tiny_market


def test_without_everything_there_is_none(tiny_market: MarketModel) -> None:
    with pytest.raises(ValueError, match=r"no sale would be left \(got: all 150\)"):
        without_sales(tiny_market, np.arange(len(tiny_market.frame)))
