"""The parts of the inspection sheet: what is asked, in which words it can be answered."""

from __future__ import annotations

from valuation.inspection.evidence import PAPERS
from valuation.inspection.form import Box, Form, Part, Row
from valuation.inspection.marks import ANSWERS, NOT_POSSIBLE_HERE
from valuation.inspection.settings import STATUSES, Component, InspectionSettings, Zone
from valuation.schema import BY_NAME, MODIFICATION_KINDS
from valuation.schema.kinds import CANNOT_BE_TOLD, NOT_LOOKED_AT

__all__ = [
    "BAD",
    "CLAIMED",
    "NONE",
    "NO_RARE_VERSION",
    "OPEN_WORDS",
    "SEEN",
    "inspection_form",
]

OPEN_WORDS = (NOT_LOOKED_AT, NOT_POSSIBLE_HERE)
"""Two answers: nobody tried, and it could not be done on this occasion."""

YES_NO = ("yes", "no", *OPEN_WORDS)
SEEN, CLAIMED, NONE = "seen", "claimed, not seen", "none"
NO_RARE_VERSION = "no rare version claimed"

BAD = ("slight", "marked", "severe", "dangerous")
"""How bad a defect is, from the least."""

_DEFECT_LINES, _WORK_LINES, _MODIFICATION_LINES = 16, 8, 8
_HALVES: tuple[float, ...] = tuple(n / 2 for n in range(21))


def inspection_form(settings: InspectionSettings) -> Form:
    """Return the inspection sheet of a firm.

    Parameters
    ----------
    settings : InspectionSettings
        With its groups, zones and components.

    Returns
    -------
    Form
        In the order in which a car is walked round.
    """
    labels = tuple(z.label for z in settings.zones)
    parts = (
        _car(),
        _history(),
        Part("preview", "Preview", "named", tuple(_group_rows(settings))),
        Part("zones", "Zones", "named", tuple(_zone_row(z) for z in settings.zones)),
        _defects(labels),
        _work(labels),
        Part("components", "Components", "named", tuple(map(_component_row, settings.components))),
        _changes(),
        _modifications(),
        _documents(),
    )
    return Form(parts, settings)


def _levels(name: str, *also: str) -> tuple[str, ...]:
    return (*BY_NAME[name].levels, *also, *OPEN_WORDS, CANNOT_BE_TOLD)


def _attribute(name: str, label: str = "", hint: str = "") -> Box:
    a = BY_NAME[name]
    words = _levels(name) if a.levels else ()
    return Box(name, label or a.label, hint, words, plain=a.kind != "number")


def _car() -> Part:
    boxes = (
        Box("lot", "Lot or stock number"),
        Box("seen_on", "Seen on", "day"),
        Box("seen_by", "Seen by"),
        Box("asking", "Asking price", plain=False),
        Box("currency", "Currency", "of all amounts, three letters"),
        _attribute("make"),
        _attribute("model"),
        _attribute("variant", hint="as it is claimed"),
        _attribute("year", "Model year"),
        Box("built", "Built", "day, week, month or year"),
        Box("first_registered", "First registered"),
        Box("year_on_title", "Year on the title", plain=False),
        Box("chassis", "Chassis number", "as read on the papers; ? for what can't be read"),
        _attribute("body"),
        _attribute("colour", "Colour today"),
        _attribute("engine_size", "Engine, litres"),
        _attribute("transmission", "Gearbox"),
        _attribute("gears"),
        _attribute("steering_side", "Steering wheel"),
        _attribute("mileage", "Odometer", "with its unit"),
        _attribute("mileage_status", "Odometer is"),
        Box("mileage_proof", "What proves it", "papers, photographs"),
        _attribute("title_status"),
        Box("title_days", "Days to cure it", plain=False),
        Box("title_low", "Cost to cure it, low", plain=False),
        Box("title_high", "Cost to cure it, high", plain=False),
        Box("notes", "Notes"),
    )
    return Part("car", "Car", "single", (Row("", "Car", boxes),))


def _history() -> Part:
    box = (Box("answer", "Answer", words=YES_NO),)
    rows = (Row(level, level.capitalize(), box) for level in BY_NAME["history"].levels)
    return Part("history", "History", "named", tuple(rows))


def _group_rows(settings: InspectionSettings) -> list[Row]:
    words: tuple[str | float, ...] = (*_HALVES, *OPEN_WORDS)
    mark = Box("mark", "Mark", "0 to 10 in halves", words, plain=False)
    boxes = (mark, Box("notes", "Notes"))
    return [Row(g.name, g.label, boxes, g.look) for g in settings.groups]


def _answers(can_be_absent: bool) -> tuple[str, ...]:
    return ANSWERS if can_be_absent else OPEN_WORDS


def _zone_row(zone: Zone) -> Row:
    words: tuple[str | float, ...] = (*_HALVES, *_answers(zone.can_be_absent))
    boxes = (
        Box("mark", "Mark", "0 to 10 in halves", words, plain=False),
        Box("notes", "Notes"),
        Box("photographs", "Photographs", "names, with ; between them"),
    )
    return Row(zone.name, zone.label, boxes, _how(zone))


def _how(thing: Zone | Component) -> str:
    where = f"{thing.where[:1].upper()}{thing.where[1:]}."
    return f"{where} {thing.how} ({thing.tool}; {thing.minutes:g} min)"


def _component_row(c: Component) -> Row:
    statuses = tuple(s for s in STATUSES if _can_be(s, c))
    boxes = [Box("claim", "Claimed status", words=(*statuses, *_answers(c.can_be_absent)))]
    if c.stamped:
        boxes.append(
            Box("number", "Number as stamped", "? for a character that can't be read; none")
        )
        boxes.append(Box("number_on_record", "Number on the maker's record"))
    if c.dated:
        boxes.append(Box("dates", "Dates on it", "cast 20 January 1969; assembled ..."))
        boxes.append(Box("part_years", "Years such parts were made", "1966-1969"))
    if c.part_number:
        boxes.append(Box("part_number", "Part number on it"))
        boxes.append(Box("part_number_wanted", "Part number wanted"))
    boxes += [
        Box("photographs", "Photographs", "names, with ; between them"),
        Box("papers", "Papers that speak for it", "with ; between them: " + ", ".join(PAPERS)),
        Box("notes", "Notes: finish, fixings, marks"),
        Box("appears_original", "Only looks original", words=("yes", "no")),
    ]
    return Row(c.name, c.label, tuple(boxes), _how(c))


def _can_be(status: str, c: Component) -> bool:
    if status == "numbers-matching":
        return c.stamped
    if status == "date-correct":
        return c.dated
    return status != "missing" or c.can_be_missing


def _defects(zones: tuple[str, ...]) -> Part:
    boxes = (
        Box("zone", "Zone", words=zones),
        Box("what", "What is wrong"),
        Box("where", "Where"),
        Box("how_bad", "How bad", words=BAD),
        Box("low", "Cost, low", plain=False),
        Box("high", "Cost, high", plain=False),
        Box(
            "mark_after", "Mark after", "of the zone, once this is put right", _HALVES, plain=False
        ),
    )
    return Part("defects", "Defects", "lines", (Row("", "Defect", boxes),), _DEFECT_LINES)


def _work(zones: tuple[str, ...]) -> Part:
    boxes = (
        Box("zone", "Zone", words=zones),
        Box("what", "What was done"),
        Box("when", "When"),
        Box("bills", "Bills", words=(SEEN, CLAIMED, NONE, *OPEN_WORDS)),
    )
    return Part("work", "Work done", "lines", (Row("", "Work", boxes),), _WORK_LINES)


def _changes() -> Part:
    boxes = (
        _attribute("re_engineered", hint="rebuilt throughout to a design of its builder"),
        Box("builder", "Its builder"),
        _attribute("restoration"),
        _attribute("restorer", "Restored by"),
        Box(
            "genuineness",
            "Claimed version is",
            "not a matter of the engine",
            _levels("genuineness", NO_RARE_VERSION),
        ),
        Box("special_order", "Colour of special order", words=YES_NO),
        Box("looked", "Looked for modifications", "yes: all are listed", YES_NO),
    )
    return Part("changes", "Changes", "single", (Row("", "Changes", boxes),))


def _modifications() -> Part:
    boxes = (
        Box("kind", "Kind", words=MODIFICATION_KINDS),
        Box("how", "Reversible?", words=("reversible", "permanent")),
        Box("when", "Period or later?", words=("period", "later")),
        Box("what", "What was changed"),
    )
    row = Row("", "Modification", boxes)
    return Part("modifications", "Modifications", "lines", (row,), _MODIFICATION_LINES)


def _documents() -> Part:
    boxes = (
        Box("answer", "Seen?", words=(SEEN, CLAIMED, NONE, *OPEN_WORDS)),
        Box("notes", "Notes and photographs"),
    )
    rows = (Row(paper, paper.capitalize(), boxes) for paper in PAPERS)
    return Part("documents", "Documents", "named", tuple(rows))
