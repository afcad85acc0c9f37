"""The benchmark against the truth: its arithmetic, its true components, and that it can fail."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import truth
from scipy import sparse
from truth_cache import Cache, Job
from truth_changes import Pair, effect_counts, pairs, tally
from truth_components import market_steps, project, true_components, variance_of
from truth_fits import TrueFit, fit_as_shipped, fit_with_truth
from truth_markets import SEEDS, Trial, make_trial, seeds_for
from truth_measures import rms
from truth_run import errors_on, index_of
from truth_tables import as_markdown, coverage_row

from valuation.appraisal.fitting import Fitted
from valuation.features.assumptions import default_assumptions
from valuation.features.calendar import Walk
from valuation.features.encoders import Crossed, Levels, Ones
from valuation.features.learn import learn_spec
from valuation.features.settings import FeatureSettings
from valuation.features.terms import FeatureSpec, Term
from valuation.models.hedonic import HedonicRegressor
from valuation.records import Value

ROOT = Path(__file__).parents[3]
BUILDING = 40
"""A seed for building, not one of those that are reported."""


@pytest.fixture(scope="module")
def trial() -> Trial:
    return make_trial("plain", 300, BUILDING)


@pytest.fixture(scope="module")
def fitted(trial: Trial) -> Fitted:
    return fit_as_shipped(trial)


@pytest.fixture(scope="module")
def held(trial: Trial, fitted: Fitted) -> TrueFit:
    return fit_with_truth(trial, fitted)


def test_a_projection_finds_coefficients_about_a_constant() -> None:
    x = np.random.default_rng(2).standard_normal((50, 3))
    coef, rest = project(sparse.csr_array(x), 4.0 + x @ np.array([0.3, -0.2, 0.0]))
    assert coef == pytest.approx([0.3, -0.2, 0.0], abs=1e-6)
    assert rest == pytest.approx(np.zeros(50), abs=1e-6)


def test_levels_vary_about_the_mean_of_their_group() -> None:
    levels = Levels("body", levels=("a", "b", "c"))
    common = Term("body level", "body", levels)
    assert variance_of(common, np.array([1.0, 2.0, 3.0]), np.ones(3)) == 1.0
    crossed = Crossed("body", levels, "line", ("x", "y"), (0, 1, 3, 4))
    local = Term("body by model line", "body", crossed)
    assert variance_of(local, np.array([0.0, 2.0, 10.0, 10.0]), np.ones(4)) == 1.0
    ones = Term("model line", "model", Crossed("ones", Ones("ones"), "line", ("x", "y"), (0, 1)))
    assert variance_of(ones, np.array([1.0, 3.0]), np.ones(2)) == 5.0


def test_reported_seeds_are_used_nowhere_else() -> None:
    assert len(set(SEEDS)) == 20
    assert (seeds_for(3_000, 20), len(seeds_for(10_000, 20))) == (SEEDS, 5)
    words = re.compile(rf"\b(?:{'|'.join(map(str, SEEDS))})\b")
    here = {"truth_markets.py"}
    for folder in ("valuation", "tests", "data_synthetic", "notebooks"):
        for path in (ROOT / folder).rglob("*.py"):
            found = words.search(path.read_text(encoding="utf-8"))
            assert not found or path.name in here, f"{path.name}: {found}"


def test_no_car_stands_on_two_sides(trial: Trial) -> None:
    car, day = trial.world.truth.sale["car"], trial.world.truth.sale["day"]
    sides = [set(car[rows].tolist()) for rows in (trial.train, trial.fresh, trial.later)]
    assert len(trial.train) == 300
    assert min(map(len, sides)) > 5
    assert not sides[0] & sides[1]
    assert not (sides[0] | sides[1]) & sides[2]
    assert day[trial.train].max() < day[trial.later].min()


def test_true_components_are_those_of_the_generator(
    trial: Trial, fitted: Fitted, held: TrueFit
) -> None:
    sd, lines = held.components.sd, trial.world.truth.world.lines
    assert sd["body by model line"] == pytest.approx(rms(lines.body_effect))
    assert sd["year level by model line"] == pytest.approx(rms(lines.year_level))
    level = np.sqrt(0.25 + 1) * trial.world.settings.level_sd  # a month of one segment
    assert 0.2 * level < sd["market level"] < level
    red = np.var(list(trial.world.truth.world.effects.levels["colour"].values()), ddof=1)
    assert sd["colour level"] == pytest.approx(np.sqrt(red), rel=0.2)
    slopes = lines.condition_slope
    assert sd["condition_grade by model line"] == pytest.approx(
        0.3 * np.std(slopes / slopes.mean()), rel=0.6
    )
    absent = {"wording", "colour by make", "specification by model line", "mileage curve"}
    assert not absent & set(sd)
    assert set(held.components.sources) == {"derived", "drawn", "kept", "none", "projected"}
    assert held.components.sources["kept"] == 1
    silent = make_trial("silence for a reason", 300, BUILDING)
    table = silent.data.take(silent.train).table
    spec = learn_spec(table, settings=FeatureSettings(), assumptions=default_assumptions())
    found = true_components(silent, spec, table, fitted)
    # Words and versions stand in for what sellers leave out: nobody can say how far.
    assert found.sources["kept"] > 5
    assert sum(found.sources.values()) == sum(t.penalty == "estimated" for t in spec.terms)


def test_the_level_of_a_line_moves_beside_that_of_its_make(trial: Trial) -> None:
    table = trial.data.table.take(trial.train)
    day = table.numbers["day"]
    walk = Walk("day", nodes=(float(day.min()), float(day.max())))
    lines, makes = (table.factors[k].levels for k in ("line", "make"))
    terms = tuple(
        Term(name, "market", Crossed("day", walk, by, groups, tuple(range(len(groups)))))
        for name, by, groups in (
            ("market level by make", "make", makes),
            ("market level by model line", "line", lines),
        )
    )
    found = market_steps(FeatureSpec(terms, lines), table, trial)
    path, ends = trial.world.truth.world.levels, np.array([day.min(), day.max()])
    segment = trial.world.truth.world.lines.segment[trial.world.truth.state["line"][trial.train]]
    moved = np.array([np.diff(path.at(np.full(2, s), ends))[0] for s in segment])
    line, make = (table.factors[k].codes for k in ("line", "make"))
    own = [moved[line == k][0] - moved[make == make[line == k][0]].mean() for k in np.unique(line)]
    assert found["market level by model line"] == pytest.approx(rms(own))
    beside = [moved[make == k].mean() - moved.mean() for k in np.unique(make)]
    assert found["market level by make"] == pytest.approx(rms(beside))


def test_held_blocks_are_assumed_to_vary_about_zero(held: TrueFit) -> None:
    for term in held.spec.terms:
        assert term.penalty != "estimated"
        if term.name in held.components.sd:
            assert set(term.mean) == {0.0}
            assert set(term.sd) == {held.components.sd[term.name]}


def test_errors_are_those_against_the_truth(trial: Trial, fitted: Fitted, held: TrueFit) -> None:
    found = errors_on(trial, trial.fresh, fitted, held.predict)
    truth_of = trial.world.truth
    table = trial.data.table.take(trial.fresh)
    off = fitted.spec.transform(table.to_come()).X @ fitted.coef - truth_of.expected[trial.fresh]
    assert found["n"] == len(trial.fresh)
    assert found["rmse"] == pytest.approx(rms(off))
    assert 0.03 < found["rmse_true_components"] < 0.35
    assert found["noise"] == pytest.approx(rms(truth_of.residual()[trial.fresh]))
    perfect = errors_on(trial, trial.fresh, fitted, lambda _: truth_of.expected[trial.fresh])
    assert perfect["rmse_true_components"] == 0.0
    assert errors_on(trial, trial.fresh[:0], fitted, held.predict) == {"n": 0}


def _pairs(trial: Trial, fitted: Fitted) -> list[Pair]:
    known = np.ones(len(trial.fresh), dtype=bool)
    return pairs(trial, known, fitted.last_day)


def test_cars_of_a_pair_differ_in_one_thing(trial: Trial, fitted: Fitted) -> None:
    along = {
        "variant": {"engine_size", "aspiration", "genuineness", "restorer"},
        "transmission": {"gears"},
    }
    some = _pairs(trial, fitted)
    assert len({p.attribute for p in some}) > 22
    for p in some:
        keys = p.first.values.keys() | p.second.values.keys()
        changed = {k for k in keys if p.first.values.get(k) != p.second.values.get(k)}
        sale = {k for k in p.first.sale if p.first.sale[k] != p.second.sale[k]}
        if p.attribute in ("place", "region"):
            assert not changed
            assert sale & {"venue", "region"}
        else:
            assert not sale
            assert p.attribute in changed
            assert changed <= {p.attribute} | along.get(p.attribute, set())


def test_true_differences_are_those_of_the_market(trial: Trial, fitted: Fitted) -> None:
    day = np.datetime64(int(fitted.last_day), "D").astype(object)
    for p in _pairs(trial, fitted)[::3]:
        prices = []
        for car in (p.first, p.second):
            sale = {k: car.sale[k] for k in ("channel", "venue", "region", "basis")}
            silent: dict[str, Value] = {"history": (), "equipment": ()}
            told = {**silent, **car.values}
            prices.append(trial.world.true_log_price(told, day=day, **sale))
        assert prices[1] - prices[0] == pytest.approx(p.true, abs=1e-9), p.attribute


def test_a_wrong_truth_is_noticed(trial: Trial, fitted: Fitted) -> None:
    right = effect_counts(trial, fitted, fitted.last_day)
    known = trial.world.truth
    swapped = {k: {w: -3 * e for w, e in v.items()} for k, v in known.world.effects.levels.items()}
    curves = {k: -v for k, v in known.world.effects.curves.items()}
    effects = replace(known.world.effects, levels=swapped, curves=curves)
    world = replace(trial.world, truth=replace(known, world=replace(known.world, effects=effects)))
    wrong = effect_counts(replace(trial, world=world), fitted, fitted.last_day)
    shares = [coverage_row({1: {"effects": e}}, None)["inside %"] for e in (right, wrong)]
    assert shares[0] > 65
    assert shares[1] < shares[0] - 20
    assert coverage_row({1: {"effects": wrong}}, "condition_grade")["inside %"] < 10


def test_effects_are_tallied() -> None:
    counts: dict[str, float] = {}
    tally(counts, 0.1, 0.1, 0.5)
    tally(counts, -0.3, 0.1, 0.5)
    tally(counts, 0.2, 0.0, 0.2)
    assert counts == pytest.approx(
        {
            "tries": 3,
            "hits": 1,
            "blind": 1,
            "error2": 0.14,
            "sd2": 0.02,
            "true2": 0.54,
            "z2": 10,
            "off": 0.0,
        }
    )
    row = coverage_row({1: {"effects": {"body": counts}}}, "body")
    assert (row["effects"], row["inside %"], row["no column %"]) == (3, 33.3, 33.3)
    assert row["rms error/sd"] == round(np.sqrt(5), 2)


def test_the_index_is_the_walk_about_its_mean(trial: Trial, fitted: Fitted) -> None:
    table = trial.data.table.take(trial.train)
    days = np.linspace(table.numbers["day"].min(), table.numbers["day"].max(), 50)
    path, sd = index_of(fitted, table, days)
    assert path.mean() == pytest.approx(0.0, abs=1e-12)
    assert (path.shape, sd.shape) == ((50,), (50,))
    assert (sd > 0).all()
    assert np.ptp(path) > 0.01
    bare = replace(fitted, spec=fitted.spec.only({"body level"}))
    assert index_of(bare, table, days)[0].tolist() == [0.0] * 50


def test_the_band_of_one_model_line_is_that_of_its_columns(trial: Trial, fitted: Fitted) -> None:
    table = trial.data.table.take(trial.train)
    day, lines = table.numbers["day"], fitted.spec.lines
    walk = Walk("day", nodes=(float(day.min()), 18_800.0, float(day.max())))
    pairs_of = tuple(range(2 * len(lines)))
    local = Term("local level", "market", Crossed("day", walk, "line", lines, pairs_of))
    spec = FeatureSpec((*fitted.spec.terms, local), lines, fitted.spec.usual)
    design = spec.transform(table)
    model = HedonicRegressor(spec.layout()).fit(design.X, trial.data.log_price[trial.train])
    richer = replace(fitted, spec=spec, coef=model.coef_, posterior=model.posterior_)
    one = table.take(np.flatnonzero(design.line == 0))
    days = np.array([day.min(), day.max()])
    path, sd = index_of(richer, one, days)
    X = spec.only({"market level", "market level by make", "local level"})
    row = one.take(np.zeros(2, dtype=int))
    cells = X.transform(replace(row, numbers={**row.numbers, "day": days})).X.toarray()
    half = (cells[1] - cells[0]) / 2
    market = np.flatnonzero(
        [t.name in {u.name for u in X.terms} for t in spec.terms for _ in t.encoder.labels]
    )
    assert path[1] == pytest.approx(float(half @ model.coef_[market]))
    used = np.flatnonzero(half)
    assert spec.is_local[market[used]].any()
    variance = richer.quadratic(0, market[used], half[used])
    assert sd[1] == pytest.approx(np.sqrt(variance), rel=1e-3)


def test_a_stopped_run_goes_on_where_it_was(tmp_path: Path) -> None:
    job = Job("fit", "plain", 300, 1)
    Cache(tmp_path, "a").keep(job, {"x": np.float64(0.1)}, {"fit": 2.0})
    with (tmp_path / "truth.jsonl").open("a", encoding="utf-8") as stream:
        stream.write('\n{"digest": "a", "job"')
    again = Cache(tmp_path, "a")
    assert again.measures("fit", "plain", 300) == {1: {"x": 0.1}}
    again.keep(replace(job, seed=2), {"x": 0.2}, {})
    assert list(Cache(tmp_path, "a").measures("fit", "plain", 300)) == [1, 2]
    assert Cache(tmp_path, "other sources").results == {}


def test_the_command_prints_and_saves_the_same_tables_twice(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(truth, "measure_fit", _made_up)
    monkeypatch.setattr(truth, "measure_range", _made_up_range)
    words = "--sizes 300 1000 --seeds 3 --broken-sizes 300 --broken-seeds 2 --range-seeds 2"
    words += " --markets plain"
    for name in ("one", "two"):
        truth.main([*words.split(), "heavy tails", "--out", str(tmp_path / name)])
    out = capsys.readouterr().out
    assert all(title in out for title in truth.TITLES.values())
    pages = [sorted((tmp_path / name).glob("truth*")) for name in ("one", "two")]
    assert [p.name for p in pages[0]] == sorted(
        [*(f"truth_{name}.csv" for name in truth.TITLES), "truth.md", "truth_seconds.csv"]
    )
    for one, two in zip(*pages, strict=True):
        assert one.read_bytes() == two.read_bytes(), one.name
    error = (tmp_path / "one" / "truth_error.csv").read_text(encoding="utf-8").splitlines()
    assert error[1].startswith("300,same months,3,0.2,0.1,0.2,1.0,1.000 to 1.000,")
    slopes = (tmp_path / "one" / "truth_sizes.csv").read_text(encoding="utf-8")
    assert "rmse of new cars,0.0,0.2,0.2" in slopes


def _made_up(market: str, size: int, seed: int) -> tuple[dict[str, Any], dict[str, float]]:
    errors = {
        "n": 9,
        "rmse": 0.2,
        "median": 0.1,
        "rmse_with_closest": 0.19,
        "rmse_true_components": 0.2,
        "median_true_components": 0.1,
        "noise": 0.15,
        "rmse_with_noise": 0.25,
        "bias": 0.0,
    }
    counts: dict[str, float] = {}
    tally(counts, 0.05 * (seed % 3), 0.04, 0.3)
    index = {"error": 0.02, "inside": 0.9, "sd": 0.02, "true_movement": 0.05}
    measures = {
        "fresh": errors,
        "later": errors,
        "effects": {"body": counts},
        "index": index,
        "components": {"drawn": 5, "none": 30},
    }
    return measures, {"fit": float(size)}


def _made_up_range(market: str, size: int, seed: int) -> tuple[dict[str, Any], dict[str, float]]:
    measures = {
        "tested": 10,
        "priced": 9,
        "covered": 7,
        "median_error": 0.1,
        "median_log_width": 0.4,
    }
    return json.loads(json.dumps(measures)), {"backtest": 1.0}


def test_markdown_has_a_row_a_row() -> None:
    table = truth.pd.DataFrame({"sales": [300, 1000], "share": [0.5, float("nan")]})
    assert as_markdown(table) == "| sales | share |\n|---|---|\n| 300 | 0.5 |\n| 1,000 |  |"
