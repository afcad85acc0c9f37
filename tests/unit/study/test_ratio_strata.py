"""Ratio study of forecasts, stratum by stratum."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest
import ratios
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.errors import TooFewSalesError
from valuation.results.ratio_parts import Stratum
from valuation.results.ratio_strata import RatioReport
from valuation.scoring.checks import ScoreInputError
from valuation.scoring.ratio_study import ratio_study
from valuation.study.ratio_strata import study_ratios

NEEDED = ["price", "central"]


def studied(frame: pd.DataFrame, **changes: Any) -> RatioReport:
    return study_ratios(frame, **{"seed": 1, "replications": 100, **changes})


def strata(report: RatioReport, by: str) -> dict[str, Stratum]:
    kind = report.kind(by)
    assert kind is not None, by
    return {s.name: s for s in kind.strata}


def measures(stratum: Stratum) -> dict[str, float]:
    return {m.name: m.value for m in stratum.measures}


def test_all_sales_are_measured_as_the_ratio_study_does() -> None:
    frame = ratios.forecasts()
    report = studied(frame)
    sold = frame[frame["outcome"] == "sold"].sort_values(NEEDED)
    plain = ratio_study(sold["price"], sold["central"], seed=1, replications=100)
    assert report.overall.study == plain
    assert report.overall.tested == len(sold)
    assert set(measures(report.overall)) == {"median_ratio", "cod", "prd", "prb", "mki", "vei"}
    assert {m.name: m.verdict for m in report.overall.measures} == plain.verdicts()


def test_a_stratum_is_measured_on_its_own_sales() -> None:
    frame = ratios.forecasts()
    torvane = strata(studied(frame), "make")["Torvane"]
    part = frame[(frame["outcome"] == "sold") & (frame["make"] == "Torvane")]
    part = part.sort_values(NEEDED)
    assert torvane.study == ratio_study(part["price"], part["central"], seed=1, replications=100)
    ratio = part["central"] / part["price"]
    assert torvane.within_10_pct == pytest.approx(100 * (abs(ratio - 1) <= 0.1).mean())
    assert torvane.within_20_pct == pytest.approx(100 * (abs(ratio - 1) <= 0.2).mean())
    assert torvane.priced == part["lower"].notna().sum()
    inside = (part["lower"] <= part["price"]) & (part["price"] <= part["upper"])
    held = torvane.at(80)
    assert held is not None
    assert held.held_pct == pytest.approx(100 * inside[part["lower"].notna()].mean())
    assert [h.level for h in torvane.held] == [80, 50, 95]


def test_the_make_whose_estimates_lie_low_is_found_and_no_other() -> None:
    report = studied(ratios.forecasts())
    low = [s.name for s in strata(report, "make").values() if _proven(s, "median_ratio")]
    assert low == ["Kora"]
    assert any(
        said.startswith("By make: estimates lie too low for Kora (Median ratio 0.7")
        and said.endswith("Bids that rest on them lose cars worth having, and asking prices give "
                          "money away.")
        for said in report.findings
    )  # fmt: skip


def _proven(stratum: Stratum, name: str) -> bool:
    measure = stratum.measure(name)
    return measure is not None and measure.proven


def test_estimates_that_are_fair_are_rarely_called_unfair() -> None:
    called = 0
    for seed in range(6):
        frame = ratios.forecasts(300, seed=seed)
        frame = frame[frame["make"] != "Kora"]
        report = studied(frame)
        proven = [m.name for s in report.failing for m in s.measures if m.proven]
        called += any(name in ("median_ratio", "prd", "prb", "vei") for name in proven)
    # Eight kinds and four measures, each kind and measure at 5 %, and less for what is discrete.
    assert called <= 2


def test_dear_cars_that_are_estimated_low_are_found() -> None:
    report = studied(ratios.forecasts(tilt=0.2))
    assert _proven(report.overall, "prb")
    assert any(
        said.startswith("Dear cars are estimated too low beside cheap ones (PR")
        for said in report.findings
    )


def test_bands_of_value_measure_level_and_scatter_alone() -> None:
    for stratum in strata(studied(ratios.forecasts()), "value").values():
        assert set(measures(stratum)) == {"median_ratio", "cod"}


def test_refused_bids_and_asking_prices_are_kept_apart_and_counted() -> None:
    frame = ratios.forecasts()
    frame.loc[frame.index[frame["outcome"] == "sold"][:3], "basis"] = "asking price"
    report = studied(frame)
    refused, asked = report.apart
    assert refused.what.startswith("not sold: the amount is the highest bid")
    assert refused.rows == (frame["outcome"] == "not sold").sum()
    assert asked.what.startswith("offered: the amount was asked")
    assert asked.rows == (frame["outcome"] == "offered").sum() + 3
    assert report.overall.tested + refused.rows + asked.rows == report.rows == len(frame)
    bids = frame[frame["outcome"] == "not sold"]
    assert refused.median_ratio == pytest.approx((bids["central"] / bids["price"]).median())


def test_what_is_not_known_to_be_no_sale_counts_and_is_told() -> None:
    report = studied(ratios.forecasts()[[*NEEDED]])
    assert report.overall.tested == 400
    assert report.notes[0] == (
        "Of 400 rows it is not stated whether they were sold; they count as sales."
    )


def test_a_sale_without_an_estimate_counts_in_the_share_priced() -> None:
    frame = ratios.forecasts()
    sold = frame.index[(frame["outcome"] == "sold") & ~frame["outside"]][:10]
    blank = frame.copy()
    blank.loc[sold, ["central", *[c for c in frame if c.startswith(("lower", "upper"))]]] = np.nan
    before, after = studied(frame), studied(blank)
    assert after.overall.tested == before.overall.tested
    assert after.overall.priced == before.overall.priced - 10
    assert after.overall.study is not None
    assert after.overall.study.sales == before.overall.tested - 10
    assert "10 sales have no estimate; they count in the share given a range." in after.notes


def test_outlying_sales_are_counted_named_and_shown_with_and_without() -> None:
    report = studied(ratios.with_outliers())
    assert report.overall.study is not None
    assert report.overall.study.outliers == len(report.outliers) == 2
    assert report.trimmed is not None
    assert report.trimmed.tested == report.overall.tested - 2
    assert measures(report.trimmed)["cod"] < measures(report.overall)["cod"]
    sizes = [abs(np.log(sale.ratio)) for sale in report.outliers]
    assert sizes == sorted(sizes, reverse=True)
    assert studied(ratios.forecasts()).trimmed is None


def test_no_estimate_at_all_is_said_without_numbers() -> None:
    frame = ratios.forecasts(30)
    report = studied(frame.assign(central=np.nan))
    assert report.overall.study is None
    assert report.overall.measures == ()
    assert report.scatter is None
    assert "nan" not in json.dumps(report.to_dict(), allow_nan=False)


def test_estimates_set_to_the_price_are_suspected() -> None:
    frame = ratios.forecasts()
    frame.loc[::3, "central"] = frame.loc[::3, "price"]
    assert studied(frame).chasing.startswith(
        "Estimates look as if they had been set to the prices after the sale: "
    )


def test_a_further_column_groups_too() -> None:
    frame = ratios.forecasts().assign(colour=lambda f: np.where(f.index % 2, "red", "blue"))
    assert list(strata(studied(frame, by=["colour"]), "colour")) == ["blue", "red"]


@given(st.sampled_from([0.001, 0.37, 1.37, 90.0, 12_345.6]))
@settings(max_examples=4, deadline=None)
def test_the_currency_does_not_matter(factor: float) -> None:
    frame = ratios.forecasts(60)
    amounts = [c for c in frame if c in NEEDED or c.startswith(("lower", "upper"))]
    scaled = frame.assign(**{c: frame[c] * factor for c in amounts})
    one, other = studied(frame), studied(scaled)
    assert [k.by for k in one.kinds] == [k.by for k in other.kinds]
    for here, there in zip(_all(one), _all(other), strict=True):
        assert (here.tested, here.priced) == (there.tested, there.priced)
        assert [m.verdict for m in here.measures] == [m.verdict for m in there.measures]
        assert measures(there) == pytest.approx(measures(here), rel=1e-9, abs=1e-9)
        assert there.held == here.held
        for m, n in zip(here.measures, there.measures, strict=True):
            if m.interval and n.interval:
                assert (n.interval.lower, n.interval.upper) == pytest.approx(
                    (m.interval.lower, m.interval.upper), rel=1e-9, abs=1e-9
                )


@given(st.integers(min_value=0, max_value=1_000))
@settings(max_examples=4, deadline=None)
def test_the_order_of_rows_does_not_matter(seed: int) -> None:
    frame = ratios.forecasts(60)
    mixed = frame.sample(frac=1.0, random_state=seed)
    assert studied(mixed).to_dict() == studied(frame).to_dict()


def _all(report: RatioReport) -> list[Stratum]:
    return [report.overall, *(s for k in report.kinds for s in k.strata)]


def test_every_kind_holds_every_sale_once() -> None:
    report = studied(ratios.forecasts())
    assert [k.by for k in report.kinds] == [
        "make", "era", "value", "channel", "basis", "evidence", "month", "months ahead"
    ]  # fmt: skip
    for kind in report.kinds:
        assert sum(s.tested for s in kind.strata) == report.overall.tested
        assert sum(s.priced for s in kind.strata) == report.overall.priced


def test_the_seed_decides_what_is_drawn() -> None:
    frame = ratios.forecasts(100)
    assert studied(frame) == studied(frame)
    assert studied(frame, seed=2).overall != studied(frame).overall


def test_plain_form_and_words_hold_everything() -> None:
    report = ratios.studied()
    plain = json.loads(json.dumps(report.to_dict(), allow_nan=False))
    assert next(iter(plain)) == "format"
    assert plain["format"] == 1
    assert plain["overall"]["measures"]["prd"]["interval"]["level"] == 0.95
    assert [k["by"] for k in plain["kinds"]] == [k.by for k in report.kinds]
    said = report.summary()
    assert all(kind.label in said for kind in report.kinds)
    assert all(finding in said for finding in report.findings)
    assert "pooled: Hestia (" in said
    assert report.chasing in said
    assert not {"nan", "None"} & set(said.split())


def test_a_stratum_of_one_sale_has_what_can_be_said() -> None:
    frame = pd.DataFrame({"price": [100.0] * 25 + [50.0], "central": [*range(90, 115), 60.0],
                          "make": ["Kora"] * 25 + ["Quill"]})  # fmt: skip
    quill = strata(studied(frame), "make")["pooled: Quill (1)"]
    assert measures(quill) == {"median_ratio": 1.2, "cod": 0.0, "prd": 1.0}
    assert not any(m.proven for m in quill.measures)


@pytest.mark.parametrize(
    ("change", "error", "said"),
    [
        ({"central": None}, ScoreInputError, "the tested sales: columns are missing"),
        ({"price": 0.0}, ScoreInputError, "the tested sales: each price must be a finite amount"),
        ({"central": -1.0}, ScoreInputError, "the tested sales: each estimate must be a finite"),
        ({"upper": 1.0}, ScoreInputError, "the tested sales: a range needs two finite bounds"),
        ({"outcome": "not sold"}, TooFewSalesError, "the tested sales: none of them is a sale"),
    ],
)  # fmt: skip
def test_what_cannot_be_studied_is_said(
    change: dict[str, Any], error: type[Exception], said: str
) -> None:
    frame = ratios.forecasts(30)
    for name, value in change.items():
        frame = frame.drop(columns=name) if value is None else frame.assign(**{name: value})
    with pytest.raises(error) as caught:
        studied(frame)
    assert str(caught.value).startswith(said)


def test_an_empty_table_is_no_study() -> None:
    with pytest.raises(TooFewSalesError, match=r"none of them is a sale"):
        studied(ratios.forecasts(5).iloc[:0])


def test_findings_of_scatter_are_told_once_for_all_sales() -> None:
    rng = np.random.default_rng(4)
    frame = ratios.forecasts()
    frame["central"] *= np.exp(rng.normal(0.0, 0.5, len(frame)))
    report = studied(frame)
    told = [said for said in report.findings if "single estimates lie far off" in said.lower()]
    assert len(told) == 1
    quiet = replace(report, kinds=())
    assert quiet.strata_findings == ()
