"""Facts that are not settled: read from a car file, written back, every wrong entry named."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.errors import CarFileError
from valuation.importing.car_file import car_from_values, complete_car, read_car, write_car
from valuation.importing.open_facts import OPEN_KEYS
from valuation.records import Car, OpenFact
from valuation.schema import ATTRIBUTES

FILE = """
make = "Kora"
year = 1967
title = "1967 Kora GT 4-Speed Manual"
description = "Matching numbers."

[[open]]
attribute = "engine_originality"
could_be = ["date-correct", "correct type"]
claim = "numbers-matching"
contradiction = "The block was cast on 3 May 1968, after the car was built on 12 June 1967."
where = "engine block, stamped pad"
tool = "torch, soft brush"
how = "Read the number and compare it with the chassis."
minutes = 10

[[open]]
attribute = "condition_grade"
between = [55, 71.5]

[[open]]
attribute = "transmission"
could_be = ["A/T", "manual"]

[[open]]
attribute = "documents"
could_be = ["none", "bills; build record"]

[[open]]
attribute = "mileage"
between = ["48,000 km", 41000]
"""


def test_open_facts_are_read(tmp_path: Path) -> None:
    path = tmp_path / "car.toml"
    path.write_text(FILE, encoding="utf-8")
    car = read_car(path)
    engine, grade, gearbox, papers, miles = car.open
    assert engine == OpenFact(
        "engine_originality",
        ("date-correct", "correct type"),
        claim="numbers-matching",
        contradiction="The block was cast on 3 May 1968, after the car was built on 12 June 1967.",
        where="engine block, stamped pad",
        tool="torch, soft brush",
        how="Read the number and compare it with the chassis.",
        minutes=10.0,
    )
    assert grade == OpenFact("condition_grade", low=55.0, high=71.5)
    assert gearbox.levels == ("automatic", "manual")
    assert papers.levels == ("none", "bills; build record")
    assert (miles.low, miles.high) == (pytest.approx(29_826, abs=1), 41_000.0)


def test_an_open_fact_is_not_filled_from_words(tmp_path: Path) -> None:
    path = tmp_path / "car.toml"
    path.write_text(FILE, encoding="utf-8")
    car = read_car(path)
    assert "engine_originality" not in car.values
    assert "transmission" not in car.values
    assert car.values["gears"] == 4.0
    assert "transmission" not in complete_car(car, {"Kora": ("GT",)}).values


def test_an_open_fact_can_be_anything() -> None:
    (fact,) = car_from_values({"open": [{"attribute": "restoration"}]}).open
    assert fact == OpenFact("restoration")


def test_what_is_named_twice_counts_once() -> None:
    entry = {"attribute": "transmission", "could_be": ["manual", "M/T"]}
    assert car_from_values({"open": [entry]}).open[0].levels == ("manual",)


FACT = {"attribute": "engine_originality"}


@pytest.mark.parametrize(
    ("entry", "message"),
    [
        ("yes", "open has to be tables, each under [[open]] (got: yes)"),
        (["yes"], "open has to be tables, each under [[open]] (got: ['yes'])"),
        ([{}], "open 1.attribute has to be an attribute such as engine_originality (got: )"),
        (
            [{"attribute": "luck"}],
            "open 1.attribute has to be an attribute such as engine_originality (got: luck)",
        ),
        ([FACT, FACT], "open 2.attribute has to be named once (got: engine_originality)"),
        (
            [FACT | {"coud_be": ["a"]}],
            f"open 1.coud_be has to be one of the keys {', '.join(OPEN_KEYS)} (got: coud_be)",
        ),
        (
            [FACT | {"could_be": "date-correct"}],
            'open 1.could_be has to be a list of words, such as ["a", "b"] (got: date-correct)',
        ),
        (
            [FACT | {"could_be": []}],
            'open 1.could_be has to be a list of words, such as ["a", "b"] (got: [])',
        ),
        (
            [FACT | {"could_be": ["fine"]}],
            "open 1.could_be has to be one of numbers-matching, date-correct, correct type, "
            "maker's service replacement, period replacement, later replacement (got: fine)",
        ),
        (
            [FACT | {"between": [1, 2]}],
            "open 1.between has to be left out: engine_originality is no number, use could_be "
            "(got: [1, 2])",
        ),
        (
            [{"attribute": "gears", "could_be": [4, 5]}],
            "open 1.could_be has to be left out for a number, which is between = [low, high] "
            "(got: [4, 5])",
        ),
        (
            [{"attribute": "gears", "between": 4}],
            "open 1.between has to be two numbers, such as [55, 75] (got: 4)",
        ),
        (
            [{"attribute": "gears", "between": [5, 4]}],
            "open 1.between has to be the lower number first (got: [5, 4])",
        ),
        (
            [{"attribute": "gears", "between": [4, 99]}],
            "open 1.between has to be a number from 1 to 12 (got: 99)",
        ),
        (
            [{"attribute": "mileage", "between": ["TMU", 9]}],
            "open 1.between has to be two numbers, such as [55, 75] (got: TMU)",
        ),
        (
            [{"attribute": "colour", "could_be": ["?"]}],
            "open 1.could_be has to be a known colour (got: ?)",
        ),
        ([FACT | {"claim": 3}], "open 1.claim has to be text between quotation marks (got: 3)"),
        (
            [FACT | {"minutes": "soon"}],
            "open 1.minutes has to be a number of minutes, such as 5 (got: soon)",
        ),
        (
            [FACT | {"minutes": True}],
            "open 1.minutes has to be a number of minutes, such as 5 (got: True)",
        ),
    ],
)
def test_wrong_entries(entry: Any, message: str) -> None:
    with pytest.raises(CarFileError) as error:
        car_from_values({"open": entry}, where="car.toml")
    assert str(error.value) == f"car.toml: one entry is wrong: {message}. Correct it."


@pytest.mark.parametrize("answer", ["date-correct", "not looked at", "cannot be told"])
def test_a_fact_is_open_or_has_an_answer(answer: str) -> None:
    with pytest.raises(CarFileError) as error:
        car_from_values({"engine_originality": answer, "open": [FACT]})
    assert str(error.value) == (
        "car: one entry is wrong: open 1.attribute has to be left out, or the entry of that name: "
        "a fact is open or has an answer (got: engine_originality). Correct it."
    )


def test_wrong_open_facts_are_named_with_the_rest_of_the_file() -> None:
    wrong = [FACT | {"minutes": -1, "how": 4}, {"attribute": "gears", "between": [0, 99]}]
    with pytest.raises(CarFileError) as error:
        car_from_values({"year": 1, "open": wrong})
    assert str(error.value).startswith("car: 5 entries are wrong: year has to be")


WORDS = st.text(
    st.characters(exclude_categories=("Cs",), exclude_characters="\r"), max_size=20
).map(str.strip)
MINUTES = st.none() | st.floats(0, 1000).map(lambda x: round(x, 1))


@st.composite
def facts(draw: st.DrawFn) -> OpenFact:
    """Draw an open fact of any attribute, as the reader would give it back."""
    a = draw(st.sampled_from([a for a in ATTRIBUTES if a.kind == "number" or a.levels]))
    texts = {k: draw(WORDS) for k in ("claim", "contradiction", "where", "tool", "how")}
    levels: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    if draw(st.booleans()):
        pass
    elif a.kind == "number":
        low, high = sorted(draw(st.tuples(*2 * [st.floats(a.low, a.high)])))
    elif a.kind == "set":
        sets = st.sets(st.sampled_from(a.levels), max_size=3)
        texts_of = [("; ".join(sorted(s)) or "none") for s in draw(st.lists(sets, min_size=1))]
        levels = tuple(dict.fromkeys(texts_of))
    else:
        some = st.lists(st.sampled_from(a.levels), min_size=1, unique=True)
        levels = tuple(draw(some))
    return OpenFact(a.name, levels, low, high, minutes=draw(MINUTES), **texts)


@given(st.lists(facts(), max_size=4, unique_by=lambda f: f.attribute), st.sampled_from([1967.0]))
def test_open_facts_come_back_from_a_file(drawn: list[OpenFact], year: float) -> None:
    values = {} if any(f.attribute == "year" for f in drawn) else {"year": year}
    car = Car(values, label="Green one", open=tuple(drawn))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "car.toml"
        write_car(car, path)
        assert read_car(path) == car
