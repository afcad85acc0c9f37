"""One table of a catalogue: its columns understood, its cars and lots read."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from valuation.errors import LotFileError
from valuation.importing.assemble import Assembled, assemble
from valuation.importing.faults import FaultList
from valuation.importing.lot_cars import CarRead, read_cars
from valuation.importing.lot_columns import lot_map
from valuation.importing.lot_days import is_day
from valuation.importing.lot_fields import LotFields, read_fields
from valuation.importing.raw import RawTable
from valuation.importing.scale import orient_condition
from valuation.importing.source_map import SourceMap
from valuation.reading.titles import Makes

__all__ = ["LotPart", "read_part"]

_NAMES_A_CAR = ("title", "description", "make", "model", "year")


@dataclass
class LotPart:
    """One table of a catalogue as it was read.

    Parameters
    ----------
    raw : RawTable
        As it came.
    fields : list of LotFields, length n_rows
        What the lot's own columns say.
    cars : list of CarRead, length n_rows
        The cars.
    currencies : list of str, length n_rows
        ISO 4217 code that is stated for each row, empty if none.
    faults : FaultList
        Rows that can be no lots, and years that can't be read.
    notes : list of str
        What was noticed about the table as a whole.
    """

    raw: RawTable
    fields: list[LotFields]
    cars: list[CarRead]
    currencies: list[str]
    faults: FaultList
    notes: list[str]


def _need_a_car(raw: RawTable, source: SourceMap) -> None:
    if any(source.use(target) for target in _NAMES_A_CAR):
        return
    raise LotFileError(
        raw.name,
        "no column says which car a lot is",
        got=", ".join(map(str, raw.cells.columns[:12])),
        remedy="Name a column of titles, or of makes and years, in a map",
    )


def _currencies(part: Assembled, fields: list[LotFields]) -> list[str]:
    """Return the currency stated for each row: by its estimate, by a column, by the map."""
    column = part.table["currency"].tolist()
    of_map = part.source_map.fixed.get("currency", "")
    found = []
    for own, code in zip(fields, column, strict=True):
        code = code if isinstance(code, str) else ""
        if own.currency and code and own.currency != code:
            own.remarks.append(
                f"The column of currencies says {code}, the estimate {own.currency}, which counts."
            )
        found.append(own.currency or code or of_map)
    return found


def _say_unknown_currencies(part: Assembled, fields: list[LotFields]) -> None:
    """Let a currency that can't be read be a remark: the car can be priced without it."""
    for i, found in part.faults.by_row.items():
        for fault in found:
            if fault.code == "unknown currency":
                fields[i].remarks.append(f'The currency reads "{fault.got}" and is not known.')
    part.faults.withdraw(np.ones(len(fields), dtype=bool), "unknown currency")


def _day_of_sheet(raw: RawTable, fields: list[LotFields]) -> None:
    """Let the name of a sheet stand for the day where no column names one."""
    sheet = raw.name.partition(", sheet ")[2]
    if sheet and is_day(sheet) and not any(f.day for f in fields):
        for own in fields:
            own.day = sheet


def read_part(raw: RawTable, given: SourceMap, known: Makes | None) -> LotPart:
    """Read one table of a catalogue.

    Parameters
    ----------
    raw : RawTable
        As it came.
    given : SourceMap
        A map that goes before; the rest is recognised.
    known : Makes or None
        Makes and models of the market.

    Raises
    ------
    LotFileError
        If no column says which car a lot is.
    """
    own, source = lot_map(raw, given)
    _need_a_car(raw, source)
    part = assemble(raw, source, offers=False)
    orient_condition(part)
    order = next((u.order for u in given.uses if u.target == "sale_date"), "")
    fields, notes = read_fields(raw, own, order)
    _day_of_sheet(raw, fields)
    _say_unknown_currencies(part, fields)
    cars = read_cars(part, known, [f.drivetrain for f in fields] if "drivetrain" in own else ())
    return LotPart(raw, fields, cars, _currencies(part, fields), part.faults, [*part.notes, *notes])
