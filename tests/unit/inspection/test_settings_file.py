"""The firm's settings: what comes with the package, and every fault told at once."""

from __future__ import annotations

import copy
import tomllib
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

from valuation.errors import SettingsError
from valuation.inspection.dates import Window
from valuation.inspection.settings import STATUSES, InspectionSettings
from valuation.inspection.settings_file import inspection_settings, read_inspection_settings

TEXT = (resources.files("valuation") / "data" / "inspection.toml").read_text(encoding="utf-8")


@pytest.fixture
def raw() -> dict[str, Any]:
    """Return the content of the file that comes with the package, to be spoilt."""
    return copy.deepcopy(tomllib.loads(TEXT))


def test_zones_keep_the_weights_of_the_worked_case(settings: InspectionSettings) -> None:
    weights = {z.name: z.weight for z in settings.zones}
    assert len(weights) == 18
    assert sum(weights.values()) == 106
    assert {z: weights.pop(z) for z in ("top", "heating", "cooling_fuel_exhaust")} == {
        "top": 2, "heating": 1, "cooling_fuel_exhaust": 3,
    }  # fmt: skip
    assert sum(weights.values()) == 100
    assert [z.name for z in settings.zones if z.structural] == ["body_structure", "underside"]
    assert settings.cap_points == 25


def test_components_keep_the_weights_of_the_worked_case(settings: InspectionSettings) -> None:
    weights = {c.name: c.weight for c in settings.components}
    assert len(weights) == 15
    assert sum(weights.values()) == 100
    assert weights["hidden_stampings"] == weights["data_plate"] == 0
    assert settings.names_of_the_car == {"chassis_stamping", "hidden_stampings", "data_plate"}
    assert list(settings.statuses) == list(STATUSES)


def test_all_say_where_and_how(settings: InspectionSettings) -> None:
    for thing in (*settings.zones, *settings.components):
        assert all((thing.label, thing.where, thing.tool, thing.how))
        assert thing.minutes > 0
    assert {g.name for g in settings.groups} == {z.group for z in settings.zones}


def test_what_is_below_the_car_is_looked_at_from_a_lift_or_rated_stands(
    settings: InspectionSettings,
) -> None:
    below = ("underside", "driveline", "suspension_and_steering")
    assert all("rated stands" in settings.zone(z).tool for z in below)
    assert "rated stands" in settings.component("gearbox").tool


def test_the_rules_shown_as_a_comment_can_be_used() -> None:
    marked = TEXT.index("# [[makers]]")
    rules = "\n".join(line.removeprefix("# ") for line in TEXT[marked:].splitlines())
    made = inspection_settings(tomllib.loads(TEXT[:marked] + rules))
    (rule,) = made.makers
    assert rule.holds("TORVANE", 1960)
    assert not rule.holds("Torvane", 1964)
    assert not rule.holds("Torvane", None)
    block = made.rules(made.component("engine_block"), "torvane", 1960)
    assert (block.stamped, block.unstamped_by_maker, block.own_series) == (False, True, True)
    assert block.window == Window(120, 365, tells=False)
    assert made.rules(made.component("heads"), "torvane", 1960).window == made.window
    assert made.model_year_start("Torvane", 1960) == (9, 1)
    assert made.model_year_start("Torvane", 1970) == (8, 1)


def test_later_rules_count_before_earlier_ones(raw: dict[str, Any]) -> None:
    raw["components"]["wheels"]["acceptable_days"] = 270
    raw["makers"] = [
        {"make": "Torvane", "strong_days": 30, "acceptable_days": 60},
        {"make": "Torvane", "first_year": 1968, "strong_days": 100, "model_year_starts": "10-01"},
    ]
    made = inspection_settings(raw)
    wheels, glass = made.component("wheels"), made.component("glass")
    assert made.rules(wheels, "Aldern", 1969).window == Window(90, 270)
    assert made.rules(glass, "Torvane", 1967).window == Window(30, 60)
    assert made.rules(glass, "Torvane", 1969).window == Window(100, 100)
    assert made.model_year_start("Torvane", 1969) == (10, 1)


def spoil(raw: dict[str, Any], path: str, value: object) -> None:
    *way, last = path.split("/")
    for step in way:
        raw = raw[int(step) if isinstance(raw, list) else step]
    if value is None:
        del raw[last]
    else:
        raw[last] = value


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        ("zones/paint/weight", -1, "zones.paint.weight has to be a number from 0 to 1000 (got: "
         "-1)"),
        ("zones/paint/weight", "12", "zones.paint.weight has to be a number from 0 to 1000 (got: "
         "'12')"),
        ("zones/paint/weight", None, "zones.paint.weight has to be a number from 0 to 1000 (got: "
         "nothing)"),
        ("zones/paint/weight", True, "zones.paint.weight has to be a number from 0 to 1000 (got: "
         "True)"),
        ("zones/paint/group", "roof", "zones.paint.group has to be one of outside, shell, inside, "
         "under_bonnet, running_gear (got: 'roof')"),
        ("zones/paint/label", " ", "zones.paint.label has to be text between quotation marks (got: "
         "' ')"),
        ("zones/paint/structural", 1, "zones.paint.structural has to be true or false (got: 1)"),
        ("zones/paint/colour", "red", "zones.paint.colour has to be one of can_be_absent, group, "
         "how, label, minutes, preview, spread, structural, tool, weight, where (got: an unknown "
         "entry)"),
        ("zones/paint", 3, "zones.paint has to be a table [zones.paint] (got: 3)"),
        ("zones", None, "zones has to be tables such as [zones.NAME] (got: nothing)"),
        ("grade", None, "grade has to be a table [grade] (got: nothing)"),
        ("extra", 1, "extra has to be one of grade, bands, groups, zones, statuses, components, "
         "dates, makers (got: an unknown table)"),
        ("bands/1/name", "fair", "bands, number 2.name has to be one of project, tired, driver, "
         "sharp, show (got: 'fair')"),
        ("bands/1/from", 50, "bands has to be rising limits, the first of them 0 (got: 0, 50, 40, "
         "68, 84)"),
        ("bands/4/name", "sharp", "bands has to be project, tired, driver, sharp, show in order "
         "(got: project, tired, driver, sharp, sharp)"),
        ("bands", 3, "bands has to be tables such as [[bands]] (got: 3)"),
        ("statuses/date-correct", 1.2, "statuses.date-correct has to be a number from 0 to 1 (got: "
         "1.2)"),
        ("statuses/correct type", 0.7, "statuses.correct type has to be 0.6 or less (got: 0.7)"),
        ("statuses/original", 0.9, "statuses.original has to be 1 (got: 0.9)"),
        ("statuses/missing", 0.05, "statuses.missing has to be 0 (got: 0.05)"),
        ("dates/model_year_starts", "31-08", "dates.model_year_starts has to be month and day of "
         "every year, such as \"08-01\" (got: '31-08')"),
        ("dates/model_year_starts", "02-29", "dates.model_year_starts has to be month and day of "
         "every year, such as \"08-01\" (got: '02-29')"),
        ("dates/acceptable_days", 60, "dates.acceptable_days has to be 90 or more (got: 60)"),
        ("components/glass/strong_days", 1.5, "components.glass.strong_days has to be a whole "
         "number of days, 0 or more (got: 1.5)"),
        ("components/data_plate/speaks_for", "roof", "components.data_plate.speaks_for has to be "
         "another component (got: roof)"),
        ("components/glass/can_be_missing", False, "components.glass.can_be_missing has to be true "
         "where it can be absent (got: false)"),
        ("zones/underside/can_be_absent", True, "zones.underside has to be on every car and of "
         "some weight, being structural (got: can be absent)"),
        ("zones/underside/weight", 0, "zones.underside has to be on every car and of some weight, "
         "being structural (got: weight 0)"),
        ("makers", [{"make": "Torvane", "first_year": 1970, "last_year": 1960}],
         "makers, number 1.last_year has to be 1970 or later (got: 1960)"),
        ("makers", [{"make": "Torvane", "components": ["glas"]}],
         "makers, number 1.components has to be a list of chassis_stamping, data_plate, "
         "engine_block, exterior_colour, final_drive, floors_and_inner, gearbox, glass, heads, "
         "hidden_stampings, ignition, intake_and_fuel, interior, outer_panels, wheels (got: "
         "['glas'])"),
    ],
)  # fmt: skip
def test_a_fault_is_told(raw: dict[str, Any], path: str, value: object, told: str) -> None:
    spoil(raw, path, value)
    with pytest.raises(SettingsError) as caught:
        inspection_settings(raw, where="ours.toml")
    assert told in str(caught.value)
    if "entry is" in str(caught.value):
        assert str(caught.value) == f"ours.toml: one entry is wrong: {told}. Correct it."


def test_all_faults_are_told_at_once(raw: dict[str, Any]) -> None:
    for path, value in (("zones/boot/weight", -1), ("grade/cap_points", 300), ("odd", 1)):
        spoil(raw, path, value)
    with pytest.raises(SettingsError) as caught:
        inspection_settings(raw)
    assert str(caught.value) == (
        "inspection.toml: 3 entries are wrong: odd has to be one of grade, bands, groups, zones, "
        "statuses, components, dates, makers (got: an unknown table); zones.boot.weight has to be "
        "a number from 0 to 1000 (got: -1); grade.cap_points has to be a number from 0 to 100 "
        "(got: 300). Correct them."
    )


def test_something_structural_and_something_that_counts_is_needed(raw: dict[str, Any]) -> None:
    for zone in ("body_structure", "underside"):
        raw["zones"][zone]["structural"] = False
    for component in raw["components"].values():
        component["weight"] = 0
    del raw["groups"]["inside"]
    for zone in raw["zones"].values():
        zone["group"] = "outside"
    with pytest.raises(SettingsError) as caught:
        inspection_settings(raw)
    assert "3 entries are wrong: groups has to be 5 groups (got: 4 groups)" in str(caught.value)


def test_a_copy_of_the_file_reads_the_same(tmp_path: Path, settings: InspectionSettings) -> None:
    copied = tmp_path / "ours.toml"
    copied.write_text(TEXT, encoding="utf-8")
    assert read_inspection_settings(copied) == settings


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (None, "ours.toml: the settings can't be read (got: No such file or directory). Check the "
         "path."),
        (b"[grade", "ours.toml: this is not valid TOML (got: "),
        (b"\xff", "ours.toml: this is not valid TOML (got: "),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_read(tmp_path: Path, content: bytes | None, told: str) -> None:
    path = tmp_path / "ours.toml"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(SettingsError) as caught:
        read_inspection_settings(path)
    assert str(caught.value).startswith(told)
