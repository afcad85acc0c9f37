"""The listings that come with the synthetic market read as a person labelled them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from valuation.reading.statements import read_statements

FOLDER = Path(__file__).parents[3] / "data_synthetic" / "listings"
EXPECTED = json.loads((FOLDER / "expected.json").read_text(encoding="utf-8"))


def test_every_listing_has_its_expected_reading() -> None:
    assert sorted(p.name for p in FOLDER.glob("*.txt")) == sorted(EXPECTED)


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_the_reader_finds_what_a_person_found(name: str) -> None:
    text = (FOLDER / name).read_text(encoding="utf-8")
    found = {(s.topic, s.value, s.strength) for s in read_statements(text)}
    assert found == {(s["topic"], s["value"], s["strength"]) for s in EXPECTED[name]}
    assert len({s["strength"] for s in EXPECTED[name]}) >= 4
