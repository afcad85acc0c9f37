"""Cars of the invented world: plausible on their own, and after some years."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from valuation.synthetic.cars import age_cars, draw_cars, take
from valuation.synthetic.catalogue import draw_lines
from valuation.synthetic.effects import LEVELS, SETS
from valuation.synthetic.settings import MarketSettings

N = 8000
LINES = draw_lines(MarketSettings(), np.random.default_rng(1))


@pytest.fixture(scope="module")
def cars() -> dict[str, np.ndarray]:
    return draw_cars(N, LINES, np.full(N, 2021), np.random.default_rng(2))


def test_years_lie_within_the_line_and_ten_years_before_the_sale(
    cars: dict[str, np.ndarray],
) -> None:
    line = cars["line"]
    assert (cars["year"] >= LINES.first[line]).all()
    assert (cars["year"] <= LINES.last[line]).all()
    assert (2021 - cars["year"] >= 10).all()


def test_generation_is_that_of_the_year(cars: dict[str, np.ndarray]) -> None:
    starts = LINES.generation_start[cars["line"]]
    begun = np.take_along_axis(starts, cars["generation"][:, None].astype(int), axis=1)[:, 0]
    assert (begun <= cars["year"]).all()
    assert (cars["generation"] >= 0).all()


def test_versions_and_bodies_are_those_of_the_line(cars: dict[str, np.ndarray]) -> None:
    assert (LINES.variant_share[cars["line"], cars["variant"]] > 0).all()
    assert (LINES.body_share[cars["line"], cars["body"]] > 0).all()


def test_shares_are_those_of_the_plan(cars: dict[str, np.ndarray]) -> None:
    quill = next(i for i, s in enumerate(LINES.specs) if s.model == "Quill")
    rows = cars["line"] == quill
    rare = LINES.variant_rare[quill, cars["variant"][rows]]
    expected = LINES.variant_share[quill][LINES.variant_rare[quill]].sum()
    assert rare.mean() == pytest.approx(expected, abs=4 * np.sqrt(expected / rows.sum()))


def test_numbers_lie_on_their_scales(cars: dict[str, np.ndarray]) -> None:
    for name in ("condition_grade", "originality_score"):
        assert ((cars[name] >= 0) & (cars[name] <= 100)).all()
        assert np.std(cars[name]) > 10
    assert (cars["mileage"] >= 0).all()


def test_old_odometers_have_five_digits(cars: dict[str, np.ndarray]) -> None:
    old = cars["year"] < 1985
    assert cars["mileage"][old].max() < 100_000
    assert cars["mileage"][~old].max() > 100_000


def test_cared_for_cars_are_better_in_every_way(cars: dict[str, np.ndarray]) -> None:
    documents = np.bitwise_count(cars["documents"])
    table = pd.DataFrame({"documents": documents, **{k: cars[k] for k in ("care", "mileage")}})
    table["condition"] = cars["condition_grade"]
    correlation = table.corr()["care"]
    assert correlation["condition"] > 0.3
    assert correlation["documents"] > 0.2
    assert correlation["mileage"] < 0


def test_modified_cars_are_less_original(cars: dict[str, np.ndarray]) -> None:
    many = np.bitwise_count(cars["modifications"]) >= 3
    none = cars["modifications"] == 0
    assert cars["originality_score"][many].mean() < cars["originality_score"][none].mean() - 15


def test_masks_use_only_bits_that_have_words(cars: dict[str, np.ndarray]) -> None:
    for name, words in SETS.items():
        assert cars[name].max() < 1 << len(words)
        assert cars[name].min() >= 0


def test_codes_are_positions_in_their_levels(cars: dict[str, np.ndarray]) -> None:
    for name, levels in LEVELS.items():
        if name in cars:
            assert cars[name].max() < len(levels)
            assert cars[name].min() >= -1


def test_documented_genuine_cars_have_a_build_record(cars: dict[str, np.ndarray]) -> None:
    record = cars["documents"] & (1 << SETS["documents"].index("build record")) > 0
    documented = cars["genuineness"] == LEVELS["genuineness"].index("genuine, documented")
    assert record[documented].mean() > 0.9
    assert record[~documented].mean() < 0.5


def test_semi_automatic_gearboxes_are_modern(cars: dict[str, np.ndarray]) -> None:
    semi = cars["transmission"] == LEVELS["transmission"].index("semi-automatic")
    assert cars["year"][semi].min() >= 1997


def test_years_pass(cars: dict[str, np.ndarray]) -> None:
    before = take(cars, np.arange(2000))
    copy = {name: values.copy() for name, values in before.items()}
    after = age_cars(before, np.full(2000, 4.0), np.random.default_rng(3))
    assert all((before[name] == copy[name]).all() for name in before)
    assert (after["mileage"] > before["mileage"]).all()
    worn = after["restoration"] == before["restoration"]
    change = (after["condition_grade"] - before["condition_grade"])[worn]
    assert -5 < change.mean() < -2
    put_right = ~worn
    assert 0.05 < put_right.mean() < 0.15
    assert after["condition_grade"][put_right].min() >= 78
    assert (after["colour"] == before["colour"]).all()
