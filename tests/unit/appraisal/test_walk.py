"""Forecasts of the past use nothing that was not known then."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from valuation.appraisal.data import MarketData, market_data
from valuation.appraisal.fitting import fit_market_data
from valuation.appraisal.foreseen import Foreseen
from valuation.appraisal.settings import ModelSettings
from valuation.appraisal.walk import (
    FARTHEST,
    LEAST_BEFORE,
    REVISED,
    join_errors,
    origins,
    past_errors,
    unseen_chassis,
)
from valuation.features.assumptions import default_assumptions
from valuation.models.ranges import PastErrors
from valuation.records import SalesBook
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings


@pytest.fixture(scope="module")
def book() -> SalesBook:
    """Return a market in which many cars come back, of four lines."""
    asked = MarketSettings(sales=400, lines=4, repeat_share=0.4)
    return make_market(asked, seed=3).book()


@pytest.fixture(scope="module")
def data(book: SalesBook) -> MarketData:
    return market_data(book, unsold="as bids")


@pytest.fixture(scope="module")
def penalties(data: MarketData, lean: ModelSettings) -> dict[str, float]:
    fitted = fit_market_data(data, settings=lean, assumptions=default_assumptions())
    return dict(fitted.penalties)


def _errors(data: MarketData, penalties: dict[str, float], settings: ModelSettings) -> PastErrors:
    return past_errors(data, penalties, settings=settings, assumptions=default_assumptions())


def test_later_prices_change_no_earlier_error(
    data: MarketData, penalties: dict[str, float], lean: ModelSettings
) -> None:
    stretches = origins(data.day, lean)
    assert len(stretches) == 3
    known = _errors(data, penalties, lean)
    turn = stretches[1][1]
    garbage = np.where(data.day >= turn, 20.0 * np.cos(np.arange(len(data))), data.log_price)
    other = _errors(replace(data, log_price=garbage), penalties, lean)
    early = known.day < turn
    assert 0 < early.sum() < len(known)
    for name in ("error", "deviation", "difficulty", "day"):
        assert np.array_equal(getattr(known, name)[early], getattr(other, name)[early])
    assert not np.allclose(known.error[~early], other.error[~early])


def test_prices_of_a_stretch_change_no_forecast_of_it(
    data: MarketData, penalties: dict[str, float], lean: ModelSettings
) -> None:
    start, stop = origins(data.day, lean)[0]
    inside = (data.day >= start) & (data.day < stop)
    moved = replace(data, log_price=data.log_price + 1.0 * inside)
    one, two = _errors(data, penalties, lean), _errors(moved, penalties, lean)
    first = one.day < stop
    assert two.error[first] == pytest.approx(one.error[first] + 1.0)
    assert np.array_equal(one.deviation[first], two.deviation[first])


def test_a_chassis_is_never_on_both_sides(data: MarketData, lean: ModelSettings) -> None:
    chassis = data.table.factors["chassis"].codes
    left_out = 0
    for start, stop in origins(data.day, lean):
        before = np.flatnonzero(data.day < start)
        after = np.flatnonzero((data.day >= start) & (data.day < stop))
        kept = unseen_chassis(data, before, after)
        assert not set(chassis[kept][chassis[kept] >= 0]) & set(chassis[before])
        dropped = np.setdiff1d(after, kept)
        assert set(chassis[dropped]) <= set(chassis[before]) - {-1}
        assert (chassis[kept] < 0).sum() == (chassis[after] < 0).sum()
        left_out += len(dropped)
    assert left_out > 0


def test_every_sale_of_a_stretch_with_a_new_chassis_is_forecast(
    data: MarketData, penalties: dict[str, float], lean: ModelSettings
) -> None:
    wanted: list[float] = []
    for start, stop in origins(data.day, lean):
        before = np.flatnonzero(data.day < start)
        after = np.flatnonzero((data.day >= start) & (data.day < stop))
        wanted += data.day[unseen_chassis(data, before, after)].tolist()
    assert _errors(data, penalties, lean).day.tolist() == wanted


def test_stretches_end_at_the_last_sale_and_cover_at_most_two_fifths() -> None:
    day = np.arange(0.0, 2000.0, 2.0)
    found = origins(day, ModelSettings(origins=99))
    assert found[-1] == (1969.0, 1999.0)
    assert all(b - a == 30.0 for a, b in found)
    assert [b for _, b in found[:-1]] == [a for a, _ in found[1:]]
    assert found[0][0] >= np.quantile(day, 0.6, method="lower")
    assert len(found) == 26
    assert len(origins(day, ModelSettings(origins=5))) == 5


def test_a_short_file_is_cut_into_fortnights() -> None:
    day = np.linspace(0.0, 200.0, 300)
    found = origins(day, ModelSettings())
    assert all(b - a == pytest.approx(14.0) for a, b in found)
    assert len(found) == 5


def test_stretches_without_sales_or_evidence_are_left_out() -> None:
    gap = np.concatenate([np.linspace(0, 900, 400), np.linspace(1090, 1100, 100)])
    found = origins(gap, ModelSettings())
    assert all(((gap >= a) & (gap < b)).any() for a, b in found)
    few = np.linspace(0, 1000, LEAST_BEFORE)
    assert origins(few, ModelSettings()) == []


def test_undated_folds_keep_a_chassis_on_one_side(
    book: SalesBook,
    penalties: dict[str, float],
    lean: ModelSettings,
    undate: Callable[[SalesBook], SalesBook],
) -> None:
    data = market_data(undate(book), unsold="as bids")
    errors = _errors(data, penalties, lean)
    assert len(errors) == len(data)
    assert np.isnan(errors.day).all()
    chassis = data.table.factors["chassis"].codes
    often = int(np.argmax(np.bincount(chassis[chassis >= 0])))
    of_car = chassis == often
    assert of_car.sum() >= 3
    # Its own prices are unknown to the fit that forecasts it: each error moves by just as much.
    moved = _errors(replace(data, log_price=data.log_price + 1.0 * of_car), penalties, lean)
    assert (np.abs(moved.error - errors.error - 1.0) < 1e-9).sum() == of_car.sum()


def test_the_seed_of_the_folds_counts(
    book: SalesBook,
    penalties: dict[str, float],
    lean: ModelSettings,
    undate: Callable[[SalesBook], SalesBook],
) -> None:
    data = market_data(undate(book), unsold="as bids")
    one, again = (_errors(data, penalties, lean) for _ in range(2))
    assert np.array_equal(one.error, again.error)
    other = _errors(data, penalties, replace(lean, seed=7))
    assert not np.array_equal(one.error, other.error)


def test_a_bound_is_no_error(data: MarketData, lean: ModelSettings, book: SalesBook) -> None:
    bounds = market_data(book, unsold="as bounds")
    assert bounds.bound.any()
    fitted = fit_market_data(bounds, settings=lean, assumptions=default_assumptions())
    errors = _errors(bounds, dict(fitted.penalties), lean)
    plain = _errors(data, dict(fitted.penalties), lean)
    stretches = origins(data.day, lean)
    recent = data.day >= stretches[0][0]
    assert len(plain) - len(errors) > 0
    assert len(plain) - len(errors) <= (bounds.bound & recent).sum()


def test_no_forecast_at_all_is_no_error() -> None:
    nothing = join_errors([])
    assert len(nothing) == 0
    assert nothing.difficulty.shape == (0, 9)


def test_errors_are_prices_less_forecasts(
    data: MarketData, penalties: dict[str, float], lean: ModelSettings
) -> None:
    fitted = fit_market_data(data, settings=lean, assumptions=default_assumptions())
    rows = np.arange(5)
    forecast = fitted.forecast(data.table.take(rows))
    seen = Foreseen.of(fitted, forecast, data.day[rows], np.zeros(5, dtype=bool))
    errors = seen.errors(data, rows)
    assert errors.error == pytest.approx(data.log_price[rows] - forecast.effects.sum(1))
    both = join_errors([errors, errors])
    assert len(both) == 10
    assert both.until(float(data.day[2])).day.max() < data.day[2]


def test_a_revision_is_the_later_forecast_less_the_earlier(
    data: MarketData, penalties: dict[str, float], lean: ModelSettings
) -> None:
    found = _errors(data, penalties, lean).revisions
    stretches = origins(data.day, lean)
    assert sorted(set(found.days.tolist())) == [30.0, 60.0]
    assert set(found.day.tolist()) == {a for a, _ in stretches[1:]}
    start, stop = stretches[1]
    before = np.flatnonzero(data.day < start)
    rows = unseen_chassis(data, before, np.flatnonzero((data.day >= start) & (data.day < stop)))
    assert 0 < len(rows) < REVISED
    settings, assumed = lean, default_assumptions()
    early, late = (
        fit_market_data(
            data.take(np.flatnonzero(data.day < day)),
            settings=settings,
            assumptions=assumed,
            penalties=penalties,
        ).forecast(data.table.take(rows))
        for day in (stretches[0][0], start)
    )
    mine = found.day == start
    assert found.fitted[mine] == pytest.approx(late.log_price - early.log_price, abs=2e-3)
    assert found.deviation[mine] == pytest.approx(late.deviation - early.deviation, abs=2e-3)
    assert np.abs(found.fitted[mine]).max() > 0.01


def test_the_price_of_a_sale_is_no_part_of_its_revision(
    data: MarketData, penalties: dict[str, float], lean: ModelSettings
) -> None:
    last = data.day >= origins(data.day, lean)[-1][0]
    moved = replace(data, log_price=data.log_price + 1.0 * last)
    one, two = (_errors(d, penalties, lean).revisions for d in (data, moved))
    for name in ("fitted", "deviation", "days", "day"):
        assert np.array_equal(getattr(one, name), getattr(two, name))


def test_revisions_reach_over_months_and_are_a_sample(
    data: MarketData, penalties: dict[str, float], lean: ModelSettings
) -> None:
    settings = replace(lean, origins=14)
    found = _errors(data, penalties, settings).revisions
    assert found.days.max() == FARTHEST
    assert found.days.min() == 30.0
    assert len(found) <= 1.2 * REVISED


def test_undated_sales_have_no_revisions(
    book: SalesBook,
    penalties: dict[str, float],
    lean: ModelSettings,
    undate: Callable[[SalesBook], SalesBook],
) -> None:
    data = market_data(undate(book), unsold="as bids")
    assert len(_errors(data, penalties, lean).revisions) == 0


def test_progress_is_told(
    data: MarketData, penalties: dict[str, float], lean: ModelSettings
) -> None:
    told: list[tuple[int, int, str]] = []
    past_errors(
        data,
        penalties,
        settings=lean,
        assumptions=default_assumptions(),
        progress=lambda *step: told.append(step),
    )
    assert told == [(i, 3, "forecasting the past") for i in (1, 2, 3)]
