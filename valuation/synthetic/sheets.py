"""Inspection sheets of invented cars, filled in: clean, contradicted, half seen."""

from __future__ import annotations

from importlib import resources

from valuation.inspection.form_parts import inspection_form
from valuation.inspection.settings_file import default_inspection_settings
from valuation.inspection.sheet_toml import entries_of_toml
from valuation.inspection.sheet_workbook import sheet_bytes

__all__ = ["SHEETS", "filled_sheet"]

SHEETS = ("clean", "contradicted", "half_seen")
"""Names of the sheets."""


def filled_sheet(name: str) -> bytes:
    """Return one filled inspection sheet as an .xlsx file.

    Parameters
    ----------
    name : str
        One of :data:`SHEETS`.

    Returns
    -------
    bytes
        The same every time.
    """
    file = f"{name}.toml"
    text = resources.files("valuation.synthetic") / "filled" / file
    form = inspection_form(default_inspection_settings())
    sheet = entries_of_toml(file, text.read_bytes(), form)
    if sheet.faults:
        raise ValueError(f"filled_sheet: unknown entries (got: {sheet.faults})")
    return sheet_bytes(form, sheet.entries)
