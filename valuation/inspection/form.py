"""What an inspection sheet asks, declared once: workbook, text form and reader follow.

A form is made of parts.  A part is one row of boxes, a row for each name (zone, component, paper),
or numbered lines that are filled as they come.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

from valuation.inspection.settings import InspectionSettings

__all__ = ["Box", "Form", "Part", "Place", "Row", "Shape"]

Shape = Literal["single", "named", "lines"]
"""How the rows of a part are told apart: there is one, by name, or by number."""


class Place(NamedTuple):
    """Where on a form something is asked.

    Parameters
    ----------
    part : str
        Name of the part.
    row : str
        Name or number of the row, empty where there is only one.
    box : str
        Name of the box.
    """

    part: str
    row: str
    box: str


@dataclass(frozen=True, slots=True)
class Box:
    """One thing that is asked.

    Parameters
    ----------
    name, label : str
        Name in files, and for people.
    hint : str
        How it is filled in, empty if its label says it all.
    words : tuple of (str or float)
        What can be chosen; empty for anything.
    plain : bool
        False where it holds a number: then a spreadsheet may take it for one.
    """

    name: str
    label: str
    hint: str = ""
    words: tuple[str | float, ...] = ()
    plain: bool = True


@dataclass(frozen=True, slots=True)
class Row:
    """Boxes that belong together.

    Parameters
    ----------
    name, label : str
        Name in files, and for people.
    boxes : tuple of Box
        What is asked.
    hint : str
        Where and how to look, empty if nothing is to be said.
    """

    name: str
    label: str
    boxes: tuple[Box, ...]
    hint: str = ""

    def box(self, name: str) -> Box | None:
        """Return a box by its name, None if there is none."""
        return next((b for b in self.boxes if b.name == name), None)


@dataclass(frozen=True, slots=True)
class Part:
    """One table of a form.

    Parameters
    ----------
    name, label : str
        Name in files, and for people.
    shape : {"single", "named", "lines"}
        How its rows are told apart.
    rows : tuple of Row
        Every row; of numbered lines the one that all are like.
    lines : int
        How many numbered lines are printed.
    """

    name: str
    label: str
    shape: Shape
    rows: tuple[Row, ...]
    lines: int = 0

    def row(self, name: str) -> Row | None:
        """Return a row by its name or number, None if there is none."""
        if self.shape == "lines":
            return self.rows[0] if name.isdecimal() and int(name) else None
        return next((r for r in self.rows if r.name == name), None)

    @property
    def flat(self) -> bool:
        """Whether each named row has a single box, so that it needs no name of its own."""
        return self.shape == "named" and all(len(r.boxes) == 1 for r in self.rows)


@dataclass(frozen=True)
class Form:
    """An inspection sheet, as what it asks.

    Parameters
    ----------
    parts : tuple of Part
        In the order of its pages.
    settings : InspectionSettings
        What it was made from.
    """

    parts: tuple[Part, ...]
    settings: InspectionSettings

    def part(self, name: str) -> Part:
        """Return a part by its name; KeyError if there is none."""
        return {p.name: p for p in self.parts}[name]

    def box(self, place: Place) -> Box | None:
        """Return the box at a place, None if the form has no such place."""
        part = next((p for p in self.parts if p.name == place.part), None)
        row = part.row(place.row) if part else None
        return row.box(place.box) if row else None

    def label(self, place: Place) -> str:
        """Return what is asked at a place, for people.

        Examples
        --------
        >>> row = Row("paint", "Paint", (Box("mark", "Mark"), Box("notes", "Notes")))
        >>> from valuation.inspection.settings_file import default_inspection_settings
        >>> form = Form((Part("zones", "Zones", "named", (row,)),), default_inspection_settings())
        >>> form.label(Place("zones", "paint", "mark"))
        'Paint, mark'
        """
        part = self.part(place.part)
        row, box = part.row(place.row), self.box(place)
        if row is None or box is None:
            raise KeyError(place)
        if part.shape == "single" or part.flat:
            return row.label if part.flat else box.label
        start = f"{part.label}, line {place.row}" if part.shape == "lines" else row.label
        return f"{start}, {box.label[:1].lower()}{box.label[1:]}"

    def places(self) -> tuple[Place, ...]:
        """Return every place that is printed."""
        out = []
        for part in self.parts:
            names = [str(n) for n in range(1, part.lines + 1)] or [r.name for r in part.rows]
            for name in names:
                row = part.row(name)
                out += [Place(part.name, name, b.name) for b in row.boxes] if row else []
        return tuple(out)
