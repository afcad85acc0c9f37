"""Originality score: the worked case, and what is claimed, supported and contradicted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from valuation.inspection.cautions import APPEARS_ORIGINAL, NUMBER_LAW, VARIANT_AND_ENGINE
from valuation.inspection.date_text import read_date
from valuation.inspection.evidence import CarFacts, ComponentFinding, Evidence, PartDate
from valuation.inspection.originality import ComponentResult, OriginalityScore, originality_score
from valuation.inspection.settings import InspectionSettings, MakerRule

Judge = Callable[..., ComponentResult]
Findings = dict[str, ComponentFinding]
PHOTO = ("stamp.jpg",)
STAMP = Evidence(number="104231", photographs=PHOTO)
BEFORE = (PartDate("cast", read_date("20 January 1969")),)
LONG_BEFORE = (PartDate("cast", read_date("1 July 1968")),)
AFTER = (PartDate("cast", read_date("2 April 1969")),)
UNDECIDED = (PartDate("cast", read_date("14 January of a year ending in 9")),)
RULE = MakerRule("TORVANE", 1958, 1969, frozenset(), False, False, False, None, None, None)


def test_the_worked_case(
    worked_components: Findings, car: CarFacts, settings: InspectionSettings
) -> None:
    score = originality_score(worked_components, car, settings)
    assert (score.low, score.high) == (pytest.approx(67.3), pytest.approx(70.3))
    points = {c.component.name: (round(c.low, 2), round(c.high, 2)) for c in score.components}
    assert points["engine_block"] == (25, 25)
    assert points["intake_and_fuel"] == (2.75, 2.75)
    assert points["final_drive"] == (4.8, 4.8)
    assert points["floors_and_inner"] == (3.3, 3.3)
    assert points["wheels"] == (1.05, 1.05)
    assert points["glass"] == (0, 3)
    assert score.contradictions == score.identity == ()
    assert score.summary() == "Originality score 67.3 to 70.3; 1 component is open."
    assert {NUMBER_LAW, APPEARS_ORIGINAL, VARIANT_AND_ENGINE} <= set(score.cautions)
    settled = originality_score(
        worked_components | {"glass": ComponentFinding("missing")}, car, settings
    )
    assert settled.summary() == "Originality score 67.3."


@pytest.fixture
def engine(car: CarFacts, settings: InspectionSettings) -> Judge:
    """Return what judges an engine block."""

    def judge(claim: str, evidence: Evidence | None = None, **also: object) -> ComponentResult:
        found = {"engine_block": ComponentFinding(claim, evidence or Evidence())}
        held = also.get("settings", settings)
        assert isinstance(held, InspectionSettings)
        return originality_score(found, car, held).component("engine_block")

    return judge


@pytest.mark.parametrize(
    ("claim", "evidence", "supported"),
    [
        ("not looked at", Evidence(), "missing to numbers-matching"),
        ("not possible here", Evidence(), "missing to numbers-matching"),
        ("not looked at", Evidence(photographs=PHOTO), "later replacement to numbers-matching"),
        ("not looked at", STAMP, "numbers-matching"),
        ("numbers-matching", Evidence(), "later replacement to numbers-matching"),
        ("numbers-matching", STAMP, "numbers-matching"),
        ("original", STAMP, "numbers-matching"),
        ("numbers-matching", Evidence(number="104231"), "later replacement to numbers-matching"),
        ("numbers-matching", Evidence(number="104231", papers=("build record",)),
         "numbers-matching"),
        ("numbers-matching", Evidence(number="E771", number_on_record="E771"), "numbers-matching"),
        ("numbers-matching", Evidence(number="E771", number_on_record="E772", photographs=PHOTO),
         "later replacement to date-correct"),
        ("numbers-matching", Evidence(number="1O4231", photographs=PHOTO),
         "later replacement to numbers-matching"),
        ("numbers-matching", Evidence(number="104237", photographs=PHOTO),
         "later replacement to date-correct"),
        ("numbers-matching", Evidence(number="104237", dates=BEFORE, part_number="9"),
         "date-correct"),
        ("numbers-matching", Evidence(part_number="44-1"), "correct type to numbers-matching"),
        ("numbers-matching", Evidence(part_number="44-1", dates=BEFORE),
         "date-correct to numbers-matching"),
        ("numbers-matching", replace(STAMP, dates=LONG_BEFORE),
         "later replacement to numbers-matching"),
        ("numbers-matching", replace(STAMP, dates=LONG_BEFORE, number_on_record="104231"),
         "numbers-matching"),
        ("numbers-matching", replace(STAMP, dates=AFTER),
         "later replacement to maker's service replacement"),
        ("numbers-matching", replace(STAMP, appears_original=True),
         "later replacement to numbers-matching"),
        ("numbers-matching", Evidence(no_number=True), "later replacement to date-correct"),
        ("date-correct", Evidence(dates=BEFORE), "date-correct"),
        ("date-correct", Evidence(dates=LONG_BEFORE, part_number="44-1"),
         "correct type to date-correct"),
        ("date-correct", Evidence(dates=UNDECIDED, part_number="44-1"),
         "correct type to date-correct"),
        ("date-correct", Evidence(dates=UNDECIDED, part_number="44-1", part_years=(1966, 1972)),
         "date-correct"),
        ("date-correct", Evidence(dates=AFTER, part_number="44-1"),
         "correct type to maker's service replacement"),
        ("date-correct", Evidence(dates=BEFORE, part_number="44-1", part_number_wanted="44-2"),
         "later replacement to maker's service replacement"),
        ("correct type", Evidence(), "later replacement to correct type"),
        ("correct type", Evidence(part_number="44-1"), "correct type"),
        ("correct type", Evidence(part_number="44-1", part_number_wanted="441"), "correct type"),
        ("correct type", Evidence(part_number="4S1", part_number_wanted="451"),
         "later replacement to correct type"),
        ("correct type", Evidence(part_number="44-1", dates=BEFORE),
         "correct type to date-correct"),
        ("correct type", STAMP, "correct type to numbers-matching"),
        ("maker's service replacement", Evidence(),
         "later replacement to maker's service replacement"),
        ("maker's service replacement", Evidence(part_number="44-1"),
         "correct type to maker's service replacement"),
        ("maker's service replacement", Evidence(papers=("bills",)),
         "maker's service replacement"),
        ("maker's service replacement", Evidence(no_number=True, notes="style of the works"),
         "maker's service replacement"),
        ("maker's service replacement", Evidence(papers=("bills",), dates=AFTER),
         "maker's service replacement"),
        ("period replacement", Evidence(), "later replacement to period replacement"),
        ("period replacement", Evidence(photographs=PHOTO), "period replacement"),
        ("later replacement", Evidence(), "later replacement"),
        ("later replacement", STAMP, "later replacement to numbers-matching"),
        ("missing", Evidence(), "missing"),
    ],
)  # fmt: skip
def test_what_the_evidence_carries(
    engine: Judge, claim: str, evidence: Evidence, supported: str
) -> None:
    result = engine(claim, evidence)
    assert result.claim == claim
    assert result.supported == supported
    assert result.status == ("" if " to " in supported else supported)


@pytest.mark.parametrize(
    ("claim", "evidence", "contradiction"),
    [
        ("numbers-matching", Evidence(dates=AFTER),
         "Engine block: claimed to be numbers-matching. Cast on 2 April 1969, 21 days after the "
         "car was built on 12 March 1969: impossible for a part born with the car."),
        ("date-correct", Evidence(dates=AFTER),
         "Engine block: claimed to be date-correct. Cast on 2 April 1969, 21 days after the car "
         "was built on 12 March 1969: impossible for a part born with the car."),
        ("original", Evidence(number="104237"),
         "Engine block: claimed to be original. Read 104237: differs from the chassis number "
         "TV68C 104231; 7 stands where 1 does, at the last place."),
        ("numbers-matching", Evidence(no_number=True),
         "Engine block: claimed to be numbers-matching. Its place for the number is blank, so "
         "nothing matches. A maker's service replacement lawfully carries no number: look for its "
         "bill."),
        ("numbers-matching", replace(STAMP, dates=AFTER),
         "Engine block: claimed to be numbers-matching. Cast on 2 April 1969, 21 days after the "
         "car was built on 12 March 1969: impossible for a part born with the car. Read 104231: "
         "agrees with the last 6 characters of the chassis number TV68C 104231. Ask who stamped "
         "it, and when."),
        ("correct type", Evidence(part_number="44-1", part_number_wanted="44-2"),
         "Engine block: claimed to be correct type. Part number: Read 44-1: differs from the "
         "part number wanted 44-2; 1 stands where 2 does, at the last place."),
        ("correct type", Evidence(dates=AFTER), None),
        ("maker's service replacement", Evidence(dates=AFTER, no_number=True), None),
        ("numbers-matching", Evidence(number="1O4231"), None),
        ("numbers-matching", Evidence(dates=LONG_BEFORE), None),
        ("not looked at", Evidence(dates=AFTER), None),
    ],
)  # fmt: skip
def test_contradictions(
    engine: Judge, claim: str, evidence: Evidence, contradiction: str | None
) -> None:
    assert engine(claim, evidence).contradiction == contradiction


@pytest.mark.parametrize(
    ("claim", "evidence", "question"),
    [
        ("not looked at", Evidence(), "Engine block: not looked at. Clean with brush and solvent "
         "only; read twice; photograph square on and slanted. Where: stamped pad and cast figures "
         "on the block; often behind ancillaries and under dirt."),
        ("numbers-matching", Evidence(), "Read the date: stamped pad and cast figures on the "
         "block; often behind ancillaries and under dirt."),
        ("numbers-matching", Evidence(number="104231"),
         "Photograph the stamped number, or ask for the maker's record."),
        ("numbers-matching", Evidence(number="1O4231"), "Read 1O4231: looks like the chassis "
         "number TV68C 104231 but has O for 0; look again."),
        ("numbers-matching", Evidence(dates=LONG_BEFORE), "Cast on 1 July 1968, 254 days before "
         "the car was built on 12 March 1969: doubtful."),
        ("correct type", Evidence(part_number="4S1", part_number_wanted="451"), "Part number: "
         "Read 4S1: looks like the part number wanted 451 but has S for 5; look again."),
        ("maker's service replacement", Evidence(),
         "Ask for the bill of the maker's service replacement."),
        ("numbers-matching", replace(STAMP, appears_original=True), APPEARS_ORIGINAL),
        ("later replacement", STAMP, "The evidence carries more than is claimed: "
         "numbers-matching, not later replacement. Ask why, and look at the stamp again."),
        ("correct type", Evidence(), "Read the part number: stamped pad and cast figures on the "
         "block; often behind ancillaries and under dirt."),
    ],
)  # fmt: skip
def test_open_questions(engine: Judge, claim: str, evidence: Evidence, question: str) -> None:
    assert question in engine(claim, evidence).open


def test_nothing_is_open_where_the_claim_is_proven(engine: Judge) -> None:
    assert engine("numbers-matching", STAMP).open == ()


@pytest.mark.parametrize(
    ("cast", "assembled", "told", "supported"),
    [
        ("20 January 1969", "24 January 1969", (), "date-correct"),
        ("20 January 1969", "18 January 1969",
         ("Cast on 20 January 1969, after it was assembled on 18 January 1969: one of them is "
          "misread.",), "correct type to date-correct"),
        ("20 January 1969", "1 March 1969",
         ("Cast on 20 January 1969, long before it was assembled on 1 March 1969: read both "
          "again.",), "date-correct"),
    ],
)  # fmt: skip
def test_casting_comes_before_assembly(
    engine: Judge,
    cast: str,
    assembled: str,
    told: tuple[str, ...],
    supported: str,
) -> None:
    dates = (PartDate("cast", read_date(cast)), PartDate("assembled", read_date(assembled)))
    result = engine("date-correct", Evidence(dates=dates, part_number="44-1"))
    assert result.supported == supported
    assert result.open[: len(told)] == told


@pytest.mark.parametrize(
    ("evidence", "supported"),
    [
        (Evidence(), "later replacement to original"),
        (Evidence(photographs=PHOTO), "correct type to original"),
        (Evidence(photographs=PHOTO, notes="works seams"), "original"),
        (Evidence(papers=("build record",)), "original"),
        (Evidence(photographs=PHOTO, notes="works seams", appears_original=True),
         "correct type to original"),
    ],
)  # fmt: skip
def test_what_looks_original_is_not_yet_original(
    evidence: Evidence, supported: str, car: CarFacts, settings: InspectionSettings
) -> None:
    found = {"outer_panels": ComponentFinding("original", evidence)}
    assert originality_score(found, car, settings).component("outer_panels").supported == supported


def test_nothing_matches_on_a_part_that_carries_no_number(
    car: CarFacts, settings: InspectionSettings
) -> None:
    found = {"heads": ComponentFinding("numbers-matching", Evidence(part_number="44-7"))}
    heads = originality_score(found, car, settings).component("heads")
    assert heads.supported == "correct type to original"
    assert heads.contradiction == (
        "Cylinder heads: claimed to be numbers-matching. It carries no stamped number that "
        "could match."
    )


def test_makers_and_years_without_numbers_are_not_marked_down(
    engine: Judge,
    settings: InspectionSettings,
) -> None:
    without = replace(settings, makers=(replace(RULE, no_stamped_numbers=True),))
    held = engine("date-correct", Evidence(dates=BEFORE, part_number="44-1"), settings=without)
    assert (held.supported, held.low, held.high) == ("date-correct", held.full, held.full)
    claimed = engine("numbers-matching", Evidence(dates=BEFORE), settings=without)
    assert claimed.contradiction == (
        "Engine block: claimed to be numbers-matching. This maker stamped no such number in "
        "these years, so there is nothing to match."
    )
    later = replace(settings, makers=(replace(RULE, no_stamped_numbers=True, last_year=1968),))
    assert engine("date-correct", Evidence(dates=BEFORE), settings=later).high < held.full


def test_a_maker_without_unit_numbers_numbered_its_cars_all_the_same(
    car: CarFacts, settings: InspectionSettings
) -> None:
    without = replace(settings, makers=(replace(RULE, no_stamped_numbers=True),))
    found = {"chassis_stamping": ComponentFinding("numbers-matching", STAMP)}
    result = originality_score(found, car, without).component("chassis_stamping")
    assert (result.supported, result.contradiction) == ("numbers-matching", None)


def test_numbers_of_a_series_of_their_own_need_the_record(
    engine: Judge,
    settings: InspectionSettings,
) -> None:
    own = replace(settings, makers=(replace(RULE, own_number_series=True),))
    read = Evidence(number="E 771", photographs=PHOTO)
    result = engine("numbers-matching", read, settings=own)
    assert (result.supported, result.contradiction) == (
        "later replacement to numbers-matching", None)  # fmt: skip
    assert result.open[0] == (
        "Read E 771: the number on the maker's record isn't known, so it can't be held against it."
    )
    on_record = replace(read, number_on_record="E771")
    assert engine("numbers-matching", on_record, settings=own).supported == "numbers-matching"


def test_where_dates_say_nothing_they_contradict_nothing(
    engine: Judge,
    settings: InspectionSettings,
) -> None:
    silent = replace(settings, makers=(replace(RULE, dates_say_nothing=True),))
    result = engine("numbers-matching", replace(STAMP, dates=AFTER), settings=silent)
    assert (result.supported, result.contradiction) == ("numbers-matching", None)
    assert "dates say nothing" in result.open[0]


def test_windows_by_component_make_and_year(
    engine: Judge,
    settings: InspectionSettings,
) -> None:
    wide = replace(settings, makers=(replace(RULE, acceptable_days=300),))
    read = Evidence(dates=LONG_BEFORE, part_number="44-1")
    assert engine("date-correct", read, settings=wide).supported == "date-correct"
    assert engine("date-correct", read).supported == "correct type to date-correct"


def test_without_a_build_date_the_model_year_stands_in(settings: InspectionSettings) -> None:
    found = {"engine_block": ComponentFinding("date-correct", Evidence(dates=AFTER))}
    by_year = originality_score(found, CarFacts("Torvane", 1968), settings)
    assert "in model year 1968: impossible" in by_year.contradictions[0]
    nothing = originality_score(found, CarFacts("Torvane"), settings)
    assert nothing.contradictions == ()
    assert "the build date of the car isn't known" in nothing.component("engine_block").open[0]


def chassis(
    other: Evidence, own: Evidence, car: CarFacts, settings: InspectionSettings
) -> OriginalityScore:
    found = {
        "chassis_stamping": ComponentFinding("numbers-matching", own),
        "hidden_stampings": ComponentFinding("not looked at", other),
    }
    return originality_score(found, car, settings)


def test_a_hidden_stamping_supports_the_chassis_stamping(
    car: CarFacts, settings: InspectionSettings
) -> None:
    own = Evidence(number="TV68C104231")
    alone = chassis(Evidence(), own, car, settings).component("chassis_stamping")
    helped = chassis(STAMP, own, car, settings).component("chassis_stamping")
    assert alone.status == ""
    assert helped.status == "numbers-matching"


def test_a_hidden_stamping_that_differs_asks_which_car_this_is(
    car: CarFacts, settings: InspectionSettings
) -> None:
    score = chassis(Evidence(number="104999"), STAMP, car, settings)
    differs = (
        "Hidden stampings: Read 104999: differs from the chassis number TV68C 104231; 9 stands "
        "where 1 does, at the last place."
    )
    assert score.identity == (differs,)
    assert score.component("chassis_stamping").contradiction == (
        f"Chassis or shell stamping: claimed to be numbers-matching. {differs}"
    )
    blank = chassis(Evidence(), Evidence(no_number=True), car, settings)
    assert blank.identity == (
        "Chassis or shell stamping: Its place for the number is blank, so nothing matches.",
    )
    assert "service replacement" not in str(blank.contradictions)


def test_what_a_car_never_had_counts_for_nothing(
    worked_components: Findings, car: CarFacts, settings: InspectionSettings
) -> None:
    found = worked_components | {"glass": ComponentFinding("not on this car")}
    score = originality_score(found, car, settings)
    assert score.low == score.high == pytest.approx(100 * 67.3 / 97)
    glass = score.component("glass")
    assert (glass.supported, glass.status, glass.open) == ("", "", ())


@pytest.mark.parametrize(
    ("found", "message"),
    [
        ({"radio": ComponentFinding()}, "no such component .got: radio"),
        ({"heads": ComponentFinding("mint")}, "no such claim for heads .got: mint"),
        ({"heads": ComponentFinding("not on this car")}, "every car has this component"),
    ],
)
def test_what_cannot_be_scored(
    found: Findings, message: str, car: CarFacts, settings: InspectionSettings
) -> None:
    with pytest.raises(ValueError, match=message):
        originality_score(found, car, settings)
