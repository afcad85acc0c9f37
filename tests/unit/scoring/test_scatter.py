"""What the scatter of prices alone shows of vertical equity."""

from __future__ import annotations

import numpy as np
import pytest

from valuation.scoring.checks import ScoreInputError, ScoreUndefinedError
from valuation.scoring.equity import mki, prb, prd, vei
from valuation.scoring.scatter import Scatter, scatter_only


def fair(n: int, seed: int, tilt: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Return prices that scatter around estimates; with a tilt dear cars are valued low."""
    rng = np.random.default_rng(seed)
    value = np.exp(rng.normal(10.5, 0.5, n))
    price = value * np.exp(rng.normal(0.0, 0.25, n))
    return price, value * (value / np.exp(10.5)) ** -tilt


def test_fair_estimates_show_no_more_than_scatter() -> None:
    held = {"prd": 0, "prb": 0, "mki": 0, "vei": 0}
    for seed in range(40):
        price, estimate = fair(120, seed)
        found = scatter_only(price, estimate, seed=seed, deals=100)
        values = {
            "prd": prd(price, estimate),
            "prb": prb(price, estimate).value,
            "mki": mki(price, estimate),
            "vei": vei(price, estimate).value,
        }
        for name, value in values.items():
            spread = found.of(name)
            assert spread is not None
            held[name] += spread.holds(value)
    # 95 % of forty, less three standard errors and the coarseness of a hundred deals.
    assert min(held.values()) >= 33, held


def test_scatter_alone_fails_the_bands_and_tilted_estimates_show_more() -> None:
    price, estimate = fair(600, 3)
    found = scatter_only(price, estimate, seed=1)
    assert found.prd.middle > 1.03
    assert found.prb.middle < -0.05
    price, estimate = fair(600, 3, tilt=0.15)
    found = scatter_only(price, estimate, seed=1)
    assert prb(price, estimate).value < found.prb.lower
    assert prd(price, estimate) > found.prd.upper


def test_the_deals_are_those_of_the_seed() -> None:
    sales = fair(60, 2)
    first = scatter_only(*sales, seed=5, deals=100)
    assert first == scatter_only(*sales, seed=5, deals=100)
    assert first != scatter_only(*sales, seed=6, deals=100)
    assert first.deals == 100


def test_what_is_not_defined_is_not_said() -> None:
    found = scatter_only(*fair(12, 1), seed=1, deals=100)
    assert found.vei is None
    assert found.of("vei") is found.of("cod") is None
    assert found.of("prb") == found.prb
    with pytest.raises(ScoreUndefinedError, match=r"^scatter alone: this measure needs at least 5"):
        scatter_only([1.0] * 4, [1.0] * 4, seed=1)
    with pytest.raises(ScoreInputError, match=r"^scatter alone: percentiles need at least 100 d"):
        scatter_only([1.0] * 9, [1.0] * 9, seed=1, deals=9)


def test_a_deal_measures_what_the_measures_do() -> None:
    price, estimate = fair(60, 4)
    found = scatter_only(price, estimate, seed=9, deals=100)
    rng = np.random.default_rng(9)
    price, estimate = price[np.argsort(estimate)], np.sort(estimate)
    dealt = [estimate / rng.permutation(estimate / price) for _ in range(100)]
    slow = {
        "prd": [prd(p, estimate) for p in dealt],
        "prb": [prb(p, estimate).value for p in dealt],
        "mki": [mki(p, estimate) for p in dealt],
        "vei": [vei(p, estimate).value for p in dealt],
    }
    for name, values in slow.items():
        spread = found.of(name)
        assert spread is not None
        expected = np.quantile(values, [0.5, 0.025, 0.975])
        assert (spread.middle, spread.lower, spread.upper) == pytest.approx(tuple(expected))


def test_what_does_not_differ_can_t_be_dealt_out() -> None:
    with pytest.raises(ScoreUndefinedError, match=r"^scatter alone: all estimates are the same"):
        scatter_only([1.0, 2, 3, 4, 5], [2.0] * 5, seed=1)
    with pytest.raises(ScoreUndefinedError, match=r"^scatter alone: all ratios are the same"):
        scatter_only([1.0, 2, 3, 4, 5], [2.0, 4, 6, 8, 10], seed=1)


def test_ends_belong_to_a_scatter() -> None:
    assert Scatter(0.0, -1.0, 1.0).holds(1.0)
    assert not Scatter(0.0, -1.0, 1.0).holds(1.1)


@pytest.mark.parametrize(
    ("value", "below", "explained"),
    [(1.2, False, False), (0.9, False, True), (-5.0, False, True), (-1.2, True, False),
     (5.0, True, True)],
)  # fmt: skip
def test_scatter_explains_what_lies_no_further_off_to_its_side(
    value: float, below: bool, explained: bool
) -> None:
    assert Scatter(0.0, -1.0, 1.0).explains(value, below=below) is explained
