"""The sheet as text: the same boxes, told how they are filled in."""

from __future__ import annotations

import tomllib

import pytest

from valuation.inspection.cautions import SAFETY
from valuation.inspection.form import Form, Place
from valuation.inspection.form_parts import inspection_form
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.sheet_toml import entries_of_toml, sheet_toml


@pytest.fixture(scope="module")
def form(settings: InspectionSettings) -> Form:
    return inspection_form(settings)


def test_an_empty_sheet_holds_every_box_once(form: Form) -> None:
    content = tomllib.loads(sheet_toml(form))
    for place in form.places():
        part = form.part(place.part)
        if part.shape == "lines":
            assert place.part not in content
            continue
        table = content[place.part]
        if part.shape == "named" and not part.flat:
            table = table[place.row]
        assert table[place.row if part.flat else place.box] == ""


def test_it_bears_the_cautions_and_says_what_can_be_chosen(form: Form) -> None:
    text = " ".join(line.lstrip("# ") for line in sheet_toml(form).splitlines())
    text = " ".join(text.split())
    assert all(caution in text for caution in SAFETY)
    assert "title_status: Title; clear | not in the seller's name | lien | missing | " in text
    assert "how_bad: slight | marked | severe | dangerous" in text
    assert "Body structure and rust. Sills, posts, bulkhead, floors" in text
    assert max(map(len, sheet_toml(form).splitlines())) <= 100


def test_the_same_form_gives_the_same_text(form: Form) -> None:
    assert sheet_toml(form) == sheet_toml(form)


def test_lines_keep_their_numbers(form: Form) -> None:
    filled = {Place("defects", "3", "what"): 'rust, "bad"\nand wet', Place("car", "", "lot"): 7}
    sheet = entries_of_toml("a.toml", sheet_toml(form, filled).encode(), form)
    assert dict(sheet.entries) == filled
    assert sheet.where[Place("defects", "3", "what")] == "defects, number 3.what"


def test_lists_days_and_byte_order_marks_are_read(form: Form) -> None:
    text = "\ufeff[car]\nseen_on = 2024-12-09\n[zones.paint]\nphotographs = ['a', 'b']\n"
    sheet = entries_of_toml("a.toml", text.encode(), form)
    assert sheet.text("car", "", "seen_on") == "2024-12-09"
    assert sheet.text("zones", "paint", "photographs") == "a; b"
