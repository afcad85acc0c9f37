"""The inspection sheet as a text file: the same boxes, a key for each."""

from __future__ import annotations

import textwrap
import tomllib
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

import tomlkit

from valuation.errors import SheetError
from valuation.importing.car_value import Wrong
from valuation.inspection.cautions import SAFETY
from valuation.inspection.form import Box, Form, Part, Place, Row
from valuation.inspection.sheet import Entry, Sheet, entry_text

__all__ = ["entries_of_toml", "sheet_toml"]

_WIDTH = 96
_HEAD = (
    "An inspection sheet.  What is left empty was not looked at; what could not be reached or",
    'tried is "not possible here".  Lists of photographs and papers stand with ; between them.',
)


def sheet_toml(form: Form, values: Mapping[Place, Any] | None = None) -> str:
    """Return the inspection sheet as TOML.

    Parameters
    ----------
    form : Form
        What it asks.
    values : mapping of Place to object, optional
        What is filled in already; empty without it.

    Returns
    -------
    str
        The same form and values give the same text.
    """
    given = dict(values or {})
    cautions = [line for caution in SAFETY for line in textwrap.wrap(caution, _WIDTH)]
    lines = [f"# {line}" for line in (*_HEAD, *cautions)]
    for part in form.parts:
        lines += ["", *_bar(part.label)]
        lines += _lines_of(part, given) if part.shape == "lines" else _rows_of(part, given)
    return "\n".join(lines) + "\n"


def _bar(label: str) -> list[str]:
    return [f"# ---- {label} ".ljust(_WIDTH, "-")]


def _assignment(box: Box, value: Any) -> str:
    return f"{_key(box.name)} = {_literal(value)}"


def _key(name: str) -> str:
    return name if name.replace("_", "").isalnum() and name.isascii() else f'"{name}"'


def _literal(value: Any) -> str:
    if value is None:
        return '""'
    plain = value if isinstance(value, bool | int | float | date) else str(value)
    return str(tomlkit.item(plain).as_string())


def _help(boxes: tuple[Box, ...]) -> list[str]:
    """Return how boxes are filled in, where their names don't say it all."""
    out = []
    for box in boxes:
        words = " | ".join(w for w in box.words if isinstance(w, str))
        named = box.label.casefold() == box.name.replace("_", " ")
        told = "; ".join(t for t in ("" if named else box.label, box.hint, words) if t)
        if told:
            lines = textwrap.wrap(f"{box.name}: {told}", _WIDTH - 4)
            out += [f"# {line}" for line in (lines[0], *(f"    {more}" for more in lines[1:]))]
    return out


def _rows_of(part: Part, values: Mapping[Place, Any]) -> list[str]:
    widest = max(part.rows, key=lambda row: len(row.boxes))
    out = _help(widest.boxes)
    if part.shape == "single" or part.flat:
        out.append(f"[{part.name}]")
    for row in part.rows:
        if part.flat:
            value = values.get(Place(part.name, row.name, row.boxes[0].name))
            out.append(f"{_key(row.name)} = {_literal(value)}")
            continue
        if part.shape == "named":
            out += ["", f"[{part.name}.{_key(row.name)}]"]
            out += [f"# {line}" for line in textwrap.wrap(f"{row.label}. {row.hint}", _WIDTH)]
        out += [_assignment(b, values.get(Place(part.name, row.name, b.name))) for b in row.boxes]
    return out


def _lines_of(part: Part, values: Mapping[Place, Any]) -> list[str]:
    row: Row = part.rows[0]
    out = _help(row.boxes)
    last = max((int(p.row) for p in values if p.part == part.name), default=0)
    if not last:
        empty = [f"# {_assignment(b, None)}" for b in row.boxes]
        return [
            *out,
            "# As often as needed, without the signs at the start:",
            f"# [[{part.name}]]",
            *empty,
        ]
    for number in map(str, range(1, last + 1)):
        out.append(f"[[{part.name}]]")
        out += [_assignment(b, values.get(Place(part.name, number, b.name))) for b in row.boxes]
    return out


def entries_of_toml(name: str, data: bytes, form: Form) -> Sheet:
    """Read the boxes of a sheet that is written as TOML.

    Parameters
    ----------
    name : str
        Name of the file, for messages.
    data : bytes
        Its content.
    form : Form
        What was asked.

    Returns
    -------
    Sheet
        Keys that the form doesn't know are among its faults.

    Raises
    ------
    SheetError
        If it is no TOML.
    """
    try:
        content = tomllib.loads(data.decode("utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise SheetError(
            name, "this is not valid TOML", got=str(error), remedy="Mend the line named"
        ) from error
    entries: dict[Place, Entry] = {}
    where: dict[Place, str] = {}
    faults: list[Wrong] = []
    for key, place, value in _keys(content, form, faults):
        made = "; ".join(map(str, value)) if isinstance(value, list) else value
        if form.box(place) is None:
            faults.append(Wrong(key, "an unknown entry", _known(form, place)))
        elif isinstance(made, Mapping):
            faults.append(Wrong(key, "a table", "one value"))
        elif entry_text(made):
            entries[place], where[place] = made, key
    return Sheet(name, form, entries, where, tuple(faults))


def _known(form: Form, place: Place) -> str:
    part = form.part(place.part)
    row = part.row(place.row)
    names = [b.name for b in row.boxes] if row and not part.flat else [r.name for r in part.rows]
    return "one of " + ", ".join(names)


def _keys(
    content: Mapping[str, Any], form: Form, faults: list[Wrong]
) -> Iterator[tuple[str, Place, Any]]:
    names = [p.name for p in form.parts]
    for name, table in content.items():
        if name not in names:
            faults.append(Wrong(name, "an unknown table", "one of " + ", ".join(names)))
            continue
        part = form.part(name)
        if part.shape == "lines":
            yield from _of_lines(part, table, faults)
        elif not isinstance(table, Mapping):
            faults.append(Wrong(name, repr(table), f"a table [{name}]"))
        elif part.shape == "single":
            yield from ((f"{name}.{box}", Place(name, "", box), v) for box, v in table.items())
        elif part.flat:
            yield from (
                (f"{name}.{row}", Place(name, row, part.rows[0].boxes[0].name), v)
                for row, v in table.items()
            )
        else:
            yield from _of_names(part, table, faults)


def _of_lines(part: Part, table: Any, faults: list[Wrong]) -> Iterator[tuple[str, Place, Any]]:
    if not isinstance(table, list) or not all(isinstance(line, Mapping) for line in table):
        faults.append(Wrong(part.name, repr(table), f"tables such as [[{part.name}]]"))
        return
    for number, line in enumerate(table, start=1):
        for box, value in line.items():
            yield f"{part.name}, number {number}.{box}", Place(part.name, str(number), box), value


def _of_names(
    part: Part, table: Mapping[str, Any], faults: list[Wrong]
) -> Iterator[tuple[str, Place, Any]]:
    for row, boxes in table.items():
        key = f"{part.name}.{row}"
        if part.row(row) is None:
            known = ", ".join(r.name for r in part.rows)
            faults.append(Wrong(key, "an unknown table", f"one of {known}"))
        elif not isinstance(boxes, Mapping):
            faults.append(Wrong(key, repr(boxes), f"a table [{key}]"))
        else:
            yield from ((f"{key}.{box}", Place(part.name, row, box), v) for box, v in boxes.items())
