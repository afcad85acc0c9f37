"""Whatever can be written on a sheet is read back, from either kind of file."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, Phase, given
from hypothesis import settings as options
from hypothesis import strategies as st

from valuation.inspection.evidence import PAPERS
from valuation.inspection.form import Box, Place
from valuation.inspection.form_parts import inspection_form
from valuation.inspection.inspection import Inspection, read_sheet
from valuation.inspection.settings_file import default_inspection_settings
from valuation.inspection.sheet import entry_text
from valuation.inspection.sheet_files import load_sheet
from valuation.inspection.sheet_toml import sheet_toml
from valuation.inspection.sheet_workbook import sheet_bytes
from valuation.records import Car
from valuation.schema import BY_NAME

SETTINGS = default_inspection_settings()
FORM = inspection_form(SETTINGS)
# Four hundred boxes are shrunk for minutes; the first sheet that fails tells as much.
FEW = options(
    deadline=None,
    max_examples=12,
    phases=(Phase.explicit, Phase.reuse, Phase.generate),
    suppress_health_check=[HealthCheck.too_slow],
)
Filled = dict[Place, Any]

DATES = ("12 March 1969", "March 1969", "week 12 of 1969", "model year 1969", "1969-03-12", "1969")
texts = st.text(st.characters(codec="ascii", categories=("L", "N")), min_size=1, max_size=12).map(
    lambda text: f"x{text}"
)
listed = st.lists(texts, min_size=1, max_size=3).map("; ".join)
BY_BOX: dict[str, st.SearchStrategy[Any]] = {
    "seen_on": st.sampled_from(("2024-12-09", "9 December 2024")),
    "currency": st.sampled_from(("LYD", "eur")),
    "built": st.sampled_from(DATES),
    "first_registered": st.sampled_from(DATES),
    "dates": st.sampled_from(DATES).map(lambda d: f"cast {d}; assembled {d}"),
    "part_years": st.sampled_from(("1966-1969", "1968")),
    "papers": st.lists(st.sampled_from(PAPERS), min_size=1, unique=True).map("; ".join),
    "photographs": listed,
    "year": st.integers(1890, 2050),
    "year_on_title": st.integers(1890, 2050),
    "mileage": st.sampled_from((58_400, "31,200 km", "60,000 miles")),
    "engine_size": st.sampled_from((3.2, "2.0")),
    "gears": st.integers(3, 6),
    "asking": st.sampled_from((46_500, "46,500", 12_345.67)),
    "title_days": st.integers(0, 90),
    "low": st.sampled_from((0, 150, "1,200")),
    "title_low": st.sampled_from((0, 150, "1,200")),
    "high": st.sampled_from((1_200, 2_500.5)),
    "title_high": st.sampled_from((1_200, 2_500.5)),
    "body": st.sampled_from(("coupe", "convertible")),
    "colour": st.sampled_from(("green", "blue")),
}


def entry_of(box: Box) -> st.SearchStrategy[Any]:
    return st.sampled_from(box.words) if box.words else BY_BOX.get(box.name, texts)


def strategy_of(place: Place) -> st.SearchStrategy[Any]:
    box = FORM.box(place)
    assert box is not None
    return entry_of(box)


PLACES = FORM.places()
everything = st.fixed_dictionaries({p: strategy_of(p) for p in PLACES})
# Amounts need the currency and a line needs its kind; all else may be left empty.
NEEDED = {p for p in PLACES if p.box in ("currency", "kind")}
halves = st.fixed_dictionaries(
    {p: strategy_of(p) for p in NEEDED},
    optional={p: strategy_of(p) for p in PLACES if p not in NEEDED},
)


def through(filled: Filled, ending: str) -> tuple[dict[Place, str], Inspection]:
    """Return what is read back from a file, and what it comes to."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"sheet.{ending}"
        if ending == "xlsx":
            path.write_bytes(sheet_bytes(FORM, filled))
        else:
            path.write_text(sheet_toml(FORM, filled), encoding="utf-8")
        sheet = load_sheet(path, SETTINGS)
        assert sheet.faults == ()
        return {p: entry_text(v) for p, v in sheet.entries.items()}, read_sheet(path, SETTINGS)


def comparable(found: Inspection) -> dict[str, Any]:
    return {key: value for key, value in found.to_dict().items() if key != "sheet"}


def assert_one_place_each(car: Car) -> None:
    places = [set(car.values), {f.attribute for f in car.open}, car.not_looked_at]
    places.append(car.cannot_be_told)
    assert sum(map(len, places)) == len(frozenset().union(*places))
    for fact in car.open:
        attribute = BY_NAME[fact.attribute]
        if attribute.kind == "number":
            assert fact.low is not None
            assert fact.high is not None
            assert attribute.low <= fact.low < fact.high <= attribute.high
        else:
            assert len(set(fact.levels)) == len(fact.levels) > 0
            pieces = {w for level in fact.levels for w in _pieces(attribute.kind, level)}
            assert pieces <= set(attribute.levels)


def _pieces(kind: str, level: str) -> list[str]:
    return [w for w in level.split("; ") if w != "none"] if kind == "set" else [level]


@FEW
@given(everything)
def test_a_full_sheet_reads_back_from_both_files(filled: Filled) -> None:
    read, found = through(filled, "xlsx")
    assert read == {p: entry_text(v) for p, v in filled.items()}
    again, same = through(filled, "toml")
    assert again == read
    assert comparable(same) == comparable(found)
    assert_one_place_each(found.to_car())


@FEW
@given(halves)
def test_a_half_filled_sheet_is_as_good(filled: Filled) -> None:
    read, found = through(filled, "toml")
    assert read == {p: entry_text(v) for p, v in filled.items()}
    assert_one_place_each(found.to_car())
    assert found.summary().endswith(found.cautions[-1])
    grade = found.settled.open.get("condition_grade")
    if grade is not None:
        assert grade.low is not None
        assert grade.high is not None
        assert grade.low <= found.grade.low <= found.grade.high <= grade.high
        assert grade.high - grade.low <= found.grade.high - found.grade.low + 0.02
