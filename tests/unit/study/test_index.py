"""The market index by segment: base, constant mix, bands, what is held, what is revised."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.errors import SettingsError, TooFewSalesError
from valuation.records import SalesBook
from valuation.results.index import INDEX_CAVEAT, MarketIndex
from valuation.study.index import market_index, revision
from valuation.study.index_levels import IndexEvidence, index_evidence, segment_level
from valuation.study.segments import Segment
from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.settings import MarketSettings
from valuation.synthetic.world import SEGMENTS

STEADY = settings(max_examples=25, deadline=None, derandomize=True)
OPEN = Segment("Open cars", bodies=("roadster", "convertible"))
TORVANE = Segment("Torvane", makes=("Torvane",))


@pytest.fixture(scope="module")
def evidence(small_market: MarketModel) -> IndexEvidence:
    return index_evidence(small_market)


@pytest.fixture(scope="module")
def index(small_market: MarketModel) -> MarketIndex:
    return market_index(small_market, segments=[TORVANE, OPEN], all_cars=True, base="2021-06")


def spans(evidence: IndexEvidence, *starts: float) -> list[np.ndarray]:
    first = evidence.day.min()
    return [first + start + np.arange(30.0) for start in starts]


def test_the_base_is_100_without_a_band(index: MarketIndex) -> None:
    for segment in index.segments:
        m = segment.at("2021-06")
        assert m is not None
        ends = (m.level, m.lower80, m.upper80, m.lower95, m.upper95)
        assert ends == pytest.approx((100.0,) * 5, abs=1e-4)
        assert sum(m.sales for m in segment.months) == segment.sales
        for other in segment.months:
            assert other.lower95 <= other.lower80 <= other.level <= other.upper80 <= other.upper95


@STEADY
@given(base=st.integers(0, 60), asked=st.lists(st.integers(0, 60), min_size=1, max_size=4))
def test_any_stretch_can_be_the_base(
    evidence: IndexEvidence, small_market: MarketModel, base: int, asked: list[int]
) -> None:
    rows = TORVANE.rows(small_market.frame)
    there = spans(evidence, *(30.0 * m for m in (*asked, base)))
    found = segment_level(evidence, rows, there, there[-1])
    assert found.level[-1] == pytest.approx(0.0, abs=1e-12)
    assert found.sd[-1] == pytest.approx(0.0, abs=1e-6)
    again = segment_level(evidence, rows, there, there[0])
    # A level against another base is the difference of two levels, and so is its variance.
    assert again.level[-1] == pytest.approx(-found.level[0], abs=1e-9)
    assert again.sd[-1] == pytest.approx(found.sd[0], abs=1e-5)
    assert found.change(0, len(asked)) == pytest.approx((-found.level[0], found.sd[0]), abs=1e-6)


def test_a_change_of_mix_is_no_change_of_level(
    evidence: IndexEvidence, small_market: MarketModel
) -> None:
    # Without a walk of its own a segment's level is the mean of the levels of its sales' kinds
    # of cars, each with the share of the whole stretch in every month.
    still = IndexEvidence(evidence.fitted, evidence.X, evidence.day, np.zeros(len(evidence.day)))
    frame = small_market.frame
    rows, there = OPEN.rows(frame), spans(evidence, 100.0, 900.0, 1800.0)
    found = segment_level(still, rows, there, there[0])
    levels, lines = small_market.levels, evidence.fitted.spec.lines
    makes = evidence.kinds["make"][1]
    paths = [
        levels.of(makes[m] if m >= 0 else "", lines[k] if k >= 0 else "")
        for m, k in zip(
            evidence.kinds["make"][0][rows], evidence.kinds["line"][0][rows], strict=True
        )
    ]
    by_hand = np.array([np.mean([p.at(days).mean() for p in paths]) for days in there])
    assert found.level == pytest.approx(by_hand - by_hand[0], abs=1e-9)


def test_without_level_terms_and_with_nothing_left_over_the_index_is_flat(
    evidence: IndexEvidence, small_market: MarketModel
) -> None:
    fitted = evidence.fitted
    terms = [t.name for t in fitted.spec.terms if not t.name.startswith("market level")]
    starts = zip(fitted.spec.terms, fitted.spec.starts[:-1], fitted.spec.starts[1:], strict=True)
    flat = fitted.coef.copy()
    for term, start, stop in starts:
        if term.name not in terms:
            flat[start:stop] = 0.0
    sales = replace(fitted.sales, residuals=np.zeros(len(evidence.day)))
    calm = replace(evidence, fitted=replace(fitted, coef=flat, sales=sales))
    there = spans(evidence, 0.0, 700.0, 1500.0)
    found = segment_level(calm, OPEN.rows(small_market.frame), there, there[0])
    assert found.level == pytest.approx(np.zeros(3), abs=1e-12)
    assert (found.sd[1:] > 0.01).all()


def test_the_order_of_the_sales_changes_nothing(lean: ModelSettings) -> None:
    book = make_market(MarketSettings(sales=200, lines=4), seed=2).book()
    backwards = SalesBook(book.table.iloc[::-1].reset_index(drop=True), book.currency, book.dated)
    one, other = (
        market_index(fit_market(b, settings=lean), segments=[OPEN], months=12).to_dict()
        for b in (book, backwards)
    )
    for a, b in zip(
        one["segments"][0].pop("months"), other["segments"][0].pop("months"), strict=True
    ):
        assert a.pop("level") == pytest.approx(b.pop("level"), abs=0.02)
        assert {k: a[k] for k in ("month", "sales", "sell_through")} == {
            k: b[k] for k in ("month", "sales", "sell_through")
        }


def test_past_the_last_sale_the_level_is_held_with_a_wider_band(index: MarketIndex) -> None:
    for segment in index.segments:
        *known, last = [m for m in segment.months if not m.held]
        held = [m for m in segment.months if m.held]
        assert [m.month for m in held] == ["2025-01", "2025-02", "2025-03"]
        assert last.month == "2024-12"
        widths = [m.upper80 / m.lower80 for m in (last, *held)]
        assert widths == sorted(widths)
        assert widths[-1] > 1.01 * widths[0]
        assert {round(m.level, 6) for m in held} == {round(held[0].level, 6)}
        assert not any(m.sales or m.thin for m in held)
        assert segment.latest is last
        assert known


def test_overlaps_are_told_and_all_cars_come_last(index: MarketIndex) -> None:
    assert [s.name for s in index.segments] == ["Torvane", "Open cars", "All cars"]
    assert len(index.notes) == 1
    assert index.notes[0].endswith("sales belong to both Torvane and Open cars.")


def test_thin_months_and_the_share_sold(index: MarketIndex, small_market: MarketModel) -> None:
    every = index.segments[-1]
    for m in every.months:
        assert m.thin == (m.sales < 5 and not m.held)
    frame = small_market.frame
    day = frame["sale_date"]
    at = frame["channel"].isin(["live auction", "online auction"])
    for m in (m for m in every.months if m.sell_through is not None and not m.held):
        s = m.sell_through
        period = pd.Period(m.month, freq="M")
        keep = {
            "month": day.dt.to_period("M") == period,
            "quarter": day.dt.to_period("Q") == period.asfreq("Q"),
            "year": day.dt.year == period.year,
        }[s.over]
        outcome = frame.loc[keep & at, "outcome"]
        assert s.sold == (outcome == "sold").sum()
        assert s.offered == outcome.isin(["sold", "not sold"]).sum() >= 10
        assert 0 <= s.low < s.share <= s.high <= 1
    assert {m.sell_through.over for m in every.months if m.sell_through} >= {"quarter"}


def test_days_to_sell_come_from_keys_ids_or_chassis(small_market: MarketModel) -> None:
    frame = small_market.frame
    sold = frame[(frame["outcome"] == "sold") & frame["sale_id"].notna()]
    days = {str(v): float(30 + i % 3) for i, v in enumerate(sold["sale_id"])}
    index = market_index(small_market, segments=[TORVANE], months=6, days_to_sell=days)
    told = [m.days_to_sell for m in index.segments[0].months if m.days_to_sell is not None]
    assert told
    assert all(30 <= d.low <= d.median <= d.high <= 32 and d.cars >= 5 for d in told)
    none = market_index(small_market, segments=[TORVANE], months=6, days_to_sell={"x": 3.0})
    assert not any(m.days_to_sell for m in none.segments[0].months)


def test_the_year_is_the_change_of_the_level(index: MarketIndex) -> None:
    for s in index.segments:
        before, last = s.at("2023-12"), s.at("2024-12")
        assert s.year is not None
        assert before is not None
        assert last is not None
        assert s.year.change == pytest.approx(last.level / before.level - 1.0, abs=1e-9)
        assert s.year.low < s.year.change < s.year.high


def test_by_default_makes_are_told_apart(small_market: MarketModel) -> None:
    index = market_index(small_market, months=2, ahead=0)
    counts = [s.sales for s in index.segments]
    assert counts == sorted(counts, reverse=True)
    assert min(counts) >= 30
    assert "All cars" not in [s.name for s in index.segments]
    assert [m.month for m in index.segments[0].months] == ["2024-11", "2024-12"]
    assert index.base == "2024-11"
    assert index.segments[0].year is None


def test_a_segment_without_sales_is_named_and_left_out(small_market: MarketModel) -> None:
    none = Segment("Nobody's", makes=("Nobody",))
    index = market_index(small_market, segments=[TORVANE, none], months=2)
    assert index.notes == ("Nobody's: no sale, left out.",)
    with pytest.raises(TooFewSalesError, match="no segment has a sale"):
        market_index(small_market, segments=[none])


def test_wrong_bases_and_undated_lists_are_refused(
    small_market: MarketModel, undate: Callable[[SalesBook], SalesBook], lean: ModelSettings
) -> None:
    for base in ("2018-12", "2025-01", "soon"):
        with pytest.raises(SettingsError) as caught:
            market_index(small_market, base=base)
        assert str(caught.value) == (
            f"the base of the index: no month of the evidence (got: {base}). "
            "Name a month from 2019-01 to 2024-12."
        )
    book = undate(make_market(MarketSettings(sales=120, lines=2), seed=3).book())
    with pytest.raises(SettingsError, match="an undated list has no months"):
        market_index(fit_market(book, settings=lean))


def test_a_revision_is_the_difference_of_two_indices(
    index: MarketIndex, small_world: SyntheticMarket, lean: ModelSettings
) -> None:
    early = replace(lean, origins=1)
    old_market = fit_market(small_world.book(), as_of=date(2024, 10, 31), settings=early)
    old = market_index(old_market, segments=[TORVANE], base="2021-06", ahead=2)
    found = revision(index, old)
    assert found.against == date(2024, 10, 31)
    for m in found.segments[0].months:
        before = old.segments[0].at(m.month)
        if before is None:
            assert m.revised_by is None
        else:
            assert m.revised_by == m.level - before.level
            assert m.was_held == before.held == (m.month > "2024-10")
    assert all(m.revised_by is None for m in found.segments[1].months)
    with pytest.raises(SettingsError, match="on one base only"):
        revision(index, replace(old, base="2021-07"))
    said = found.summary()
    assert "Against the model of 2024-10-31:" in said
    assert "2024-12 was forecast" in said
    assert "not in the earlier index" in said


def test_the_answer_says_its_base_and_its_caveat(index: MarketIndex) -> None:
    plain = index.to_dict()
    assert next(iter(plain)) == "format"
    assert (plain["base"], plain["as_of"], plain["last_sale"]) == (
        "2021-06", "2024-12-30", "2024-12-30",
    )  # fmt: skip
    assert plain["caveat"] == INDEX_CAVEAT
    assert INDEX_CAVEAT in index.summary()
    assert index.summary().startswith("Market index by segment, 2021-06 = 100 (market bid, ")


def test_bands_hold_the_true_levels_of_segments_that_cut_across_makes(
    small_world: SyntheticMarket, small_market: MarketModel, evidence: IndexEvidence
) -> None:
    """One market is no proof: what many showed stands with the benchmark."""
    levels, lines = small_world.truth.world.levels, small_world.truth.lines_table()
    inside, n = 0, 0
    months = pd.period_range("2019-01", "2024-12", freq="M")[::6]
    there = [np.arange(30.0) + (m.start_time - pd.Timestamp("1970-01-01")).days for m in months]
    for code, name in enumerate(SEGMENTS):
        own = lines[lines["segment"] == name]
        models = tuple(f"{a} {b}" for a, b in zip(own["make"], own["model"], strict=True))
        rows = Segment(name, models=models).rows(small_market.frame) if models else np.zeros(1)
        if rows.sum() < 20:
            continue
        found = segment_level(evidence, rows, there, there[0])
        truth = np.array([levels.at(np.full(30, code), d.astype(int)).mean() for d in there])
        off = np.abs(found.level - (truth - truth[0]))[1:]
        inside += int((off < 1.2816 * found.sd[1:]).sum())
        n += len(off)
    assert n >= 40
    assert inside / n >= 0.7
