"""The chance to sell: by hand, against a known truth, and what may never happen."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from on_offer import ERROR, UNTIL, spells_on_offer, steady, true_chance

from valuation.features.assumptions import Assumed
from valuation.results.stock_chance import MONTH_DAYS
from valuation.stocking.chance import ChanceToSell, fit_chance
from valuation.stocking.effects import OTHER_CARS, Effects, season_of
from valuation.stocking.settings import default_stock_settings
from valuation.stocking.spells import Spells
from valuation.stocking.survival import pieces_of, posterior
from valuation.synthetic.yard_demand import Demand, Taste

USUAL = default_stock_settings()
DAY = date(2025, 3, 1)
TRUTH = Demand(
    {"roadsters": Taste(0.5, 9.0, 0.3), "saloons": Taste(0.2, 4.0, 0.1)},
    steps=((0, 0.0), (30, -0.2), (90, -0.4), (180, -0.6)),
    eager_sd=0.0,
)
HALF = {"roadsters": 0.5, "saloons": 0.5}
NO_SPELLS = Spells(())


@pytest.fixture(scope="module")
def learned() -> ChanceToSell:
    return fit_chance(spells_on_offer(TRUTH, HALF, cars=250, seed=4), USUAL)


def test_without_own_sales_the_assumption_speaks_alone() -> None:
    found = fit_chance(NO_SPELLS, USUAL)
    assert not found.own
    assert found.basis == "starting assumption alone: no own sale, 20 are needed"
    mean, sd = found.effects.prior()
    assert found.found.mean.tolist() == mean.tolist()
    assert np.diag(found.found.covariance) == pytest.approx(sd**2)
    assert all(e.assumption_share == pytest.approx(1) for e in found.report.effects)
    assert {e.name: round(e.percent) for e in found.report.effects} == {
        "asking price 10% higher": -45,
        "what buyers see in a car, against its estimate": 12,
        "on offer for 30 days and more, against the first weeks": -15,
        "on offer for 90 days and more, against the first weeks": -30,
        "on offer for 180 days and more, against the first weeks": -45,
        "about 15 May, against the mean of the year": 30,
        "condition 10 points better": 8,
    }


@pytest.mark.parametrize(("sales", "own"), [(19, False), (20, True)])
def test_few_own_sales_are_told_and_not_used(sales: int, own: bool) -> None:
    spells = steady(sales / 3000, cars=100, days=30, kind="roadsters")
    found = fit_chance(spells, USUAL)
    assert spells.sales == sales
    assert found.own is own
    assert found.basis == (
        "20 own sales and the starting assumption"
        if own
        else "starting assumption alone: only 19 own sales, 20 are needed"
    )
    fresh = fit_chance(NO_SPELLS, USUAL)
    same = found.chance(30, 0.1, "roadsters", DAY) == fresh.chance(30, 0.1, "roadsters", DAY)
    assert same is not own
    assert found.report.cars == 100


def test_an_exponential_by_hand() -> None:
    """300 cars for 30 days, 90 sold: with nothing else to explain it 0.01 a day, error 1/sqrt(90).

    The assumption of the base is 0.02 a day give or take half a log: precisions 90 and 4.
    """
    shut = 1e-5
    assumed = replace(
        USUAL.assumptions,
        base=Assumed(math.log(0.02), 0.5),
        error=Assumed(math.log(shut), shut),
        swing=Assumed(0.0, shut),
        segment_base=shut,
        segment_season=shut,
    )
    effects = Effects(assumed, (OTHER_CARS,))
    spells = steady(0.01, cars=300, days=30, kind=OTHER_CARS)
    found = posterior(pieces_of(spells.spells, effects), effects)
    # The mode solves 9000 exp(b) - 90 + 4 (b - log 0.02) = 0.
    b = math.log(0.01)
    for _ in range(20):
        b -= (9000 * math.exp(b) - 90 + 4 * (b - math.log(0.02))) / (9000 * math.exp(b) + 4)
    assert found.mean[0] == pytest.approx(b, abs=1e-6)
    assert found.covariance[0, 0] == pytest.approx(1 / (9000 * math.exp(b) + 4), rel=1e-6)
    one = ChanceToSell(effects, found, 60.0, 0.0, fit_chance(NO_SPELLS, USUAL).report)
    # Within the first weeks the rate is steady: 1 - exp(-30 exp(b)), widened by its error alone.
    sd = math.sqrt(found.covariance[0, 0])
    z = np.random.default_rng(1).standard_normal(200_000)
    wanted = -np.expm1(-30 * np.exp(b + sd * z))
    got = one.chance(30, 0.0, OTHER_CARS, DAY)
    assert got.chance == pytest.approx(wanted.mean(), abs=0.003)
    assert got.lower == pytest.approx(np.quantile(wanted, 0.1), abs=0.008)
    assert got.upper == pytest.approx(np.quantile(wanted, 0.9), abs=0.008)


def test_the_mode_is_where_the_slope_is_none() -> None:
    """Held with differences of the likelihood, written out again with a sum over many errors."""
    spells = spells_on_offer(TRUTH, HALF, cars=60, seed=2)
    effects = Effects(USUAL.assumptions, ("roadsters", "saloons", OTHER_CARS))
    pieces = pieces_of(spells.spells, effects)
    mean, sd = effects.prior()
    z = np.linspace(-5, 5, 201)
    weights = np.exp(-(z**2) / 2) / np.exp(-(z**2) / 2).sum()

    def told(at: np.ndarray) -> float:
        pull = np.exp(at[effects.elasticity] + at[effects.of_segment(pieces.segment) + 3])
        error, sees = math.exp(at[effects.error]), 1 / (1 + math.exp(-at[effects.sees]))
        off = sees * pieces.first_ask[:, None] + error * math.sqrt(1 - sees) * z
        log_sales = (pieces.columns @ at - pull * pieces.log_ask + pieces.log_days)[:, None]
        log_sales = log_sales + pull[:, None] * off
        likely = np.zeros((len(pieces.starts), len(z)))
        np.add.at(likely, pieces.car, pieces.sold[:, None] * log_sales - np.exp(log_sales))
        evidence = np.log(np.exp(likely) @ weights).sum()
        return float(evidence - (((at - mean) / sd) ** 2).sum() / 2)

    found = posterior(pieces, effects)
    for j in range(effects.size):
        step = np.zeros(effects.size)
        step[j] = 1e-4
        slope = (told(found.mean + step) - told(found.mean - step)) / 2e-4
        assert abs(slope * sd[j]) < 2e-3


def test_the_truth_comes_back() -> None:
    """Of 1,500 cars: rates within a fifth, elasticities within a quarter."""
    found = fit_chance(spells_on_offer(TRUTH, HALF, cars=1500, seed=7), USUAL)
    e, mean = found.effects, found.found.mean
    for kind, taste in TRUTH.tastes.items():
        number = e.segment(kind)
        rate = math.exp(mean[0] + mean[e.of_segment(number)])
        assert rate == pytest.approx(taste.rate, rel=0.2)
        assert float(e.elasticities(mean, number)) == pytest.approx(taste.elasticity, rel=0.25)
    error, sees = e.errors(mean)
    assert float(error) == pytest.approx(ERROR, rel=0.3)
    assert 0.25 < float(sees) < 0.75  # the firm's whims are as large as what it sees
    assert mean[e.condition] == pytest.approx(10 * TRUTH.per_point, abs=0.05)
    assert mean[1:4] == pytest.approx([-0.2, -0.4, -0.6], abs=0.3)


def test_bands_hold_the_truth() -> None:
    """80 % bands of chances at various prices, over stocks of 120 cars."""
    held = []
    for seed in range(10, 22):
        found = fit_chance(spells_on_offer(TRUTH, HALF, cars=120, seed=seed), USUAL)
        for kind in TRUTH.tastes:
            for ask in (0.0, 0.08, 0.16):
                band = found.chance(60, ask, kind, DAY, 65.0)
                truth = true_chance(TRUTH, kind, ask, days=60, day=DAY)
                held.append(band.lower <= truth <= band.upper)
    assert len(held) == 72
    # Cases of one stock err together, so that the share may lie farther off than 72 draws would.
    assert 0.65 <= np.mean(held) <= 0.95


ASKS = st.floats(-0.5, 0.8)
KINDS = st.sampled_from(["roadsters", "saloons", "tractors"])


@given(low=ASKS, high=ASKS, days=st.integers(1, 200), kind=KINDS, since=st.integers(0, 300))
def test_a_higher_asking_price_never_raises_the_chance(
    learned: ChanceToSell, low: float, high: float, days: int, kind: str, since: int
) -> None:
    low, high = sorted((low, high))
    cheap, dear = (learned.chance(days, ask, kind, DAY, listed_days=since) for ask in (low, high))
    assert dear.chance <= cheap.chance + 1e-12
    assert dear.lower <= cheap.lower + 1e-12
    assert dear.upper <= cheap.upper + 1e-12


@given(ask=ASKS, days=st.integers(1, 200), more=st.integers(0, 100), kind=KINDS)
def test_more_days_never_lower_the_chance_and_bands_hold_it(
    learned: ChanceToSell, ask: float, days: int, more: int, kind: str
) -> None:
    soon, late = (learned.chance(d, ask, kind, DAY) for d in (days, days + more))
    assert soon.chance <= late.chance + 1e-12
    assert soon.lower <= late.lower + 1e-12
    assert soon.upper <= late.upper + 1e-12
    for c in (soon, late):
        assert 0 <= c.lower <= c.chance <= c.upper <= 1


@given(ask=ASKS, kind=KINDS)
def test_days_to_sell_follow_the_price(learned: ChanceToSell, ask: float, kind: str) -> None:
    here, dearer = (learned.expected(a, kind, DAY, horizon=200) for a in (ask, ask + 0.1))
    assert 1 <= here.lower <= here.days <= here.upper <= 200
    assert dearer.days >= here.days - 1e-9


def test_months_multiply_to_the_chance(learned: ChanceToSell) -> None:
    """For each draw, so for the posterior alone exactly: hold it where nothing is uncertain."""
    sure = replace(learned.found, covariance=np.eye(learned.effects.size) * 1e-18)
    sure_chance = replace(learned, found=sure)
    months = sure_chance.monthly(3, 0.05, "saloons", DAY)
    by = sure_chance.chance(round(3 * MONTH_DAYS), 0.05, "saloons", DAY)
    left = math.prod(1 - m.chance for m in months)
    assert 1 - left == pytest.approx(by.chance, abs=1e-7)


def test_a_price_that_is_cut_on_the_way(learned: ChanceToSell) -> None:
    """Day by day: the same price gives the same chance, a cut on day 30 raises it from then on."""
    same = np.full((1, 60), 0.1)
    cut = np.where(np.arange(60) < 30, 0.1, 0.02)[None, :]
    days = [30, 60]
    flat, path, lower = (
        learned.sold_by(asks, days, segment="roadsters", day=DAY)
        for asks in (np.array([0.1]), same, cut)
    )
    assert path == pytest.approx(flat)
    assert lower[:, 0, 0] == pytest.approx(flat[:, 0, 0])
    assert (lower[:, 0, 1] > flat[:, 0, 1]).all()


def test_a_kind_with_few_cars_is_pooled() -> None:
    shares = {"roadsters": 0.99, "saloons": 0.01}
    spells = spells_on_offer(TRUTH, shares, cars=150, seed=4)
    assert 0 < len({s.car for s in spells.spells if s.segment == "saloons"}) < 4
    found = fit_chance(spells, USUAL)
    assert found.effects.segments == ("roadsters", OTHER_CARS)
    names = [name for name, _ in found.report.first_month]
    assert names == ["all cars", "roadsters", OTHER_CARS]
    pooled, unknown = (found.chance(30, 0.0, kind, DAY) for kind in ("saloons", "tractors"))
    assert pooled == unknown


def test_own_sales_take_over_from_the_assumption() -> None:
    few, many = (fit_chance(spells_on_offer(TRUTH, HALF, cars=n, seed=5), USUAL) for n in (40, 600))
    for a, b in zip(few.report.effects, many.report.effects, strict=True):
        assert 0 < b.assumption_share < a.assumption_share <= 1
    wide, narrow = (f.chance(60, 0.1, "roadsters", DAY) for f in (few, many))
    assert narrow.upper - narrow.lower < wide.upper - wide.lower


def test_the_same_input_gives_the_same_chances(learned: ChanceToSell) -> None:
    again = fit_chance(spells_on_offer(TRUTH, HALF, cars=250, seed=4), USUAL)
    assert again.chance(45, 0.1, "roadsters", DAY) == learned.chance(45, 0.1, "roadsters", DAY)
    assert again.to_dict() == learned.to_dict()


def test_days_begin_at_one(learned: ChanceToSell) -> None:
    with pytest.raises(ValueError, match="days have to be 1 or more"):
        learned.chance(0, 0.1, "roadsters", DAY)


def test_the_season_turns_once_a_year() -> None:
    best = date(2024, 5, 14).toordinal()  # day 135 of a leap year
    turn = season_of(np.array([best, best + 182.625, best + 365.25]), 135.0)
    assert turn[:, 0] == pytest.approx([1, -1, 1], abs=1e-3)


def test_what_it_rests_on_in_words(learned: ChanceToSell) -> None:
    lines = learned.summary().splitlines()
    sales = learned.report.sales
    assert lines[0] == f"Chance to sell: {sales} own sales and the starting assumption"
    assert lines[1].startswith(f"  250 cars on offer for {learned.report.days:,.0f} days at ")
    assert [w.split("  ")[2].strip() for w in lines[3:6]] == ["all cars", "roadsters", "saloons"]
    told = learned.to_dict()
    assert told["format"] == 1
    assert told["sales"] == sales
    assert told["first_month"][1]["of"] == "roadsters"
    assert told["first_month"][1]["chance"] > told["first_month"][2]["chance"]
    assert UNTIL < DAY


def test_the_firms_own_price_tells_what_it_sees(learned: ChanceToSell) -> None:
    """Of two cars at one price now, the firm began one high: it saw more in it, as buyers do."""
    high, low = (
        learned.chance(
            30, 0.08, "roadsters", DAY, listed_days=1, asked=[(1, learned.usual_ask + by)]
        )
        for by in (0.15, -0.15)
    )
    assert high.chance > low.chance + 0.05


def test_a_car_that_stayed_at_a_low_price_is_one_that_buyers_see_less_in(
    learned: ChanceToSell,
) -> None:
    first = (1, learned.usual_ask)
    fresh, stayed = (
        learned.chance(30, 0.08, "roadsters", DAY, listed_days=80, asked=[first, (79, ask)])
        for ask in (1.0, -0.1)  # a price at which nobody looks tells nothing
    )
    assert stayed.chance < fresh.chance - 0.02


def test_the_error_of_estimates_would_hide_what_prices_do() -> None:
    """The same spells fitted as if estimates were right: prices seem to matter less."""
    spells = spells_on_offer(TRUTH, HALF, cars=1500, seed=7)
    right = replace(
        USUAL.assumptions, error=Assumed(math.log(1e-4), 1e-4), sees=Assumed(-20.0, 1e-4)
    )
    naive = fit_chance(spells, replace(USUAL, assumptions=right))
    found = fit_chance(spells, USUAL)
    for kind, taste in TRUTH.tastes.items():
        number = found.effects.segment(kind)
        plain, told = (float(f.effects.elasticities(f.found.mean, number)) for f in (naive, found))
        assert plain < 0.8 * taste.elasticity
        assert abs(told - taste.elasticity) < abs(plain - taste.elasticity)
