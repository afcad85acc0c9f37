"""An invented car, its zones and its components, with weights and marks worked on paper."""

from __future__ import annotations

import pytest

from valuation.inspection.date_text import read_date
from valuation.inspection.evidence import CarFacts, ComponentFinding, Evidence, PartDate
from valuation.inspection.marks import NOT_ON_THIS_CAR, Finding, Mark
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.settings_file import default_inspection_settings

MARKS = {
    "body_structure": 8, "panel_fit": 7, "paint": 9, "brightwork": 8, "glass_and_seals": 8,
    "interior": 9, "instruments": 6, "engine_bay": 7, "engine_running": 8, "driveline": 7,
    "suspension_and_steering": 6, "brakes": 7, "underside": 5, "wheels_and_tyres": 9, "boot": 8,
}  # fmt: skip
CHASSIS = "TV68C 104231"


@pytest.fixture(scope="session")
def settings() -> InspectionSettings:
    """Return the settings that come with the package."""
    return default_inspection_settings()


@pytest.fixture
def worked_marks() -> dict[str, Finding]:
    """Return the fifteen marks of the worked case; the car has none of the other three zones."""
    found: dict[str, Finding] = {zone: Mark(mark) for zone, mark in MARKS.items()}
    return found | dict.fromkeys(("top", "heating", "cooling_fuel_exhaust"), NOT_ON_THIS_CAR)


@pytest.fixture
def car() -> CarFacts:
    """Return an invented car built on 12 March 1969."""
    return CarFacts("Torvane", 1969, read_date("12 March 1969"), CHASSIS)


def dated(text: str, verb: str = "cast") -> tuple[PartDate, ...]:
    return (PartDate(verb, read_date(text)),)


@pytest.fixture
def worked_components() -> dict[str, ComponentFinding]:
    """Return the thirteen components of the worked case, each with the proof it needs."""
    stamp = Evidence(number="104231", photographs=("stamp.jpg",))
    looks = Evidence(photographs=("look.jpg",), notes="works marks and fixings")
    numbered = Evidence(part_number="44-1207")
    return {
        "engine_block": ComponentFinding("numbers-matching", stamp),
        "heads": ComponentFinding("original", looks),
        "intake_and_fuel": ComponentFinding("correct type", numbered),
        "ignition": ComponentFinding("later replacement"),
        "gearbox": ComponentFinding("later replacement"),
        "final_drive": ComponentFinding(
            "date-correct", Evidence(part_number="44-2210", dates=dated("20 January 1969"))
        ),
        "chassis_stamping": ComponentFinding("numbers-matching", stamp),
        "outer_panels": ComponentFinding("original", looks),
        "floors_and_inner": ComponentFinding("correct type", looks),
        "exterior_colour": ComponentFinding("later replacement"),
        "interior": ComponentFinding("correct type", looks),
        "wheels": ComponentFinding("period replacement", numbered),
    }
