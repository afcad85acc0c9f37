"""The correction for winning, held against auctions among bidders of equal skill."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest

from valuation.bidding.costs import Winning
from valuation.bidding.winning import correction, expected_largest

D = Decimal


@pytest.mark.parametrize(
    # Tabulated expected values of the largest normal order statistic (Harter 1961).
    ("n", "tabulated"),
    [(2, 0.56419), (3, 0.84628), (4, 1.02938), (5, 1.16296), (10, 1.53875), (20, 1.86748)],
)
def test_largest_of_several_as_tabulated(n: int, tabulated: float) -> None:
    assert expected_largest(n) == pytest.approx(tabulated, abs=5e-6)


@pytest.mark.parametrize("rivals", [1, 3, 6])
def test_won_lots_bring_what_the_corrected_estimate_says(rivals: int) -> None:
    rng = np.random.default_rng(31 + rivals)
    lots, luck, own = 40_000, 0.20, 0.15
    spread = float(np.hypot(luck, own))
    worth = rng.normal(10.5, 0.5, lots)
    estimates = worth + rng.normal(0.0, own, (rivals + 1, lots))
    brought = worth + rng.normal(0.0, luck, lots)
    won = estimates.argmax(0) == 0
    found = correction(Winning(rivals, D(str(round(own / spread, 6)))), spread)
    naive = float(np.mean(brought[won] - estimates[0, won]))
    corrected = float(np.mean(brought[won] - estimates[0, won] - found.log))
    error = float(np.std(brought[won] - estimates[0, won]) / np.sqrt(won.sum()))
    assert naive < -8 * error
    assert abs(corrected) < 3 * error


def test_a_record_counts_as_far_as_it_reaches() -> None:
    assumed = Winning(2, D("0.4"))
    short = Winning(2, D("0.4"), record=((D(50_000), D(45_000)),))
    long = Winning(2, D("0.4"), record=((D(50_000), D(45_000)),) * 180)
    first, few, many = (correction(w, 0.25).log for w in (assumed, short, long))
    assert first == pytest.approx(-0.4 * 0.25 * 0.846284, abs=1e-6)
    assert few == pytest.approx((np.log(0.9) + 20 * first) / 21)
    assert many == pytest.approx(0.9 * np.log(0.9) + 0.1 * first)
    assert "180 purchases on record brought -10.0%" in correction(long, 0.25).source


def test_a_lucky_record_never_raises_a_bid() -> None:
    lucky = Winning(1, D(0), record=((D(100), D(150)),) * 50)
    assert correction(lucky, 0.2).log == 0.0


def test_a_stated_per_cent_counts_as_stated() -> None:
    assert correction(Winning(5, D("0.5"), D(4)), 0.3).percent == pytest.approx(-4.0)
    assert correction(Winning(), 0.3).log == 0.0
