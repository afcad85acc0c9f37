"""The form asks everything once, in words that the reader knows."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from valuation.inspection.form import Form, Place
from valuation.inspection.form_parts import OPEN_WORDS, inspection_form
from valuation.inspection.settings import STATUSES, InspectionSettings
from valuation.schema import BY_NAME, MODIFICATION_KINDS


@pytest.fixture(scope="module")
def form(settings: InspectionSettings) -> Form:
    return inspection_form(settings)


def words(form: Form, *place: str) -> tuple[str | float, ...]:
    box = form.box(Place(*place))
    assert box is not None
    return box.words


def test_every_zone_component_and_group_is_asked(form: Form, settings: InspectionSettings) -> None:
    names = {p.name: [r.name for r in p.rows] for p in form.parts}
    assert names["zones"] == [z.name for z in settings.zones]
    assert names["components"] == [c.name for c in settings.components]
    assert names["preview"] == [g.name for g in settings.groups]
    assert names["documents"] == list(BY_NAME["documents"].levels)
    assert names["history"] == list(BY_NAME["history"].levels)


def test_no_place_is_asked_twice_and_each_has_a_plain_key(form: Form) -> None:
    places = form.places()
    assert len(set(places)) == len(places) > 350
    for place in places:
        assert re.fullmatch(r"[a-z_]+", place.part)
        assert re.fullmatch(r"[a-z_]+", place.box)
        assert not re.search(r"[/|]", place.row)


@pytest.mark.parametrize("zone", ["paint", "top"])
def test_only_what_can_be_absent_can_be_said_to_be(form: Form, zone: str) -> None:
    answers = [w for w in words(form, "zones", zone, "mark") if isinstance(w, str)]
    assert set(OPEN_WORDS) <= set(answers)
    assert ("not on this car" in answers) == (zone == "top")
    assert 7.5 in words(form, "zones", zone, "mark")


def test_a_component_is_asked_only_what_it_can_carry(form: Form) -> None:
    boxes = {r.name: [b.name for b in r.boxes] for r in form.part("components").rows}
    assert "number" in boxes["engine_block"]
    assert "number" not in boxes["heads"]
    assert "dates" not in boxes["interior"]
    assert "part_number" not in boxes["glass"]
    assert "numbers-matching" not in words(form, "components", "heads", "claim")
    assert "date-correct" not in words(form, "components", "interior", "claim")
    assert "missing" not in words(form, "components", "floors_and_inner", "claim")
    assert set(STATUSES) <= set(words(form, "components", "engine_block", "claim"))


def test_words_are_those_of_the_contract(form: Form) -> None:
    assert set(BY_NAME["title_status"].levels) < set(words(form, "car", "", "title_status"))
    assert words(form, "modifications", "3", "kind") == MODIFICATION_KINDS
    assert {"cannot be told", *OPEN_WORDS} < set(words(form, "changes", "", "restoration"))


@pytest.mark.parametrize(
    ("place", "said"),
    [
        (("car", "", "built"), "Built"),
        (("zones", "paint", "mark"), "Paint, mark"),
        (("history", "long stored", "answer"), "Long stored"),
        (("defects", "3", "low"), "Defects, line 3, cost, low"),
        (("documents", "bills", "notes"), "Bills, notes and photographs"),
    ],
)
def test_a_place_has_a_name_for_people(form: Form, place: tuple[str, ...], said: str) -> None:
    assert form.label(Place(*place)) == said


def test_a_place_that_is_not_asked_is_none(form: Form) -> None:
    assert form.box(Place("zones", "fins", "mark")) is None
    assert form.box(Place("fins", "", "mark")) is None
    assert form.box(Place("defects", "0", "low")) is None
    assert form.box(Place("defects", "99", "low")) is not None
    with pytest.raises(KeyError):
        form.label(Place("zones", "fins", "mark"))
    with pytest.raises(KeyError):
        form.part("fins")


def test_a_firm_with_zones_of_its_own_gets_its_own_form(settings: InspectionSettings) -> None:
    own = replace(settings, zones=settings.zones[:3])
    assert len(inspection_form(own).part("zones").rows) == 3
