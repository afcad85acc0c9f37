"""The inspection sheet as a workbook: printed and filled with a pen, or filled on a computer."""

from __future__ import annotations

import io
from collections.abc import Mapping

from openpyxl import Workbook

from valuation.files import without_clock
from valuation.inspection.form import Form, Part, Place
from valuation.inspection.form_parts import OPEN_WORDS
from valuation.inspection.sheet import Entry
from valuation.inspection.sheet_page import Page, WordLists

__all__ = ["sheet_bytes"]

Values = Mapping[Place, Entry]

_CAR_ROWS: tuple[tuple[str, ...], ...] = (
    ("lot", "seen_on"),
    ("asking", "seen_by"),
    ("currency", "colour"),
    ("make", "body"),
    ("model", "steering_side"),
    ("variant", "engine_size"),
    ("year", "transmission"),
    ("built", "gears"),
    ("first_registered", "chassis"),
    ("year_on_title", "mileage"),
    ("title_status", "mileage_status"),
    ("title_days", "mileage_proof"),
    ("title_low", "title_high"),
)
_SHOWN = ("lot", "seen_on", "make", "model", "year", "chassis", "mileage", "title_status")
_PAIRS: tuple[tuple[str, str], ...] = (
    ("claim", "appears_original"),
    ("number", "number_on_record"),
    ("dates", "part_years"),
    ("part_number", "part_number_wanted"),
    ("photographs", "papers"),
)
_PAPERS_FIRST = (
    "Before you walk: hold the chassis number of the papers against plate and stamp, read title "
    "and odometer, photograph all of them. "
)


def sheet_bytes(form: Form, values: Values | None = None) -> bytes:
    """Return the inspection sheet as an .xlsx file.

    Parameters
    ----------
    form : Form
        What it asks.
    values : mapping of Place to Entry, optional
        What is filled in already; empty without it.

    Returns
    -------
    bytes
        The same form and values give the same bytes.

    Raises
    ------
    ValueError
        If a value stands at a place that is not printed.
    """
    given = dict(values or {})
    lost = sorted("/".join(p) for p in given.keys() - set(form.places()))
    if lost:
        raise ValueError(f"sheet_bytes: no box is printed for it (got: {', '.join(lost)})")
    book = Workbook()
    book.remove(book.worksheets[0])
    lists = WordLists(book)
    car = _car_tab(book, form, lists, given)
    lot = f"Car!{car.cell_of(Place('car', '', 'lot'))}"
    _preview_tab(book, form, lists, given, car)
    for add in (_zones_tab, _defects_tab, _components_tab, _changes_tab):
        add(book, form, lists, given, lot)
    book.move_sheet("Words", offset=len(book.worksheets))
    book.active = 0
    book.properties.creator = "valuation"
    saved = io.BytesIO()
    book.save(saved)
    return without_clock(saved.getvalue())


def _choices(form: Form, *asked: tuple[str, str]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return the words of some boxes by their labels, and last what can be said of any."""
    out = []
    for part, name in asked:
        boxes = [b for row in form.part(part).rows for b in row.boxes if b.name == name]
        words = dict.fromkeys(w for b in boxes for w in b.words if isinstance(w, str))
        own = tuple(w for w in words if w not in OPEN_WORDS)
        if own:
            out.append((boxes[0].label.rstrip("?"), own))
    return (*out, ("Anywhere", OPEN_WORDS))


def _pair(
    page: Page, part: Part, place: Place, row: int, column: int, values: Values, *, wide: int = 1
) -> None:
    """Write a label and, right of it, its box."""
    line = part.row(place.row)
    box = line.box(place.box) if line else None
    if line is None or box is None:
        raise KeyError(place)
    name = line.label if part.flat else box.label
    page.text(row, column, name, f"\n{box.hint}" if box.hint else "")
    page.box(row, column + 1, box, place, values.get(place), span=wide)


def _car_tab(book: Workbook, form: Form, lists: WordLists, values: Values) -> Page:
    said = "Write what you read, not what you were told. An empty box means: not looked at."
    asked = ("transmission", "mileage_status", "title_status")
    words = _choices(form, *(("car", name) for name in asked))
    page = Page(book, "Car", (18, 30, 18, 30), lists, said=said, words=words)
    car, history = form.part("car"), form.part("history")
    row = 4
    for names in _CAR_ROWS:
        for side, name in enumerate(names):
            _pair(page, car, Place("car", "", name), row, 2 + 2 * side, values)
        page.height(row, 31)
        row += 1
    page.text(row, 2, "History. ", "What is known to have happened to it? Yes or no.", span=4)
    page.height(row, 16)
    row += 1
    for number, line in enumerate(history.rows):
        place = Place("history", line.name, line.boxes[0].name)
        _pair(page, history, place, row + number // 2, 2 + 2 * (number % 2), values)
        page.height(row + number // 2, 25)
    row += (len(history.rows) + 1) // 2
    _pair(page, car, Place("car", "", "notes"), row, 2, values, wide=3)
    page.height(row, 80)
    page.finish()
    return page


def _preview_tab(book: Workbook, form: Form, lists: WordLists, values: Values, car: Page) -> None:
    said = (
        "One lot, eight minutes, no lift, no start. One mark for each group, 0 to 10 in halves; "
        "write why, and the names of photographs."
    )
    words = _choices(form, ("preview", "mark"))
    page = Page(book, "Preview", (34, 14, 15, 33), lists, said=said, words=words)
    part, asked = form.part("preview"), form.part("car").rows[0]
    row = 4
    for number, name in enumerate(_SHOWN):
        box, at = asked.box(name), 2 + 2 * (number % 2)
        cell = car.cell_of(Place("car", "", name))
        page.text(row + number // 2, at, box.label if box else name)
        page.shown(row + number // 2, at + 1, f'=IF(Car!{cell}="","",Car!{cell})')
        page.height(row + number // 2, 26)
    row += (len(_SHOWN) + 1) // 2
    page.text(row, 2, _PAPERS_FIRST, span=4, size=9)
    page.height(row, 28)
    page.text(row + 1, 2, "In walking order")
    page.text(row + 1, 3, "Mark")
    page.text(row + 1, 4, "Notes and photographs", span=2)
    page.height(row + 1, 17)
    row += 2
    for number, line in enumerate(part.rows, start=1):
        zones = [z.label for z in form.settings.zones if z.group == line.name and z.preview]
        look = f"\n{line.hint}\n{'. '.join(zones)}."
        page.text(row, 2, f"{number}. {line.label}", look)
        for box, at, wide in zip(line.boxes, (3, 4), (1, 2), strict=True):
            place = Place("preview", line.name, box.name)
            page.box(row, at, box, place, values.get(place), span=wide, large=box.name == "mark")
        page.height(row, 101)
        row += 1
    page.finish()


def _zones_tab(book: Workbook, form: Form, lists: WordLists, values: Values, lot: str) -> None:
    said = (
        "Marks from 0 to 10 in halves. Could not be reached or tried: not possible here. "
        "Nobody looked: leave it empty."
    )
    words = _choices(form, ("zones", "mark"))
    page = Page(book, "Zones", (43, 11, 27, 16), lists, said=said, words=words, lot=lot)
    part = form.part("zones")
    page.text(4, 2, "Zone in walking order")
    for column, box in enumerate(part.rows[0].boxes, start=3):
        page.text(4, column, box.label, f"\n{box.hint}" if box.hint else "")
    page.height(4, 37)
    for row, line in enumerate(part.rows, start=5):
        page.text(row, 2, line.label, f"\n{line.hint}")
        for column, box in enumerate(line.boxes, start=3):
            place = Place("zones", line.name, box.name)
            large = box.name == "mark"
            page.box(row, column, box, place, values.get(place), large=large)
        page.height(row, 68)
    page.break_after(4 + (len(part.rows) + 1) // 2)
    page.finish(head=4)


def _lines(
    page: Page, part: Part, row: int, spans: tuple[int, ...], values: Values, height: float
) -> int:
    """Write numbered lines below their captions; return the row after them."""
    boxes = part.rows[0].boxes
    columns = [2 + sum(spans[:k]) for k in range(len(spans))]
    for box, column, span in zip(boxes, columns, spans, strict=True):
        page.text(row, column, box.label, span=span)
    page.height(row, 18)
    for number in range(1, part.lines + 1):
        for box, column, span in zip(boxes, columns, spans, strict=True):
            place = Place(part.name, str(number), box.name)
            page.box(row + number, column, box, place, values.get(place), span=span)
        page.height(row + number, height)
    return row + part.lines + 1


def _defects_tab(book: Workbook, form: Form, lists: WordLists, values: Values, lot: str) -> None:
    said = (
        "What is wrong, what it costs to put right, low and high, and the mark of the zone after "
        "that; what was done, and when."
    )
    words = _choices(form, ("defects", "how_bad"), ("work", "bills"))
    widths = (18, 23.5, 14, 11, 10.5, 10.5, 10.5)
    page = Page(book, "Defects and work", widths, lists, said=said, words=words, lot=lot)
    told = "Amounts in the currency of tab Car. Mark after: 0 to 10 in halves, of the whole zone."
    page.text(4, 2, "Defects. ", told, span=7)
    row = _lines(page, form.part("defects"), 5, (1, 1, 1, 1, 1, 1, 1), values, 38)
    page.break_after(row - 1)
    page.text(row, 2, "Work done. ", "When: a day, a month or a year.", span=7)
    _lines(page, form.part("work"), row + 1, (1, 1, 1, 4), values, 38)
    page.finish()


def _components_tab(book: Workbook, form: Form, lists: WordLists, values: Values, lot: str) -> None:
    said = (
        "What was it born with? Upper box: as read on the car. Lower box: from papers. "
        "Never restamp, alter or scratch a number: brush and solvent only."
    )
    widths = (35, 18, 19, 21, 17, 18, 20)
    statuses = _choices(form, ("components", "claim"))
    page = Page(
        book, "Components", widths, lists, said=said, words=statuses, landscape=True, lot=lot
    )
    part = form.part("components")
    labels = {b.name: b.label for line in part.rows for b in line.boxes}
    page.text(4, 2, "Component")
    for column, pair in enumerate(_PAIRS, start=3):
        above, below = (labels.get(name, "") for name in pair)
        page.text(4, column, above, f"\n{below}")
    page.text(4, 8, labels["notes"])
    page.height(4, 36)
    for number, line in enumerate(part.rows):
        _component(page, line.name, part, 5 + 2 * number, values)
    for after in range(5, len(part.rows), 5):
        page.break_after(4 + 2 * after)
    page.finish(head=4)


def _component(page: Page, name: str, part: Part, row: int, values: Values) -> None:
    line = part.row(name)
    if line is None:
        raise KeyError(name)
    page.text(row, 2, line.label, f"\n{line.hint}", rows=2)
    for column, pair in enumerate(_PAIRS, start=3):
        for at, asked in enumerate(pair, start=row):
            if box := line.box(asked):
                place = Place(part.name, name, asked)
                page.box(at, column, box, place, values.get(place))
            else:
                page.text(at, column, "–")
    place = Place(part.name, name, "notes")
    if notes := line.box("notes"):
        page.box(row, 8, notes, place, values.get(place), rows=2)
    for at in (row, row + 1):
        page.height(at, 39)


def _changes_tab(book: Workbook, form: Form, lists: WordLists, values: Values, lot: str) -> None:
    said = "What was changed, and which papers were seen."
    words = _choices(
        form,
        ("changes", "restoration"),
        ("changes", "genuineness"),
        ("modifications", "kind"),
        ("modifications", "how"),
        ("modifications", "when"),
        ("documents", "answer"),
    )
    widths = (24, 24, 20, 28)
    page = Page(book, "Changes and papers", widths, lists, said=said, words=words, lot=lot)
    changes, papers = form.part("changes"), form.part("documents")
    row = 4
    for number, box in enumerate(changes.rows[0].boxes):
        place = Place("changes", "", box.name)
        _pair(page, changes, place, row + number // 2, 2 + 2 * (number % 2), values)
        page.height(row + number // 2, 32)
    row += (len(changes.rows[0].boxes) + 1) // 2
    page.text(row, 2, "Modifications. ", "One line each; bolt-on is reversible.", span=4)
    row = _lines(page, form.part("modifications"), row + 1, (1, 1, 1, 1), values, 30)
    page.text(row, 2, "Documents. ", "Seen means: you held it in your hands.", span=4)
    for at, line in enumerate(papers.rows, start=row + 1):
        page.text(at, 2, line.label)
        for box, column, span in zip(line.boxes, (3, 4), (1, 2), strict=True):
            place = Place("documents", line.name, box.name)
            page.box(at, column, box, place, values.get(place), span=span)
        page.height(at, 31)
    page.finish()
