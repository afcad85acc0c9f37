"""Rules on forecasts made by hand: what publishes, what warns, what keeps the old model."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.refresh.measures import Measure, coverage, judged, log_errors, paired, surely_further
from valuation.refresh.rules import Weighing, decide
from valuation.refresh.settings import default_month_settings
from valuation.results.decision import RuleCheck

RULES = default_month_settings().rules
MONTHS = [f"2024-{m:02d}" for m in range(1, 13)]


def forecasts(
    *, seed: int = 1, noise: float = 0.15, lean: float = 0.0, last: float = 0.0, sales: int = 360
) -> pd.DataFrame:
    """Return forecasts that miss by noise, lean to one side, and in the last month by `last`."""
    rng = np.random.default_rng(7)  # the sales are the same for every model
    price = np.exp(rng.normal(10.2, 0.6, sales))
    month = np.repeat(MONTHS, -(-sales // 12))[:sales]
    miss = np.random.default_rng(seed).normal(0, noise, sales) + lean
    central = price * np.exp(miss + np.where(month == MONTHS[-1], last, 0.0))
    half = 1.2816 * 0.15
    return pd.DataFrame(
        {
            "sale_key": [f"a:{i}" for i in range(sales)],
            "month": month,
            "make": rng.choice(["Torvane", "Ystrix", "Quorrel"], sales),
            "outcome": "sold",
            "basis": "hammer price",
            "price": price,
            "central": central,
            "lower": central * np.exp(-half),
            "upper": central * np.exp(half),
        }
    )


def weighing(own: pd.DataFrame, in_use: pd.DataFrame | None = None, **changes: object) -> Weighing:
    made = Weighing(
        own=own,
        in_use=own.iloc[:0] if in_use is None else in_use,
        candidate="2024-12-31-new",
        version="" if in_use is None else "2024-11-30-old",
        as_of=date(2024, 12, 31),
        new_sales=40,
        unseen_sales=2,
        panel=(0.01, -0.02, 0.0),
    )
    return replace(made, **changes)


def found(w: Weighing) -> tuple[bool, Mapping[str, RuleCheck]]:
    decision = decide(w, RULES, seed=1)
    return decision.publish, {c.rule: c for c in decision.checks}


def test_a_first_model_that_is_right_is_published() -> None:
    publish, checks = found(weighing(forecasts()))
    assert publish
    assert checks["new sales"].why == "This is the first model."
    assert checks["error against the model in use"].weighed == "not tested"
    assert {c.weighed for c in checks.values()} <= {"holds", "not tested"}


def test_a_first_model_that_is_far_off_is_refused() -> None:
    publish, checks = found(weighing(forecasts(lean=np.log(1.4))))
    assert not publish
    check = checks["median estimate over price"]
    assert check.weighed == "refuses"
    assert check.limit == "0.950 to 1.050"
    assert "there is nothing to compare it with" in check.why


def test_as_good_as_the_one_in_use_is_published() -> None:
    publish, checks = found(weighing(forecasts(seed=1), forecasts(seed=2)))
    assert publish
    assert checks["error against the model in use"].weighed == "holds"


def test_worse_than_the_one_in_use_is_refused_with_the_figures() -> None:
    decision = decide(weighing(forecasts(noise=0.25), forecasts(noise=0.15)), RULES, seed=1)
    assert not decision.publish
    assert decision.sentence == "Not published: 2024-11-30-old stays in use."
    reason = next(r for r in decision.reasons if r.startswith("On 360 sales"))
    assert "points larger (+" in reason


def test_better_than_the_one_in_use_is_published() -> None:
    publish, checks = found(weighing(forecasts(noise=0.15), forecasts(noise=0.25)))
    assert publish
    assert "points smaller" in checks["error against the model in use"].why


def test_when_both_miss_the_last_month_the_newer_is_published_with_a_warning() -> None:
    own, old = forecasts(seed=1, last=-0.15), forecasts(seed=2, last=-0.17)
    decision = decide(weighing(own, old, panel=(0.16, 0.15, 0.17)), RULES, seed=1)
    checks = {c.rule: c for c in decision.checks}
    assert decision.publish
    assert checks["the market's level in the last month"].weighed == "warns"
    assert "The market rose in 2024-12" in checks["the market's level in the last month"].why
    assert checks["change of the panel"].weighed == "warns"
    assert decision.sentence == (
        "Published as 2024-12-31-new in place of 2024-11-30-old, with 2 warnings."
    )
    assert len(decision.reasons) == 2


def test_a_candidate_alone_in_missing_the_last_month_has_not_seen_the_market_move() -> None:
    own, old = forecasts(seed=1, last=-0.15), forecasts(seed=2)
    _, checks = found(weighing(own, old))
    assert checks["the market's level in the last month"].weighed == "holds"


def test_ranges_that_both_break_do_not_keep_the_old_one() -> None:
    own, old = forecasts(seed=1, noise=0.24), forecasts(seed=2, noise=0.25)
    publish, checks = found(weighing(own, old))
    assert publish
    assert checks["ranges that held"].weighed == "warns"
    assert (
        "the model in use does no better on the same sales than chance explains"
        in checks["ranges that held"].why
    )


def test_a_bias_that_both_share_does_not_keep_the_old_one() -> None:
    """Both lean by value, the candidate a shade more: that is chance."""
    own, old = forecasts(seed=1), forecasts(seed=2)
    by_value = (own["price"] / own["price"].median()) ** -0.2
    own = own.assign(central=own["central"] * by_value * 1.001)
    old = old.assign(central=old["central"] * by_value)
    publish, checks = found(weighing(own, old))
    assert checks["price-related bias (PRB)"].weighed == "warns"
    assert publish


def test_a_shade_worse_among_thousands_is_no_reason_to_keep_the_old_one() -> None:
    frame = forecasts(seed=2, sales=6000)
    by_value = (frame["price"] / frame["price"].median()) ** -0.2
    old = frame.assign(central=frame["central"] * by_value)
    own = frame.assign(central=frame["central"] * by_value**1.04)
    span = RULES.prb
    drawn = {"seed": 1, "replications": 200}
    assert not surely_further(own, old, "prb", span, **drawn)
    much = frame.assign(central=frame["central"] * by_value**1.5)
    assert surely_further(much, old, "prb", span, **drawn)


def test_a_bias_that_only_the_candidate_has_refuses_it() -> None:
    own, old = forecasts(seed=1), forecasts(seed=2)
    own = own.assign(central=own["central"] * (own["price"] / own["price"].median()) ** -0.2)
    publish, checks = found(weighing(own, old))
    assert checks["price-related bias (PRB)"].weighed == "refuses"
    assert not publish


def test_ranges_that_only_the_candidate_breaks_refuse_it() -> None:
    own, old = forecasts(seed=1), forecasts(seed=2)
    centre = own["central"]
    own = own.assign(lower=centre * 0.97, upper=centre * 1.03)
    publish, checks = found(weighing(own, old))
    assert not publish
    assert checks["ranges that held"].weighed == "refuses"
    assert "does better on the same sales" in checks["ranges that held"].why


@pytest.mark.parametrize(
    ("changes", "weighed", "said"),
    [
        ({"new_sales": 0, "unseen_sales": 0}, "refuses", "No sale came since 2024-11-30-old."),
        ({"new_sales": 3}, "refuses", "Only 3 sales came since 2024-11-30-old."),
        ({"new_sales": 0, "changed": True}, "warns", "were taken out or mended"),
        ({"new_sales": 10}, "holds", "10 sales came since"),
    ],
)
def test_new_sales(changes: dict[str, object], weighed: str, said: str) -> None:
    publish, checks = found(weighing(forecasts(seed=1), forecasts(seed=2), **changes))
    assert checks["new sales"].weighed == weighed
    assert said in checks["new sales"].why
    assert publish == (weighed != "refuses")


def test_many_unseen_model_lines_warn() -> None:
    w = weighing(forecasts(seed=1), forecasts(seed=2), new_sales=40, unseen_sales=20)
    publish, checks = found(w)
    assert publish
    assert checks["unseen model lines"].weighed == "warns"
    assert checks["unseen model lines"].found == "50% of the new sales"


def test_a_panel_that_jumps_without_the_market_is_refused() -> None:
    w = weighing(forecasts(seed=1), forecasts(seed=2), panel=(0.6, 0.7, 0.65))
    publish, checks = found(w)
    assert not publish
    assert "look for a file in the wrong amounts" in checks["change of the panel"].why


def test_a_panel_that_jumped_months_ago_warns_where_later_prices_bear_it_out() -> None:
    old = forecasts(seed=2, lean=0.25)
    publish, checks = found(weighing(forecasts(seed=1), old, panel=(-0.22, -0.2, -0.24)))
    assert publish
    assert checks["the market's level in the last month"].weighed == "holds"
    assert checks["change of the panel"].weighed == "warns"
    assert "surely closer to later prices" in checks["change of the panel"].why


def test_few_sales_are_no_study() -> None:
    publish, checks = found(weighing(forecasts(sales=20)))
    assert publish
    assert checks["the study"].weighed == "warns"
    assert "Only 20 sales" in checks["the study"].why


def test_bids_and_asking_prices_are_not_judged() -> None:
    frame = forecasts()
    frame.loc[:99, "outcome"] = "not sold"
    frame.loc[100:119, "outcome"] = "offered"
    assert len(judged(frame)) == 240
    assert len(judged(frame.assign(outcome="offered"))) == 360


def test_the_same_weighing_gives_the_same_decision() -> None:
    w = weighing(forecasts(seed=1), forecasts(seed=2))
    assert decide(w, RULES, seed=3).to_dict() == decide(w, RULES, seed=3).to_dict()


def test_a_decision_reads_as_text() -> None:
    text = decide(weighing(forecasts(seed=1), forecasts(seed=2)), RULES, seed=1).summary()
    assert text.startswith("Published as 2024-12-31-new in place of 2024-11-30-old.")
    assert "new sales" in text
    assert "(allowed: up to 0.5 points worse)" in text


def test_coverage_of_forecasts_that_miss_by_their_own_noise() -> None:
    held = coverage(forecasts(seed=2))
    assert held is not None
    assert held.low < 80 < held.high


@settings(max_examples=30)
@given(st.integers(2, 60), st.integers(0, 1000))
def test_a_model_is_no_worse_than_itself(sales: int, seed: int) -> None:
    frame = forecasts(sales=sales)
    assert paired(frame, frame, seed=seed, replications=50) == Measure(0.0, 0.0, 0.0)


@settings(max_examples=30)
@given(st.integers(3, 80), st.integers(0, 100))
def test_exchanging_the_models_changes_the_sign(sales: int, seed: int) -> None:
    one, two = forecasts(seed=1, sales=sales), forecasts(seed=2, sales=sales)
    there = paired(one, two, seed=seed, replications=50)
    back = paired(two, one, seed=seed, replications=50)
    assert there.value == pytest.approx(-back.value)
    assert there.low == pytest.approx(-back.high)


def test_no_wild_price_decides() -> None:
    one = forecasts(seed=1)
    wild = one.assign(price=one["price"].where(one.index != 0, 1e9))
    assert abs(log_errors(wild)[0]) > 5
    assert abs(paired(wild, one, seed=1, replications=50).value) < 100 / len(one)
