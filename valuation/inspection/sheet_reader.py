"""A filled sheet to what it says: every entry read, every wrong one told at once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from valuation.errors import SheetError
from valuation.importing.car_value import Wrong, all_wrong, read_value
from valuation.inspection.boxes import Boxes
from valuation.inspection.contents import (
    Changes,
    Contents,
    Defect,
    Modification,
    Paper,
    Title,
    Visit,
    WorkDone,
    ZoneNote,
)
from valuation.inspection.evidence import (
    CarFacts,
    ComponentFinding,
    read_claims,
    read_evidence,
)
from valuation.inspection.form import Place
from valuation.inspection.form_parts import NO_RARE_VERSION
from valuation.inspection.marks import read_answer, read_group_marks, read_marks
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.sheet import Sheet, entry_text
from valuation.reading.text import fold
from valuation.records import Value
from valuation.schema import BY_NAME
from valuation.schema.kinds import CANNOT_BE_TOLD, NOT_LOOKED_AT

__all__ = ["read_contents"]

_FIRST_YEAR, _LAST_YEAR, _LONG = 1885, 2100, 3650


def read_contents(sheet: Sheet, settings: InspectionSettings) -> Contents:
    """Read everything that stands on a sheet.

    Parameters
    ----------
    sheet : Sheet
        What was filled in.
    settings : InspectionSettings
        Zones, components, rules of makers.

    Returns
    -------
    Contents
        What it says.

    Raises
    ------
    SheetError
        Naming every wrong entry, where it stands, what came, and what is allowed.
    """
    boxes = Boxes(sheet)
    boxes.read_currency(Place("car", "", "currency"), Place("car", "", "asking"))
    remarks: list[str] = []
    stated, answers = _attributes(boxes, remarks)
    make, year = str(stated.get("make", "")), _year(stated)
    starts = settings.model_year_start(make, year)
    built = boxes.when(Place("car", "", "built"), starts)
    facts = CarFacts(make, year, built, boxes.text("car", "", "chassis"))
    title = _title(boxes, starts)
    contents = Contents(
        name=sheet.name,
        facts=facts,
        stated=stated,
        answers=answers,
        title=title,
        changes=_changes(boxes),
        history={n: boxes.answer(Place("history", n, "answer")) for n in _names(sheet, "history")},
        groups=_groups(boxes, settings),
        marks=_marks(boxes, settings),
        zone_notes=_notes(boxes, "zones"),
        group_notes=_notes(boxes, "preview"),
        components=_components(boxes, settings, starts),
        defects=_defects(boxes, settings),
        work=_work(boxes, settings),
        modifications=_modifications(boxes),
        papers=_papers(boxes),
        visit=_visit(boxes),
        remarks=tuple(remarks),
    )
    _raise(boxes.faults, sheet.name)
    return contents


def _raise(faults: list[Wrong], where: str) -> None:
    if faults:
        what, remedy = all_wrong(faults)
        raise SheetError(where, what, remedy=remedy)


def _names(sheet: Sheet, part: str) -> tuple[str, ...]:
    return tuple(r.name for r in sheet.form.part(part).rows)


def _year(stated: Mapping[str, Value]) -> int | None:
    year = stated.get("year")
    return int(year) if isinstance(year, float) else None


def _attributes(boxes: Boxes, remarks: list[str]) -> tuple[dict[str, Value], dict[str, str]]:
    stated: dict[str, Value] = {}
    answers: dict[str, str] = {}
    for part in ("car", "changes"):
        for name, value in boxes.sheet.boxes(part, "").items():
            if name not in BY_NAME:
                continue
            text = entry_text(value)
            answer = read_answer(text) or (CANNOT_BE_TOLD if fold(text) == CANNOT_BE_TOLD else "")
            if answer:
                answers[name] = answer
            elif text != NO_RARE_VERSION:
                stated |= _read(boxes, Place(part, "", name), value, stated, remarks)
    return stated, answers


def _read(
    boxes: Boxes, place: Place, value: Any, stated: Mapping[str, Value], remarks: list[str]
) -> dict[str, Value]:
    """Read an attribute; what its entry tells of others counts less than their own boxes."""
    faults: list[Wrong] = []
    usable = value if isinstance(value, int | float) and not isinstance(value, bool) else None
    attribute = BY_NAME[place.box]
    plain = usable if usable is not None and attribute.kind == "number" else entry_text(value)
    found = read_value(place.box, plain, faults, remarks)
    boxes.faults += [boxes.sheet.wrong(place, f.got, f.allowed) for f in faults]
    own = {name for part in ("car", "changes") for name in boxes.sheet.boxes(part, "")}
    return {n: v for n, v in found.items() if n == place.box or (n not in own and n not in stated)}


def _title(boxes: Boxes, starts: tuple[int, int]) -> Title:
    year = boxes.number(Place("car", "", "year_on_title"), _FIRST_YEAR, _LAST_YEAR)
    return Title(
        first_registered=boxes.when(Place("car", "", "first_registered"), starts),
        year=None if year is None else int(year),
        days=boxes.number(Place("car", "", "title_days"), 0, _LONG),
        cost=boxes.cost(Place("car", "", "title_low"), Place("car", "", "title_high")),
    )


def _visit(boxes: Boxes) -> Visit:
    asking = boxes.amount(Place("car", "", "asking"))
    return Visit(
        lot=boxes.text("car", "", "lot"),
        by=boxes.text("car", "", "seen_by"),
        on=boxes.day(Place("car", "", "seen_on")),
        asking=asking or None,
        currency=boxes.currency,
        notes=boxes.text("car", "", "notes"),
    )


def _changes(boxes: Boxes) -> Changes:
    return Changes(
        builder=boxes.text("changes", "", "builder"),
        mileage_proof=boxes.text("car", "", "mileage_proof"),
        special_order=boxes.answer(Place("changes", "", "special_order")),
        looked=boxes.answer(Place("changes", "", "looked")),
        no_rare_version=boxes.text("changes", "", "genuineness") == NO_RARE_VERSION,
    )


def _groups(boxes: Boxes, settings: InspectionSettings) -> dict[str, Any]:
    marks, faults = read_group_marks(boxes.sheet.column("preview", "mark"), settings)
    boxes.faults += [_at(boxes, "preview", f, "mark") for f in faults]
    return marks


def _marks(boxes: Boxes, settings: InspectionSettings) -> dict[str, Any]:
    marks, faults = read_marks(boxes.sheet.column("zones", "mark"), settings)
    boxes.faults += [_at(boxes, "zones", f, "mark") for f in faults]
    return marks


def _at(boxes: Boxes, part: str, fault: Wrong, box: str) -> Wrong:
    return boxes.sheet.wrong(Place(part, fault.key, box), fault.got, fault.allowed)


def _notes(boxes: Boxes, part: str) -> dict[str, ZoneNote]:
    made = {
        name: ZoneNote(boxes.text(part, name, "notes"), boxes.pieces(part, name, "photographs"))
        for name in _names(boxes.sheet, part)
    }
    return {name: note for name, note in made.items() if note != ZoneNote()}


def _components(
    boxes: Boxes, settings: InspectionSettings, starts: tuple[int, int]
) -> dict[str, ComponentFinding]:
    claims, faults = read_claims(
        {name: entry_text(v) for name, v in boxes.sheet.column("components", "claim").items()},
        settings,
    )
    boxes.faults += [_at(boxes, "components", f, "claim") for f in faults]
    found = {}
    for name, claim in claims.items():
        entries = boxes.sheet.boxes("components", name)
        entries = {k: entry_text(v) for k, v in entries.items() if k != "claim"}
        evidence, faults = read_evidence(entries, starts=starts)
        boxes.faults += [
            boxes.sheet.wrong(Place("components", name, f.key), f.got, f.allowed) for f in faults
        ]
        found[name] = ComponentFinding(claim, evidence)
    return found


def _zone(boxes: Boxes, place: Place, settings: InspectionSettings) -> str:
    labels = {z.name: z.label for z in settings.zones}
    word = boxes.word(place, tuple(labels.values()), labels)
    return next((name for name, label in labels.items() if label == word), "")


def _defects(boxes: Boxes, settings: InspectionSettings) -> tuple[Defect, ...]:
    out = []
    for line in boxes.sheet.lines("defects"):
        bad = boxes.answer(Place("defects", line, "how_bad"))
        out.append(
            Defect(
                zone=_zone(boxes, Place("defects", line, "zone"), settings),
                what=boxes.text("defects", line, "what"),
                where=boxes.text("defects", line, "where"),
                how_bad="" if bad == NOT_LOOKED_AT else bad,
                cost=boxes.cost(Place("defects", line, "low"), Place("defects", line, "high")),
                mark_after=boxes.mark(Place("defects", line, "mark_after")),
            )
        )
    return tuple(out)


def _work(boxes: Boxes, settings: InspectionSettings) -> tuple[WorkDone, ...]:
    return tuple(
        WorkDone(
            zone=_zone(boxes, Place("work", line, "zone"), settings),
            what=boxes.text("work", line, "what"),
            when=boxes.text("work", line, "when"),
            bills=boxes.answer(Place("work", line, "bills")),
        )
        for line in boxes.sheet.lines("work")
    )


def _modifications(boxes: Boxes) -> tuple[Modification, ...]:
    row = boxes.sheet.form.part("modifications").rows[0]
    words = {b.name: tuple(str(w) for w in b.words) for b in row.boxes}
    out = []
    for line in boxes.sheet.lines("modifications"):
        made = {
            box: boxes.word(Place("modifications", line, box), words[box])
            for box in ("kind", "how", "when")
        }
        if not boxes.text("modifications", line, "kind"):
            boxes.wrong(Place("modifications", line, "kind"), "one of " + ", ".join(words["kind"]))
        out.append(Modification(**made, what=boxes.text("modifications", line, "what")))
    return tuple(out)


def _papers(boxes: Boxes) -> dict[str, Paper]:
    return {
        name: Paper(
            boxes.answer(Place("documents", name, "answer")),
            boxes.text("documents", name, "notes"),
        )
        for name in _names(boxes.sheet, "documents")
    }
