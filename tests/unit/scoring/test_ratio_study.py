"""The whole study: bands, notes, trimming, plain form."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from valuation.scoring.checks import ScoreInputError, ScoreUndefinedError
from valuation.scoring.equity import Vei, prd, prd_interval
from valuation.scoring.ratio_study import BANDS, RatioStudy, ratio_study


def market(n: int, noise: float = 0.15, seed: int = 3) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    price = np.exp(rng.normal(10.5, 0.6, n))
    return price, price * np.exp(rng.normal(0.0, noise, n))


def study(n: int = 120, noise: float = 0.15) -> RatioStudy:
    return ratio_study(*market(n, noise), seed=1, replications=100)


@pytest.mark.parametrize(
    ("name", "value", "verdict"),
    [
        ("median_ratio", 0.90, "inside"),
        ("median_ratio", 1.11, "outside"),
        ("cod", 5.0, "inside"),
        ("cod", 4.9, "suspect"),
        ("cod", 15.1, "outside"),
        ("prd", 0.98, "inside"),
        ("prd", 1.031, "outside"),
        ("prb", -0.05, "inside"),
        ("prb", -0.08, "outside"),
        ("prb", 0.11, "far outside"),
        ("mki", 0.93, "outside"),
        ("mki", 0.89, "far outside"),
        ("vei", -10.0, "inside"),
        ("vei", 10.1, "outside"),
    ],
)
def test_bands(name: str, value: float, verdict: str) -> None:
    assert BANDS[name].verdict(value) == verdict


def test_fair_estimates_lie_inside_all_bands() -> None:
    found = study()
    assert set(found.verdicts().values()) == {"inside"}
    assert set(found.verdicts()) == set(BANDS)
    assert found.notes == ()


def test_too_good_is_suspect() -> None:
    assert study(noise=0.02).verdicts()["cod"] == "suspect"


@pytest.mark.parametrize(("gap", "verdict"), [(9.9, "inside"), (10.1, "outside")])
def test_a_vei_beyond_its_band_needs_a_gap_to_count(gap: float, verdict: str) -> None:
    found = study()
    assert found.vei is not None
    wide = replace(found, vei=Vei(-25.0, gap, found.vei.groups))
    assert wide.verdicts()["vei"] == verdict


def test_one_sale_says_why_measures_are_missing() -> None:
    found = ratio_study([100], [90], seed=1)
    assert (found.sales, found.median_ratio, found.cod, found.prd) == (1, 0.9, 0.0, 1.0)
    assert found.median_interval is found.cod_interval is found.cov is None
    assert found.prd_interval is None
    assert found.prb is found.mki is found.vei is found.chasing is None
    assert [n.partition(":")[0] for n in found.notes] == [
        "outliers",
        "median interval",
        "COD interval",
        "coefficient of variation",
        "PRD interval",
        "price-related bias",
        "modified Kakwani index",
        "vertical equity indicator",
        "sales chasing",
    ]
    assert set(found.verdicts()) == {"median_ratio", "cod", "prd"}


def test_outliers_are_counted_and_left_out_only_when_asked() -> None:
    price, estimate = market(60)
    estimate[:2] *= 20
    kept = ratio_study(price, estimate, seed=1, replications=100)
    cut = ratio_study(price, estimate, seed=1, replications=100, trim_outliers=True)
    assert (kept.sales, kept.outliers, kept.trimmed) == (60, 2, 0)
    assert (cut.sales, cut.outliers, cut.trimmed) == (58, 2, 2)
    assert cut.notes == ("2 outlying sales were left out of all measures.",)
    plain = ratio_study(price[2:], estimate[2:], seed=1, replications=100)
    assert replace(cut, outliers=0, trimmed=0, notes=()) == plain


def test_few_sales_make_outliers_shaky() -> None:
    price, estimate = market(20)
    estimate[0] *= 20
    notes = ratio_study(price, estimate, seed=1, replications=100).notes
    assert "Outliers among 20 sales are shaky: quartiles need thirty or more." in notes


def test_plain_form_turns_into_json() -> None:
    found = study()
    plain = json.loads(json.dumps(found.to_dict(), allow_nan=False))
    assert plain["prb"]["interval"]["level"] == 0.95
    assert plain["vei"]["groups"][0]["sales"] == found.vei.groups[0].sales
    assert plain["verdicts"] == found.verdicts()
    assert plain["notes"] == []


def test_interval_of_the_prd_holds_its_value_and_is_that_of_a_loop() -> None:
    price, estimate = market(60)
    span = prd_interval(price, estimate, seed=4, level=0.9, replications=300)
    rng = np.random.default_rng(4)
    draws = [rng.integers(60, size=60) for _ in range(300)]
    slow = np.quantile([prd(price[d], estimate[d]) for d in draws], [0.05, 0.95])
    assert (span.lower, span.upper) == pytest.approx(tuple(slow), rel=1e-12)
    assert span.lower < prd(price, estimate) < span.upper
    with pytest.raises(ScoreUndefinedError, match=r"^PRD interval: this measure needs at least 5"):
        prd_interval(price[:4], estimate[:4], seed=4)


def test_interval_of_the_prd_covers_the_prd_of_the_market() -> None:
    truth = prd(*market(400_000))
    held = 0
    for seed in range(100):
        span = prd_interval(*market(80, seed=seed), seed=seed, replications=200)
        held += span.lower <= truth <= span.upper
    assert 88 <= held <= 99


def test_same_seed_same_study() -> None:
    assert study() == study()


def test_wrong_input_is_not_hidden_as_a_note() -> None:
    with pytest.raises(ScoreInputError, match=r"^ratio study: each price must be a finite"):
        ratio_study([0.0], [1.0], seed=1)
    with pytest.raises(ScoreInputError, match=r"^COD interval: percentiles need at least 100"):
        ratio_study([1.0] * 9, [1.0] * 9, seed=1, replications=3)
