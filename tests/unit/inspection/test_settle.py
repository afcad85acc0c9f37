"""What an inspection settles for the price, what it leaves open, and what nobody looked at."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from valuation.inspection.inspection import Inspection, read_sheet
from valuation.inspection.settings import InspectionSettings, MakerRule
from valuation.inspection.title_states import NUMBERS_STOP
from valuation.records import OpenFact

Inspect = Callable[..., Inspection]
CAR = "[car]\nmake='Torvane'\nmodel='GT'\nyear=1969\nbuilt=1969-03-12\nchassis='TV104231'\n"
ENGINE = "[components.engine_block]\n"
PROOF = "number='104231'\nphotographs='stamp.jpg'\n"


@pytest.fixture
def inspect(settings: InspectionSettings, tmp_path: Path) -> Inspect:
    """Return what inspects a sheet from its text."""

    def reader(text: str, held: InspectionSettings = settings) -> Inspection:
        path = tmp_path / "sheet.toml"
        path.write_text(text, encoding="utf-8")
        return read_sheet(path, held)

    return reader


def fact(found: Inspection, name: str) -> OpenFact:
    (one,) = [f for f in found.to_car().open if f.attribute == name]
    return one


def test_nobody_looked_at_anything(inspect: Inspect) -> None:
    car = inspect("").to_car()
    assert dict(car.values) == {}
    assert car.open == ()
    assert car.not_looked_at == {
        "condition_grade", "originality_score", "engine_originality", "transmission_origin",
        "colour_origin", "documents", "restoration", "modifications", "re_engineered", "mileage",
        "mileage_status", "history", "title_status",
    }  # fmt: skip


# ---- Engine --------------------------------------------------------------------------------------


def test_a_shown_number_settles_the_engine(inspect: Inspect) -> None:
    car = inspect(CAR + ENGINE + "claim='numbers-matching'\n" + PROOF).to_car()
    assert car.values["engine_originality"] == "numbers-matching"


def test_original_is_numbers_matching_where_the_maker_numbered(inspect: Inspect) -> None:
    found = inspect(CAR + ENGINE + "claim='original'\n")
    assert fact(found, "engine_originality").claim == "numbers-matching"
    assert fact(found, "engine_originality").levels[0] == "numbers-matching"


def test_a_claim_without_proof_stays_open_with_what_it_may_be(inspect: Inspect) -> None:
    found = inspect(CAR + ENGINE + "claim='date-correct'\n")
    one = fact(found, "engine_originality")
    assert one.levels == (
        "date-correct", "maker's service replacement", "correct type", "period replacement",
        "later replacement",
    )  # fmt: skip
    assert (one.claim, one.contradiction) == ("date-correct", "")
    assert one.where.startswith("Engine block: stamped pad")
    assert one.tool == "torch, mirror, soft brush, solvent, camera"
    assert one.how.startswith("Clean with brush and solvent only")
    assert one.minutes == 8


def test_an_engine_cast_after_the_car_is_contradicted_with_both_dates(inspect: Inspect) -> None:
    text = "claim='numbers-matching'\ndates='cast 2 April 1969'\n" + PROOF
    one = fact(inspect(CAR + ENGINE + text), "engine_originality")
    assert one.claim == "numbers-matching"
    assert not {"numbers-matching", "date-correct"} & set(one.levels)
    # Claim and component stand beside it, so that it names neither.
    assert one.contradiction.startswith(
        "Cast on 2 April 1969, 21 days after the car was built on 12 March 1969"
    )


def test_a_contradicted_claim_stays_open_though_one_thing_is_left(inspect: Inspect) -> None:
    text = "claim='date-correct'\ndates='cast 2 April 1969'\nnumber='none'\n"
    text += "part_number='A'\npart_number_wanted='B'\n"
    one = fact(inspect(CAR + ENGINE + text), "engine_originality")
    assert "date-correct" not in one.levels
    assert one.contradiction


def test_where_no_number_was_stamped_the_best_that_can_be_shown_counts(
    inspect: Inspect, settings: InspectionSettings
) -> None:
    rule = MakerRule("Torvane", 1960, 1970, frozenset(), True, False, False, None, None, None)
    held = replace(settings, makers=(rule,))
    text = CAR + ENGINE + "claim='date-correct'\ndates='cast 20 January 1969'\npart_number='A'\n"
    found = inspect(text, held)
    assert found.to_car().values["engine_originality"] == "numbers-matching"
    assert found.to_car().notes == (
        "Engine block: this maker stamped no number in these years, so the best that can be shown "
        "counts as numbers-matching.",
    )
    assert inspect(text).to_car().values["engine_originality"] == "date-correct"


def test_not_possible_here_and_not_looked_at_are_two_answers(inspect: Inspect) -> None:
    tried = inspect(CAR + ENGINE + "claim='not possible here'\n")
    one = fact(tried, "engine_originality")
    assert one.claim == ""
    assert len(one.levels) == 6
    assert "engine_originality" not in tried.to_car().not_looked_at
    unseen = inspect(CAR + ENGINE + "claim='not looked at'\n").to_car()
    assert "engine_originality" in unseen.not_looked_at


def test_a_missing_engine_is_no_level(inspect: Inspect) -> None:
    found = inspect(CAR + ENGINE + "claim='missing'\n")
    assert "engine_originality" in found.to_car().cannot_be_told
    assert "Engine block: missing." in found.to_car().notes


# ---- Gearbox and colour --------------------------------------------------------------------------


@pytest.mark.parametrize("claim", ["later replacement", "period replacement"])
def test_another_gearbox_is_a_conversion(claim: str, inspect: Inspect) -> None:
    text = CAR + f"[components.gearbox]\nclaim='{claim}'\npart_number='GB-1'\n"
    assert inspect(text).to_car().values["transmission_origin"] == "converted later"


def test_a_gearbox_of_the_right_type_left_the_works_so(inspect: Inspect) -> None:
    text = CAR + "[components.gearbox]\nclaim='correct type'\npart_number='A'\n"
    text += "part_number_wanted='A'\n"
    assert inspect(text).to_car().values["transmission_origin"] == "as it left the works"


@pytest.mark.parametrize(
    ("claim", "also", "origin"),
    [
        ("later replacement", "", "changed"),
        ("correct type", "", "as it left the works"),
        ("correct type", "[changes]\nspecial_order='yes'\n", "special order"),
    ],
)
def test_where_a_colour_comes_from(claim: str, also: str, origin: str, inspect: Inspect) -> None:
    text = CAR + f"[components.exterior_colour]\nclaim='{claim}'\nnotes='under the carpets'\n"
    assert inspect(text + also).to_car().values["colour_origin"] == origin


def test_what_a_firm_left_out_of_its_settings_is_not_looked_at(
    inspect: Inspect, settings: InspectionSettings
) -> None:
    left = tuple(c for c in settings.components if c.name not in ("engine_block", "gearbox"))
    car = inspect(CAR, replace(settings, components=left)).to_car()
    assert {"engine_originality", "transmission_origin"} <= car.not_looked_at


# ---- Grade and score -----------------------------------------------------------------------------


def test_a_half_seen_car_has_a_span_that_holds_what_it_can_become(inspect: Inspect) -> None:
    found = inspect("[zones.paint]\nmark=7\n[zones.underside]\nmark='not possible here'\n")
    one = fact(found, "condition_grade")
    assert one.low is not None
    assert one.high is not None
    assert one.low <= found.grade.low < found.grade.high <= one.high
    assert one.where.startswith(f"{found.grade.open[0].zone.label}: ")
    assert one.minutes == sum(z.zone.minutes for z in found.grade.open)


def test_a_span_that_the_cap_closes_is_a_grade(
    inspect: Inspect, settings: InspectionSettings
) -> None:
    marks = "".join(f"[zones.{z.name}]\nmark=10\n" for z in settings.zones if not z.structural)
    marks = marks.replace("[zones.boot]\nmark=10\n", "")
    text = marks + "[zones.underside]\nmark=0\n[zones.body_structure]\nmark=0\n"
    found = inspect(text)
    assert not found.grade.settled
    assert found.to_car().values["condition_grade"] == 25.0


def test_an_open_score_names_what_contradicts_other_components(inspect: Inspect) -> None:
    text = CAR + "[components.wheels]\nclaim='date-correct'\ndates='May 1970'\n"
    one = fact(inspect(text), "originality_score")
    assert one.contradiction.startswith("Wheels: claimed to be date-correct. Dated in May 1970")
    assert one.low is not None
    assert one.high is not None
    assert one.low < one.high


# ---- Papers and words ----------------------------------------------------------------------------


def test_a_documented_version_needs_the_papers(inspect: Inspect) -> None:
    claim = "[changes]\ngenuineness='genuine, documented'\n"
    one = fact(inspect(claim), "genuineness")
    assert one.levels == ("genuine, documented", "claimed, not documented", "tribute")
    seen = claim + "[documents.'build record']\nanswer='seen'\n"
    assert inspect(seen).to_car().values["genuineness"] == "genuine, documented"
    other = "[changes]\ngenuineness='tribute'\n"
    assert inspect(other).to_car().values["genuineness"] == "tribute"


def test_version_and_engine_are_two_questions(inspect: Inspect) -> None:
    text = CAR + "[changes]\ngenuineness='genuine, documented'\n"
    text += "[documents.'build record']\nanswer='seen'\n" + ENGINE + "claim='later replacement'\n"
    car = inspect(text).to_car()
    assert car.values["genuineness"] == "genuine, documented"
    assert car.values["engine_originality"] == "later replacement"


def test_where_no_version_is_claimed_none_can_be_false(inspect: Inspect) -> None:
    assert "genuineness" in inspect("[car]\nvariant='High Output'\n").to_car().not_looked_at
    said = "[car]\nvariant='Standard'\n[changes]\ngenuineness='no rare version claimed'\n"
    assert "genuineness" not in inspect(said).to_car().not_looked_at
    assert "genuineness" not in inspect("").to_car().not_looked_at


def test_a_documented_restoration_and_a_proven_odometer_need_proof(inspect: Inspect) -> None:
    text = "[changes]\nrestoration='fresh restoration, documented'\n"
    assert fact(inspect(text), "restoration").levels == (
        "fresh restoration",
        "fresh restoration, documented",
    )
    seen = inspect(text + "[documents.bills]\nanswer='seen'\n").to_car()
    assert seen.values["restoration"] == "fresh restoration, documented"
    text = "[car]\nmileage=1000\nmileage_status='proven'\n"
    assert fact(inspect(text), "mileage_status").claim == "proven"
    shown = inspect(text + "mileage_proof='service book'\n").to_car()
    assert shown.values["mileage_status"] == "proven"


def test_a_title_is_open_while_numbers_differ(inspect: Inspect) -> None:
    text = CAR + "title_status='clear'\n[components.chassis_stamping]\nnumber='TV104239'\n"
    one = fact(inspect(text), "title_status")
    assert one.levels == ("clear", "number differs")
    assert one.claim == "clear"
    assert one.contradiction.startswith(
        "The papers may be another car's. Chassis or shell stamping: Read TV104239: differs from "
        "the chassis number TV104231"
    )
    assert inspect(text).stops == (NUMBERS_STOP,)
    lien = fact(inspect(text.replace("'clear'", "'lien'")), "title_status")
    assert (lien.levels, lien.claim) == (("lien", "number differs"), "")
    told = inspect(text.replace("'clear'", "'number differs'"))
    assert told.to_car().values["title_status"] == "number differs"
    assert len(told.stops) == 1
    assert told.stops[0].startswith("Title: number differs. This stops the purchase: ")


def test_a_place_without_a_number_is_no_other_number(inspect: Inspect) -> None:
    text = CAR + "title_status='clear'\n[components.hidden_stampings]\nnumber='none'\n"
    found = inspect(text)
    assert found.to_car().values["title_status"] == "clear"
    assert found.stops == ()
    assert found.contradictions == (
        "Hidden stampings: Its place for the number is blank, so nothing matches.",
    )


def test_history_is_none_only_if_all_of_it_was_denied(inspect: Inspect) -> None:
    from_yes = "[history]\nflood='no'\n'long stored'='yes'\n"
    assert inspect(from_yes).to_car().values["history"] == ("long stored",)
    assert "history" in inspect("[history]\nflood='no'\n").to_car().not_looked_at


def test_documents_are_what_was_seen_and_what_may_yet_be(inspect: Inspect) -> None:
    names = ("build record", "first bill of sale", "ownership chain", "restoration photographs")
    rest = "".join(f"[documents.'{n}']\nanswer='none'\n" for n in names)
    seen = inspect(rest + "[documents.bills]\nanswer='seen'\n").to_car()
    assert seen.values["documents"] == ("bills",)
    none = inspect(rest + "[documents.bills]\nanswer='none'\n").to_car()
    assert none.values["documents"] == ()
    one = fact(inspect(rest + "[documents.bills]\nanswer='claimed, not seen'\n"), "documents")
    assert (one.levels, one.claim) == (("none", "bills"), "bills")
    half = fact(inspect("[documents.bills]\nanswer='seen'\n"), "documents")
    assert half.levels[0] == "bills"
    assert half.levels[-1].count(";") == 4
    assert (half.claim, len(half.levels), half.minutes) == ("", 6, 12)


def test_modifications_are_none_only_if_somebody_looked(inspect: Inspect) -> None:
    assert inspect("[changes]\nlooked='yes'\n").to_car().values["modifications"] == ()
    assert "modifications" in inspect("[changes]\nlooked='no'\n").to_car().not_looked_at
    line = "[[modifications]]\nkind='brakes'\nhow='reversible'\nwhen='later'\n"
    car = inspect(line).to_car()
    assert car.values["modifications"] == ("brakes/reversible/later",)
    assert car.notes == ("The list of modifications may not be whole.",)


def test_a_half_told_modification_is_asked_for_and_not_priced(inspect: Inspect) -> None:
    found = inspect("[[modifications]]\nkind='brakes'\nwhen='later'\n")
    assert "modifications" in found.to_car().not_looked_at
    (question,) = [q for q in found.questions if q.about.startswith("Modification")]
    assert question.about == "Modification 1, brakes"
    assert question.sentence == "Find out whether it can be undone."


def test_a_re_engineered_car_is_no_sum_of_modifications(inspect: Inspect) -> None:
    line = "[[modifications]]\nkind='engine'\nhow='permanent'\nwhen='later'\n"
    found = inspect(line + "[changes]\nre_engineered='yes'\nbuilder='Loom Works'\n")
    car = found.to_car()
    assert car.values["re_engineered"] == "yes"
    assert "modifications" not in {*car.values, *car.not_looked_at, *car.cannot_be_told}
    assert found.to_dict()["modifications"][0]["kind"] == "engine"
    assert found.to_dict()["re_engineered_by"] == "Loom Works"
    assert car.notes[0].startswith("A re-engineered car is a market of its own")


def test_what_cannot_be_told_is_carried_on(inspect: Inspect) -> None:
    car = inspect("[changes]\nrestoration='cannot be told'\n").to_car()
    assert car.cannot_be_told == {"restoration"}


def test_the_visit_goes_with_the_car(inspect: Inspect) -> None:
    text = CAR + "asking='46,500'\ncurrency='LYD'\nseen_on=2024-12-09\n"
    car = inspect(text).to_car()
    assert (car.asking, car.seen_on, car.chassis) == (46_500.0, date(2024, 12, 9), "TV104231")
    assert car.name == "1969 Torvane GT"
    assert "The asking price is in LYD." in car.notes
