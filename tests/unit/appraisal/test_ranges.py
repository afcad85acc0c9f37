"""Ranges: nested, honest about age and ignorance, refused where they would pretend."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from valuation.appraisal.appraise import appraise
from valuation.appraisal.data import cars_table
from valuation.appraisal.market import MarketModel
from valuation.appraisal.outlook import ahead_variance, level_variance, outlook
from valuation.errors import CarFileError, SettingsError
from valuation.models.ranges import PastErrors, calibrate
from valuation.records import Car
from valuation.results.valuation import NoRange, PriceRange, Valuation

LAST = date(2024, 12, 30)
GT = {
    "make": "Torvane", "model": "GT", "generation": "Series 2", "year": 1966.0, "body": "coupe",
    "engine_size": 3.2, "condition_grade": 70.0, "transmission": "manual",
}  # fmt: skip


def _width(valuation: Valuation, level: float = 0.8) -> float:
    found = next(r for r in valuation.ranges if r.level == level)
    return float(np.log(found.upper / found.lower))


def test_ranges_are_nested_around_the_centre(
    small_market: MarketModel, sold_cars: list[Car]
) -> None:
    for car in sold_cars:
        valuation = appraise(small_market, car)
        assert [r.level for r in valuation.ranges] == [0.5, 0.8, 0.95]
        half, most, nearly_all = valuation.ranges
        assert 0 < nearly_all.lower < most.lower < half.lower < valuation.central
        assert valuation.central < half.upper < most.upper < nearly_all.upper
        assert valuation.range == most


def test_the_level_that_is_shown_can_be_chosen(small_market: MarketModel) -> None:
    market = replace(small_market, settings=replace(small_market.settings, level=0.5))
    shown = appraise(market, Car(GT)).range
    assert isinstance(shown, PriceRange)
    assert shown.level == 0.5


def test_a_later_day_widens_the_range(small_market: MarketModel) -> None:
    days = [LAST, LAST + timedelta(180), LAST + timedelta(720)]
    widths = [_width(appraise(small_market, Car(GT), as_of=d)) for d in days]
    assert widths[0] < widths[1] < widths[2]


def test_the_level_may_move_after_the_last_sale_and_not_before(small_market: MarketModel) -> None:
    fitted = small_market.fitted
    assert level_variance(fitted, fitted.last_day) == 0.0
    assert level_variance(fitted, fitted.last_day - 500) == 0.0
    assert level_variance(fitted, float("nan")) == 0.0
    year = level_variance(fitted, fitted.last_day + 365)
    assert level_variance(fitted, fitted.last_day + 730) == pytest.approx(2 * year)
    assert 0 < np.sqrt(year) < 0.5


def test_months_ahead_the_larger_of_two_variances_counts(small_market: MarketModel) -> None:
    fitted, learned = small_market.fitted, small_market.calibration
    assert learned.ahead_from == 30.0
    assert 0.02 < np.sqrt(365 * learned.ahead_rate) < 0.2
    last = fitted.last_day
    assert ahead_variance(fitted, learned, last) == 0.0
    assert ahead_variance(fitted, learned, float("nan")) == 0.0
    month = ahead_variance(fitted, learned, last + 30)
    assert month == level_variance(fitted, last + 30)
    calm, wild = replace(learned, ahead_rate=0.0), replace(learned, ahead_rate=0.01)
    for days in (45, 180):
        assert ahead_variance(fitted, calm, last + days) == level_variance(fitted, last + days)
        assert ahead_variance(fitted, wild, last + days) == pytest.approx(0.01 * (days - 30))


def test_past_revisions_widen_ranges_months_ahead_and_no_others(small_market: MarketModel) -> None:
    wild = replace(small_market, calibration=replace(small_market.calibration, ahead_rate=0.001))
    calm = replace(small_market, calibration=replace(small_market.calibration, ahead_rate=0.0))

    def both(day: date) -> tuple[Valuation, Valuation]:
        one, two = (appraise(m, Car(GT), as_of=day) for m in (calm, wild))
        return one, two

    for day in (LAST - timedelta(90), LAST, LAST + timedelta(29)):
        one, two = both(day)
        assert one == two
    widths = []
    for days in (60, 120, 240):
        one, two = both(LAST + timedelta(days))
        assert one.central == two.central
        widths.append(_width(two) / _width(one))
    assert 1.0 < widths[0] < widths[1] < widths[2]


def test_what_nobody_looked_at_widens_the_range(small_market: MarketModel) -> None:
    silent = appraise(small_market, Car(GT))
    unseen = appraise(small_market, Car(GT, not_looked_at=frozenset({"engine_originality"})))
    more = frozenset({"engine_originality", "genuineness", "restoration"})
    all_unseen = appraise(small_market, Car(GT, not_looked_at=more))
    assert _width(silent) < _width(unseen) < _width(all_unseen)
    assert silent.central == unseen.central == all_unseen.central
    assert unseen.evidence.warnings[-1] == (
        "Not looked at yet: engine originality. The range allows for what such cars have; look "
        "before you buy."
    )
    assert (
        "Not looked at yet: engine originality, genuine or tribute, restoration."
        in (all_unseen.evidence.warnings[-1])
    )


def test_what_cannot_be_told_is_priced_as_silence(small_market: MarketModel) -> None:
    silent = appraise(small_market, Car(GT))
    lost = appraise(small_market, Car(GT, cannot_be_told=frozenset({"mileage"})))
    assert (lost.central, _width(lost)) == (silent.central, _width(silent))
    assert lost.evidence.warnings == (
        "Can't be told any more: mileage. Priced as where sellers are silent.",
    )


def test_an_unseen_make_gets_a_centre_and_no_range(small_market: MarketModel) -> None:
    valuation = appraise(small_market, Car({"make": "Nobody's", "model": "GT", "year": 1966.0}))
    assert valuation.range == NoRange(
        "No sale of this make is in the evidence. A range would pretend to know."
    )
    assert valuation.ranges == ()
    assert valuation.central > 0
    e = valuation.evidence
    assert (e.strength, e.level, e.outside, e.sales) == ("none", "market", True, 800)
    assert e.warnings[0] == "No sale of this make is in the evidence."
    assert valuation.start_label == "Typical car of this market (800 sales)"


def test_an_era_outside_gets_no_range(small_market: MarketModel) -> None:
    sales = small_market.frame
    years = sales.loc[sales["make"] == "Vessamir", "year"]
    car = Car({"make": "Vessamir", "model": "Quite Another", "year": 1927.0})
    valuation = appraise(small_market, car)
    said = (
        "The year 1927 lies outside the evidence: sales of this make run from "
        f"{years.min():.0f} to {years.max():.0f}"
    )
    assert valuation.range == NoRange(f"{said}. A range would pretend to know.")
    assert valuation.evidence.warnings[0] == f"{said}."
    assert (valuation.evidence.strength, valuation.evidence.outside) == ("thin", True)


def test_a_size_outside_gets_no_range(small_market: MarketModel) -> None:
    valuation = appraise(small_market, Car({**GT, "engine_size": 9.0}))
    assert valuation.range == NoRange(
        "An engine of 9.0 litres lies outside the evidence: sales of this model line run from "
        "3.2 to 3.2. A range would pretend to know."
    )
    assert valuation.evidence.outside


def test_a_year_just_beyond_is_still_inside(small_market: MarketModel) -> None:
    sales = small_market.frame
    last = sales.loc[sales["make"] == "Ombrecq", "year"].max()
    inside = appraise(small_market, Car({"make": "Ombrecq", "year": last + 3.0}))
    outside = appraise(small_market, Car({"make": "Ombrecq", "year": last + 4.0}))
    assert isinstance(inside.range, PriceRange)
    assert not inside.evidence.outside
    assert isinstance(outside.range, NoRange)


def _with_errors(market: MarketModel, n: int) -> MarketModel:
    rng = np.random.default_rng(1)
    errors = PastErrors(
        rng.normal(0, 0.2, n), rng.normal(0, 0.05, n), rng.normal(0, 1, (n, 9)), np.full(n, 2e4)
    )
    return replace(market, calibration=calibrate(errors, day=2e4))


def test_too_few_past_errors_carry_no_range(small_market: MarketModel) -> None:
    valuation = appraise(_with_errors(small_market, 19), Car(GT))
    assert valuation.range == NoRange(
        "Only 19 past forecasts can be checked, too few for a range (20 are needed). "
        "Add dated sales."
    )
    assert valuation.ranges == ()
    assert valuation.start + sum(c.amount for c in valuation.contributions) == valuation.central


@pytest.mark.parametrize(
    ("n", "levels"), [(20, [0.5, 0.8]), (38, [0.5, 0.8]), (39, [0.5, 0.8, 0.95])]
)
def test_each_level_needs_its_number_of_past_errors(
    small_market: MarketModel, n: int, levels: list[float]
) -> None:
    valuation = appraise(_with_errors(small_market, n), Car(GT))
    assert [r.level for r in valuation.ranges] == levels


def test_the_correction_is_the_centre_of_past_errors(small_market: MarketModel) -> None:
    fitted, c = small_market.fitted, small_market.calibration
    car = Car(GT, sale=dict(small_market.usual))
    forecast = fitted.forecast(cars_table([car], fitted.last_day))
    out = outlook(fitted, c, forecast, day=fitted.last_day)
    assert out.fitted == pytest.approx(float(forecast.log_price[0]))
    assert out.deviation == pytest.approx(c.share * float(forecast.deviation[0]))
    assert out.central == pytest.approx(out.fitted + out.deviation + out.correction)
    bare = outlook(fitted, _with_errors(small_market, 5).calibration, forecast, day=fitted.last_day)
    assert (bare.correction, len(bare.offsets)) == (0.0, 0)


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        (
            {"make": "Torvane", "model": "GT"},
            "Torvane GT: a car can't be valued without year (got: nothing). State year, or a "
            "title that holds them.",
        ),
        (
            {"year": 1966.0},
            "1966: a car can't be valued without make (got: nothing). State make, or a title "
            "that holds them.",
        ),
        (
            {"model": "GT"},
            "GT: a car can't be valued without year and make (got: nothing). State year and "
            "make, or a title that holds them.",
        ),
    ],
)
def test_year_and_make_must_be_known(
    small_market: MarketModel, values: dict[str, float | str], sentence: str
) -> None:
    with pytest.raises(CarFileError) as caught:
        appraise(small_market, Car(values))
    assert str(caught.value) == sentence


def test_an_undated_market_has_no_day(small_market: MarketModel) -> None:
    undated = replace(small_market, dated=False, as_of=None)
    with pytest.raises(SettingsError) as caught:
        appraise(undated, Car(GT), as_of=LAST)
    assert str(caught.value) == (
        "as_of: an undated list has no day (got: 2024-12-30). Leave it out."
    )


def test_old_evidence_never_looks_better_than_new() -> None:
    rng = np.random.default_rng(4)
    columns = rng.normal(0.0, 1.0, (400, 9))
    # Errors shrink with the age and the distance of the evidence, and grow with their number:
    # by chance, since nothing of the kind can be true.
    size = np.exp(0.3 * columns[:, 0] - 0.3 * columns[:, 1] - 0.3 * columns[:, 5])
    size *= np.exp(0.3 * columns[:, 3])
    errors = PastErrors(
        0.1 * size * rng.normal(size=400), np.zeros(400), columns, np.full(400, 2e4)
    )
    learned = calibrate(errors, day=2e4)
    assert learned.coef[[0, 1, 5]].tolist() == [0.0, 0.0, 0.0]
    assert learned.coef[3] > 0.15
