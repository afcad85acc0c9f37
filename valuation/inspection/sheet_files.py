"""Reading a filled sheet from its file: every box that is filled in, and where it stands."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import ParseError

import openpyxl

from valuation.errors import SheetError
from valuation.importing.car_value import Wrong
from valuation.inspection.form import Form, Place
from valuation.inspection.form_parts import inspection_form
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.sheet import Entry, Sheet, entry_text
from valuation.inspection.sheet_toml import entries_of_toml

__all__ = ["load_sheet"]

_BROKEN = (zipfile.BadZipFile, ParseError, KeyError, ValueError, TypeError, EOFError)
_BOX = re.compile(r"([A-Z]{1,3})=([a-z_]+)/([^/|]*)/([a-z_]+)")
_TWICE = "left empty: the row was copied, and the sheet has no second box of this kind"
_NO_SHEET = "Make one with: valuation inspect --blank OUT.xlsx"


def load_sheet(path: str | Path, settings: InspectionSettings) -> Sheet:
    """Read the boxes of a filled or half-filled sheet.

    Parameters
    ----------
    path : str or pathlib.Path
        Ends in ``.xlsx`` or ``.toml``.
    settings : InspectionSettings
        With the zones and components that are known.

    Returns
    -------
    Sheet
        Entries as they stand; boxes that the form doesn't know are among its faults.

    Raises
    ------
    SheetError
        If the file can't be read or is no inspection sheet.
    """
    path = Path(path)
    ending = path.suffix.lower()
    if ending not in (".xlsx", ".toml"):
        raise SheetError(
            path.name,
            "a filled sheet is .xlsx or .toml",
            got=ending or "no ending",
            remedy="Save it as .xlsx, or write it as .toml",
        )
    try:
        data = path.read_bytes()
    except OSError as error:
        raise SheetError(
            path.name, "it can't be read", got=error.strerror or str(error), remedy="Check its name"
        ) from error
    form = inspection_form(settings)
    if ending == ".toml":
        return entries_of_toml(path.name, data, form)
    return _of_workbook(path.name, data, form)


def _of_workbook(name: str, data: bytes, form: Form) -> Sheet:
    entries: dict[Place, Entry] = {}
    where: dict[Place, str] = {}
    faults: list[Wrong] = []
    for tab, cell, place, value in _boxes(name, data):
        known = form.box(place) is not None
        where[place] = f"{tab} {cell} ({form.label(place) if known else '.'.join(place)})"
        if value is None or not entry_text(value):
            continue
        if not known:
            faults.append(Wrong(where[place], entry_text(value), _unknown(form, place)))
        elif place in entries:
            # A copied row brings its hidden key along; the last one must not win in silence.
            faults.append(Wrong(where[place], entry_text(value), _TWICE))
        else:
            entries[place] = value
    if not where:
        raise SheetError(
            name,
            "it is no inspection sheet",
            got="a workbook without its boxes",
            remedy=_NO_SHEET,
        )
    return Sheet(name, form, entries, where, tuple(faults))


def _unknown(form: Form, place: Place) -> str:
    part = next((p for p in form.parts if p.name == place.part), None)
    row = part.row(place.row) if part else None
    if part is None or row is not None or part.shape != "named":
        return "left empty: the settings know no such box"
    return "left empty: the settings know no such row"


def _boxes(name: str, data: bytes) -> Iterator[tuple[str, str, Place, Any]]:
    """Yield tab, cell, place and value of every box that column A of a tab names."""
    try:
        with warnings.catch_warnings():
            # Drop-downs that another program has rewritten make openpyxl warn; cells are fine.
            warnings.simplefilter("ignore", UserWarning)
            book = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
        for tab in book.worksheets:
            for row, (key,) in enumerate(tab.iter_rows(max_col=1, values_only=True), start=1):
                for found in _BOX.finditer(key if isinstance(key, str) else ""):
                    cell = f"{found[1]}{row}"
                    yield tab.title, cell, Place(*found.groups()[1:]), tab[cell].value
    except _BROKEN as error:
        raise SheetError(
            name,
            "it is no workbook that can be opened",
            got=type(error).__name__,
            remedy="Open it in a spreadsheet and save it as .xlsx",
        ) from error
