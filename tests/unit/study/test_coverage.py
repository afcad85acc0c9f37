"""How often ranges held, group by group."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest
import ratios

from valuation.results.coverage import CoverageReport, CoverageRow
from valuation.scoring.intervals import coverage_interval
from valuation.study.coverage import study_coverage

N = 1200


def held(share_of_kora: float, share: float = 0.8) -> pd.DataFrame:
    """Return forecasts of which a share of the ranges held, another of one make."""
    rng = np.random.default_rng(2)
    make = rng.choice(["Torvane", "Kora"], N, p=(0.75, 0.25))
    inside = rng.random(N) < np.where(make == "Kora", share_of_kora, share)
    price = np.where(inside, 100.0, 150.0)
    days = pd.Timestamp("2023-01-01") + pd.to_timedelta(rng.integers(0, 365, N), unit="D")
    frame = pd.DataFrame({"price": price, "central": 100.0, "make": make, "sale_date": days})
    return frame.assign(lower=90.0, upper=110.0)


def rows(report: CoverageReport, by: str) -> dict[str, CoverageRow]:
    (kind,) = (k for k in report.kinds if k.by == by)
    return {row.name: row for row in kind.rows}


def test_shares_and_intervals_are_those_of_clustered_months() -> None:
    frame = held(0.8)
    report = study_coverage(frame)
    (level,) = report.overall.held
    plain = coverage_interval(
        frame["price"], frame["lower"], frame["upper"], [f"{d:%Y-%m}" for d in frame["sale_date"]]
    )
    assert (level.level, level.ranges) == (80, N)
    assert level.interval is not None
    assert level.interval.clusters == 12
    assert level.interval.coverage == plain.coverage
    # Rows come in another order, so sums round in another way.
    assert level.interval.lower == pytest.approx(plain.lower, rel=1e-12)
    assert report.meets is True
    assert report.findings[0].endswith("of the 80% ranges held: as promised.")


def test_a_make_with_too_narrow_ranges_is_named() -> None:
    report = study_coverage(held(0.55))
    assert rows(report, "make")["Kora"].verdict == "too narrow"
    assert rows(report, "make")["Torvane"].verdict == "in order"
    assert [r.name for r in report.failing if r.by == "make"] == ["Kora"]
    assert any(
        s.startswith("Too narrow for make Kora: ") and s.endswith("understated there.")
        for s in report.findings
    )


def test_a_make_with_too_wide_ranges_is_named() -> None:
    report = study_coverage(held(1.0))
    assert [r.name for r in report.too_wide if r.by == "make"] == ["Kora"]
    assert any(s.startswith("Wider than needed for make Kora: 100.0%") for s in report.findings)


def test_chance_is_not_called_a_fault() -> None:
    frame = held(0.8)
    frame["batch"] = np.where(np.arange(N) < 40, "few", "rest")
    inside = frame.index[:40]
    frame.loc[inside, "price"] = np.where(np.arange(40) < 28, 100.0, 150.0)
    found = rows(study_coverage(frame, by=["batch"]), "batch")["few"]
    assert found.verdict == "few held, may be chance"
    frame.loc[inside, "price"] = np.where(np.arange(40) < 36, 100.0, 150.0)
    found = rows(study_coverage(frame, by=["batch"]), "batch")["few"]
    assert found.verdict == "many held, may be chance"


def test_every_kind_is_there_and_holds_every_sale() -> None:
    report = ratios.covered()
    assert [k.by for k in report.kinds] == [
        "make", "era", "estimate", "channel", "basis", "evidence", "month", "months ahead",
        "outcome",
    ]  # fmt: skip
    for kind in report.kinds[:-1]:
        assert sum(row.tested for row in kind.rows) == report.overall.tested
    assert sum(row.tested for row in report.kinds[-1].rows) == 400


def test_outcomes_are_told_of_all_rows_and_once() -> None:
    frame = ratios.forecasts(120)
    frame.loc[frame.index[frame["outcome"] == "sold"][:40], "outcome"] = None
    for by in ((), ("outcome",)):
        report = study_coverage(frame, by=by)
        assert [k.by for k in report.kinds].count("outcome") == 1
        assert sum(row.tested for row in rows(report, "outcome").values()) == 120
        assert "unknown" in rows(report, "outcome")


def test_cars_outside_the_evidence_have_no_range_and_are_counted() -> None:
    found = rows(ratios.covered(), "evidence")
    (outside,) = (row for row in found.values() if "outside the evidence" in row.name)
    assert (outside.ranges, outside.priced_pct, outside.held) == (0, 0.0, ())
    assert outside.verdict == "too few to tell"
    assert outside.tested > 0


def test_without_any_range_that_is_said() -> None:
    report = study_coverage(ratios.forecasts(60)[["price", "central", "make"]])
    assert report.overall.held == ()
    assert report.meets is None
    assert report.findings == ("No car was given a range.",)


def test_one_sale_has_no_interval() -> None:
    report = study_coverage(
        pd.DataFrame({"price": [100.0], "central": [100.0], "lower": [90.0], "upper": [110.0]})
    )
    (level,) = report.overall.held
    assert (level.held_pct, level.interval) == (100.0, None)
    assert report.findings == (
        "100.0% of the 80% ranges held; too few sales to say how sure that is.",
    )


def test_order_does_not_matter_and_the_plain_form_is_plain() -> None:
    frame = ratios.forecasts(150)
    here = study_coverage(frame, currency="EUR").to_dict()
    there = study_coverage(frame.sample(frac=1.0, random_state=3), currency="EUR").to_dict()
    assert json.dumps(here, allow_nan=False) == json.dumps(there, allow_nan=False)
    assert next(iter(here)) == "format"


def test_words_name_every_group() -> None:
    said = ratios.covered().summary()
    assert all(row.name in said for kind in ratios.covered().kinds for row in kind.rows)
    assert "by price even a perfect forecast fails" in said
