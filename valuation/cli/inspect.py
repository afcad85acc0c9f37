"""``valuation inspect``: make an empty inspection sheet, or read a filled one."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from valuation.cli.output import print_json
from valuation.errors import SheetError
from valuation.files import write_in_one_step
from valuation.importing.car_file import write_car
from valuation.inspection.form_parts import inspection_form
from valuation.inspection.inspection import read_sheet
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.settings_file import (
    default_inspection_settings,
    read_inspection_settings,
)
from valuation.inspection.sheet_toml import sheet_toml
from valuation.inspection.sheet_workbook import sheet_bytes

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Write the empty sheet, or read the filled one, print what it says and write the car."""
    settings = (
        read_inspection_settings(Path(arguments.settings))
        if arguments.settings
        else default_inspection_settings()
    )
    if arguments.blank:
        _write_blank(arguments, settings)
        return
    if not arguments.sheet:
        raise SheetError(
            "inspect",
            "no sheet is named",
            remedy="Name a filled sheet, or make an empty one with --blank OUT.xlsx",
        )
    found = read_sheet(arguments.sheet, settings)
    if arguments.out:
        write_car(found.to_car(), arguments.out)
    if arguments.json:
        print_json(found.to_dict())
        return
    print(found.summary())
    if arguments.out:
        print(f"\nCar file: {arguments.out}")


def _write_blank(arguments: Namespace, settings: InspectionSettings) -> None:
    if arguments.sheet or arguments.out or arguments.json:
        raise SheetError(
            "--blank",
            "an empty sheet is made by itself",
            got=arguments.sheet or ("-o" if arguments.out else "--json"),
            remedy="Leave out everything but --blank and --settings",
        )
    path = Path(arguments.blank)
    ending, form = path.suffix.lower(), inspection_form(settings)
    if ending not in (".xlsx", ".toml"):
        raise SheetError(
            path.name,
            "an empty sheet is .xlsx or .toml",
            got=ending or "no ending",
            remedy="Let the name end in .xlsx or .toml",
        )
    content = sheet_bytes(form) if ending == ".xlsx" else sheet_toml(form).encode()
    write_in_one_step(path, content, what="sheet")
    print(f"Empty inspection sheet: {path}")
