from __future__ import annotations

import pytest

from valuation.reading.vocabulary import levels_of, read_level, read_set
from valuation.schema import ATTRIBUTES, SALE_FIELDS


@pytest.mark.parametrize("entry", [e for e in (*SALE_FIELDS, *ATTRIBUTES) if e.levels])
def test_every_level_of_the_contract_reads_as_itself(entry: object) -> None:
    name = entry.name
    for level in levels_of(name):
        if entry.kind == "set":
            assert read_set(name, level) == ((level,), ())
        else:
            assert read_level(name, level) == level
            assert read_level(name, f" {level.upper()} ") == level


@pytest.mark.parametrize(
    ("name", "text", "level"),
    [
        ("steering_side", "RHD", "right"),
        ("steering_side", "left-hand drive", "left"),
        ("outcome", "bid to", "not sold"),
        ("outcome", "yes", "sold"),
        ("outcome", "no", "not sold"),
        ("outcome", "verkauft", "sold"),
        ("reserve", "no reserve", "none"),
        ("reserve", "yes", "yes"),
        ("basis", "hammer", "hammer price"),
        ("transmission", "5-spd manual", "manual"),
        ("title_status", "Clean", "clear"),
        ("title_status", "salvage", "branded"),
        ("re_engineered", "x", "yes"),
        ("engine_originality", "matching numbers", "numbers-matching"),
        ("mileage_status", "TMU", "unknown"),
        ("genuineness", "perhaps", None),
        ("make", "Kora", None),
    ],
)
def test_what_people_write_instead(name: str, text: str, level: str | None) -> None:
    assert read_level(name, text) == level


def test_sets() -> None:
    assert read_set("documents", "build record; bills") == (("bills", "build record"), ())
    assert read_set("documents", "Bills") == (("bills",), ())
    assert read_set("documents", "none") == ((), ())
    assert read_set("documents", "") == (None, ())
    assert read_set("documents", "n/a") == (None, ())
    assert read_set("documents", "poem") == (None, ("poem",))
    assert read_set("equipment", "Hard top; books") == (("books", "hard top"), ())
    assert read_set("equipment", "hard top, books") == (("books", "hard top"), ())
    assert read_set("history", "racing; racing") == (("racing",), ())


def test_an_open_vocabulary_has_no_levels() -> None:
    assert levels_of("make") == ()
    assert levels_of("no such thing") == ()
