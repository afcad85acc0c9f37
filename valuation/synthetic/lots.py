"""An invented catalogue as files: the lots, a revised list, and what a reader has to make of it."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

import openpyxl
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter

from valuation.files import without_clock
from valuation.synthetic.lot_cells import COLUMNS, Cells, lot_cells
from valuation.synthetic.lot_drawing import draw_lots, sale_days
from valuation.synthetic.lot_slips import SLIPS, SPECIAL
from valuation.synthetic.market import SyntheticMarket

__all__ = ["FIRST_ROW", "LOTS", "ON_FRIDAY", "lot_files"]

LOTS = 200
"""Lots of the catalogue."""

ON_FRIDAY = 80
"""How many of them are offered on the first day."""

FIRST_ROW = 4
"""Row of the first lot in the workbook: a heading, a blank row and the names stand above it."""

_EXPECTED = ("row", "lot", "outcome", "reason", "case")
_WIDE = {"Title": 48, "Description": 60, "Day": 24}
_MONEY = ("Low estimate", "High estimate")


def lot_files(market: SyntheticMarket) -> dict[str, bytes]:
    """Return the files of a catalogue that follows on a market.

    Parameters
    ----------
    market : SyntheticMarket
        The market.

    Returns
    -------
    dict of str to bytes
        ``lots.xlsx``; ``lots_revised.csv``, the same with five changes; ``expected_lots.csv``,
        which for each row of the first says whether a reader has to read it (``priced``) or set
        it aside, and why or with what remark.
    """
    settings = market.settings
    # One car more than lots: it comes in with the revised list.
    drawn = draw_lots(market, LOTS + 1, on_friday=ON_FRIDAY)
    plain = lot_cells(drawn, ON_FRIDAY, settings.end, settings.currency)
    lots, spare = _with_slips(plain[:LOTS]), plain[LOTS]
    heading = f"Harbour Rooms: cars of the spring sale, {sale_days(settings.end)[0].year}"
    return {
        "lots.xlsx": _workbook(heading, lots),
        "lots_revised.csv": _csv(COLUMNS, [list(lot.values()) for lot in _revised(lots, spare)]),
        "expected_lots.csv": _csv(_EXPECTED, _expected(lots, drawn.before)),
    }


def _with_slips(plain: Sequence[Cells]) -> list[Cells]:
    out: list[Cells] = []
    for i, lot in enumerate(plain):
        if i in SPECIAL:
            lot = {**lot, **SPECIAL[i].changes}
        if i in SLIPS:
            lot = SLIPS[i].happen(lot, out[-1])
        out.append(lot)
    return out


def _expected(lots: Sequence[Cells], before: frozenset[int]) -> list[list[str | int]]:
    """Say of every row what a reader has to make of it."""
    out: list[list[str | int]] = []
    for i, lot in enumerate(lots):
        slip, special = SLIPS.get(i), SPECIAL.get(i)
        outcome = "set aside" if slip and slip.aside else "priced"
        reason = (slip.aside or slip.remark) if slip else special.remark if special else ""
        if _is_doubled(i):
            reason = SLIPS[i + 1].remark
        case = slip.case if slip else special.case if special else ""
        case = case or ("sold before" if i in before else "")
        out.append([FIRST_ROW + i, lot["Lot"], outcome, reason, case])
    return out


def _is_doubled(i: int) -> bool:
    """Tell whether the number of a lot stands again at the next one."""
    return i + 1 in SLIPS and SLIPS[i + 1].case == "a lot number that stands twice"


def _revised(lots: Sequence[Cells], spare: Cells) -> list[Cells]:
    """Change the list in five ways: estimate, reserve, odometer, one lot gone, one new."""
    new = [dict(lot) for lot in lots]
    for name in _MONEY:
        new[20][name] = int(new[20][name]) * 9 // 1000 * 100
    new[31]["Reserve"] = "reserve" if new[31]["Reserve"] == "no reserve" else "no reserve"
    new[58]["Odometer (miles)"] = 48_700
    del new[44]
    return [*new, spare]


def _csv(header: Sequence[str], rows: Sequence[Sequence[str | int]]) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(rows)
    return out.getvalue().encode()


def _workbook(heading: str, lots: Sequence[Cells]) -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Lots"
    sheet.append([heading])
    sheet.append([])
    sheet.append(list(COLUMNS))
    for j, name in enumerate(COLUMNS, start=1):
        sheet.cell(FIRST_ROW - 1, j).font = Font(bold=True)
        sheet.cell(FIRST_ROW - 1, j).alignment = Alignment(wrap_text=True, vertical="top")
        sheet.column_dimensions[get_column_letter(j)].width = _WIDE.get(name, 14)
    sheet["A1"].font = Font(bold=True, size=14)
    for i, lot in enumerate(lots, start=FIRST_ROW):
        for j, name in enumerate(COLUMNS, start=1):
            cell = sheet.cell(i, j, lot[name] or None)
            if isinstance(lot[name], str) and lot[name]:
                # Text that begins like a formula stays text.
                cell.data_type = "s"
            elif name in _MONEY:
                cell.number_format = "#,##0"
    sheet.freeze_panes = f"B{FIRST_ROW}"
    out = io.BytesIO()
    book.save(out)
    return without_clock(out.getvalue())
