"""The regression as an estimator: rules of the library, robustness, bounds, assumptions."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest
from scipy import sparse
from sklearn.base import clone
from sklearn.exceptions import NotFittedError
from sklearn.utils.estimator_checks import parametrize_with_checks

from valuation.models.hedonic import HedonicRegressor
from valuation.models.layout import Layout, plain_layout

Data = tuple[np.ndarray, np.ndarray]


@parametrize_with_checks([HedonicRegressor(), HedonicRegressor(robust_df=None)])
def test_rules_of_the_library(estimator: Any, check: Any) -> None:
    check(estimator)


def draw(n: int = 120, *, seed: int = 1, noise: float = 0.2) -> Data:
    rng = np.random.default_rng(seed)
    X = np.column_stack([np.ones(n), rng.normal(size=(n, 2))])
    return X, X @ [10.0, 0.3, -0.2] + rng.normal(0, noise, n)


def free(**options: Any) -> HedonicRegressor:
    return HedonicRegressor(plain_layout(2, penalty="free"), **options)


def test_an_unfitted_model_does_not_predict() -> None:
    with pytest.raises(NotFittedError):
        free().predict(np.ones((2, 3)))


def test_a_layout_of_another_width_is_refused() -> None:
    X, y = draw()
    text = (
        "HedonicRegressor: the layout doesn't fit X (got: 2 columns, layout has 3). "
        "Build both from one feature table."
    )
    with pytest.raises(ValueError, match=re.escape(text)):
        free().fit(X[:, :2], y)


def test_dense_and_sparse_say_the_same() -> None:
    X, y = draw()
    dense, thin = free().fit(X, y), free().fit(sparse.csr_array(X), y)
    assert dense.coef_.tobytes() == thin.coef_.tobytes()
    np.testing.assert_allclose(thin.predict(sparse.csr_array(X)), dense.predict(X), rtol=1e-14)


def test_the_same_rows_give_the_same_bytes() -> None:
    X, y = draw()
    first, second = HedonicRegressor().fit(X[:, 1:], y), HedonicRegressor().fit(X[:, 1:], y)
    for name in ("coef_", "penalties_", "weights_", "leverage_"):
        assert getattr(first, name).tobytes() == getattr(second, name).tobytes()


def test_settings_are_only_stored() -> None:
    layout = plain_layout(2)
    model = HedonicRegressor(layout, robust_df=7.0, tol=0.01)
    assert model.layout is layout
    assert clone(model).get_params()["robust_df"] == 7.0
    assert not [name for name in vars(model) if name.endswith("_")]


def test_a_row_of_weight_zero_was_never_there() -> None:
    X, y = draw()
    weights = np.ones(len(y))
    weights[:10] = 0.0
    spoiled = np.where(weights > 0, y, 99.0)
    found = free().fit(X, spoiled, sample_weight=weights)
    alone = free().fit(X[10:], y[10:])
    assert found.coef_.tobytes() == alone.coef_.tobytes()


# Robustness


def test_a_gross_outlier_hardly_moves_a_robust_fit() -> None:
    X, y = draw()
    spoiled = y.copy()
    spoiled[5] += 5.0
    moved = {}
    for df in (4.0, None):
        before, after = free(robust_df=df).fit(X, y), free(robust_df=df).fit(X, spoiled)
        moved[df] = np.abs(after.predict(X) - before.predict(X)).max()
    assert moved[None] > 0.05
    assert moved[4.0] < 0.1 * moved[None]


def test_weights_of_student_noise() -> None:
    X, y = draw()
    y[7] += 3.0
    frequency = np.tile([1.0, 2.0, 3.0], 40)
    model = free(tol=1e-9, max_iter=2000).fit(X, y, sample_weight=frequency)
    z = model.residuals_ / model.sigma_
    np.testing.assert_allclose(model.weights_, frequency * 5.0 / (4.0 + z**2), rtol=1e-5)
    assert np.argmin(model.weights_ / frequency) == 7


def test_weights_of_normal_noise_are_the_frequencies() -> None:
    X, y = draw()
    frequency = np.tile([1.0, 2.0, 3.0], 40)
    model = free(robust_df=None).fit(X, y, sample_weight=frequency)
    assert model.weights_.tolist() == frequency.tolist()


def test_heavy_tails_cost_less_with_a_robust_fit() -> None:
    errors: dict[float | None, list[float]] = {4.0: [], None: []}
    for seed in range(30):
        rng = np.random.default_rng(seed)
        X = np.column_stack([np.ones(80), rng.normal(size=(80, 2))])
        y = X @ [10.0, 0.3, -0.2] + 0.2 * rng.standard_t(2.0, 80)
        for df, kept in errors.items():
            kept.append(float(np.abs(free(robust_df=df).fit(X, y).coef_ - [10, 0.3, -0.2]).sum()))
    assert np.mean(errors[4.0]) < 0.9 * np.mean(errors[None])


# Bounds


def test_bounds_recover_what_values_would_miss() -> None:
    """Bids below a reserve known to be under the price: treated as prices they pull it down."""
    rng = np.random.default_rng(3)
    price = 10.0 + rng.normal(0, 0.4, 600)
    reserve = 10.2 + rng.normal(0, 0.3, 600)
    bound = price > reserve
    y = np.minimum(price, reserve)
    one = np.ones((600, 1))
    layout = plain_layout(0)
    as_values = HedonicRegressor(layout, robust_df=None).fit(one, y).coef_[0]
    as_bounds = HedonicRegressor(layout, robust_df=None, tol=1e-3).fit(one, y, bound=bound).coef_[0]
    assert 0.2 < bound.mean() < 0.5
    assert as_values < 9.93
    assert as_bounds == pytest.approx(10.0, abs=0.04)


def test_no_bound_among_the_rows_changes_nothing() -> None:
    X, y = draw()
    none = np.zeros(len(y), dtype=bool)
    assert free().fit(X, y, bound=none).coef_.tobytes() == free().fit(X, y).coef_.tobytes()


def test_a_bound_below_every_price_tells_nothing() -> None:
    X, y = draw()
    bound = np.zeros(len(y), dtype=bool)
    bound[:20] = True
    low = np.where(bound, y - 40.0, y)
    found = free(robust_df=None, tol=1e-8, max_iter=1000).fit(X, low, bound=bound)
    alone = free(robust_df=None, tol=1e-8).fit(X[20:], y[20:])
    np.testing.assert_allclose(found.coef_, alone.coef_, atol=1e-4)


# Assumptions


def assumed_layout(mean: float, sd: float) -> Layout:
    """Describe a free level and slope, and one assumed effect."""
    return Layout(
        ("fixed", "assumed"),
        ("free", "assumed"),
        np.array([0, 0, 1]),
        np.full(3, -1),
        np.array([0.0, 0.0, mean]),
        np.array([np.inf, np.inf, sd]),
    )


def assumed_fit(n: int, *, truth: float, df: float | None = 4.0) -> tuple[float, float, float]:
    """Fit with `n` of 400 rows stating the attribute: effect, its variance, share of evidence."""
    rng = np.random.default_rng(n)
    X = np.column_stack([np.ones(400), rng.normal(size=400), np.arange(400) < n])
    y = X @ [10.0, 0.3, truth] + rng.normal(0, 0.2, 400)
    model = HedonicRegressor(assumed_layout(0.12, 0.08), robust_df=df, tol=1e-6).fit(X, y)
    V = model.posterior_.covariance(-1, np.array([2]), np.zeros(0, dtype=np.intp))
    variance = float(V[0, 0]) * model.sigma_**2
    return float(model.coef_[2]), variance, 1.0 - variance / 0.08**2


@pytest.mark.parametrize("df", [4.0, None])
def test_without_evidence_the_assumption_stands(df: float | None) -> None:
    effect, variance, _ = assumed_fit(0, truth=0.5, df=df)
    assert effect == pytest.approx(0.12, abs=1e-12)
    assert variance == pytest.approx(0.08**2, rel=1e-5)


def test_with_much_evidence_the_truth_wins() -> None:
    effect, variance, share = assumed_fit(200, truth=0.5)
    assert effect == pytest.approx(0.5, abs=0.06)
    assert variance < 0.1 * 0.08**2
    assert share > 0.9


def test_the_share_of_evidence_grows_with_the_sales() -> None:
    shares = [assumed_fit(n, truth=0.3)[2] for n in (0, 1, 3, 10, 30, 100, 200)]
    assert shares[0] == pytest.approx(0.0, abs=1e-5)
    assert shares == sorted(shares)
    assert shares[-1] - shares[1] > 0.5


def test_the_effect_lies_between_assumption_and_evidence() -> None:
    for n in (2, 8, 40):
        assert 0.1 < assumed_fit(n, truth=0.6)[0] < 0.7


# Penalties


def test_a_block_that_carries_nothing_is_dropped() -> None:
    rng = np.random.default_rng(2)
    X = np.column_stack([np.ones(300), rng.normal(size=(300, 12))])
    y = 10.0 + X[:, 1:7] @ np.full(6, 0.4) + rng.normal(0, 0.3, 300)
    y -= X[:, 7:] @ np.linalg.lstsq(X, y)[0][7:]  # nothing is left for the second block to explain
    layout = Layout(
        ("level", "real", "idle"),
        ("free", "estimated", "estimated"),
        np.repeat([0, 1, 2], [1, 6, 6]),
        np.full(13, -1),
        np.zeros(13),
        np.full(13, np.inf),
    )
    model = HedonicRegressor(layout).fit(X, y)
    assert model.edf_[1] > 5.5
    assert model.edf_[2] < 0.1
    assert np.abs(model.coef_[7:]).max() < 1e-3


def test_kept_penalties_are_kept() -> None:
    X, y = draw()
    kept = np.array([0.0, 4.5])
    model = HedonicRegressor(plain_layout(2), penalties=kept, keep_penalties=True).fit(X, y)
    assert model.penalties_.tolist() == [0.0, 4.5]
    assert kept.tolist() == [0.0, 4.5]
    free_running = HedonicRegressor(plain_layout(2), penalties=kept).fit(X, y)
    assert free_running.penalties_[1] != 4.5


def test_keeping_the_penalties_of_a_fit_gives_that_fit_again() -> None:
    X, y = draw()
    first = HedonicRegressor(plain_layout(2), tol=1e-6, max_iter=500).fit(X, y)
    again = HedonicRegressor(
        plain_layout(2), penalties=first.penalties_, keep_penalties=True, tol=1e-6, max_iter=500
    ).fit(X, y)
    np.testing.assert_allclose(again.coef_, first.coef_, atol=1e-5)
    np.testing.assert_allclose(again.leverage_, first.leverage_, rtol=1e-3)
