"""Which rows of a catalogue are no lot that can be priced, and what stands in it twice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pandas as pd

from valuation.importing.checks import check_years
from valuation.importing.faults import REMEDIES, FaultList
from valuation.importing.lot_list import Lot
from valuation.importing.lot_part import LotPart
from valuation.importing.lot_things import thing_in, withdrawn
from valuation.records import Fault, SetAside

__all__ = ["LOT_REMEDIES", "note_doubles", "set_aside"]

LOT_REMEDIES = {
    "subtotal row": "Nothing to do: it is no lot",
    "repeated header": "Nothing to do: it is no lot",
    "no car": "Nothing to do; if it is a car, name it in the title",
    "withdrawn": "Nothing to do: the house does not offer it",
    "no year": "Fill in the model year, or a title that names it",
    "duplicate": "Nothing to do: the same row counts once",
}
"""What to do, by code of the fault, where it differs from a list of sales."""

_LONGEST_WORD = 40


def _is_withdrawn(cells: Sequence[str]) -> bool:
    return any(c[:1].isalpha() and len(c) <= _LONGEST_WORD and withdrawn(c) for c in cells)


def _check_things(part: LotPart, faults: FaultList) -> None:
    """Note lots that are withdrawn or no cars; nothing else is said about them."""
    rows = part.raw.cells.to_numpy().tolist()
    for i, read in enumerate(part.cars):
        if i in faults.closed:
            continue
        title = read.car.title
        if _is_withdrawn([str(c) for c in rows[i]]):
            code, got = "withdrawn", part.fields[i].number
        elif thing := thing_in(title, like_a_car=read.like_a_car):
            code, got = "no car", thing
        else:
            continue
        faults.by_row[i] = [Fault(code, "", got, LOT_REMEDIES[code])]
        faults.closed.add(i)


def _check_cars(part: LotPart, faults: FaultList) -> None:
    """Note what a lot lacks to be priced: a make, a possible year."""
    years = pd.Series([read.year for read in part.cars], dtype="float64")
    dates = pd.Series([f.sale_date for f in part.fields], dtype="datetime64[s]")
    faults.withdraw(years.notna().to_numpy(), "unreadable year")
    table = pd.DataFrame({"year": years, "sale_date": dates})
    check_years(table, faults, dated=bool(dates.notna().any()))
    faults.add_where([not read.make for read in part.cars], "no make")


def _check_doubles(part: LotPart, faults: FaultList) -> None:
    """Note rows that say exactly what an earlier row says.

    Without lot number and chassis two rows of the same words may well be two cars.
    """
    seen: dict[tuple[str, ...], int] = {}
    for i, row in enumerate(part.raw.cells.to_numpy().tolist()):
        if i in faults.closed:
            continue
        first = seen.setdefault(tuple(map(str, row)), i)
        if first == i:
            continue
        same = f"the same as row {part.raw.rows[first]}"
        if part.fields[i].number or part.cars[i].car.chassis:
            faults.add(i, "duplicate", "", same)
        else:
            part.fields[i].remarks.append(f"Its words are {same}: see whether it is another car.")


def set_aside(part: LotPart) -> dict[int, SetAside]:
    """Return the rows of a table that are no lots that can be priced.

    Parameters
    ----------
    part : LotPart
        The table as it was read.

    Returns
    -------
    dict of int to SetAside
        By position, each with all its reasons and its cells as they came.
    """
    faults = part.faults
    _check_things(part, faults)
    _check_cars(part, faults)
    _check_doubles(part, faults)
    rows = sorted(faults.by_row)
    found = faults.set_aside(part.raw, 0, rows)
    return {i: replace(s, faults=_for_lots(s.faults)) for i, s in zip(rows, found, strict=True)}


def _for_lots(faults: Sequence[Fault]) -> tuple[Fault, ...]:
    """Return faults with what to do about them in a catalogue."""
    return tuple(
        replace(f, remedy=LOT_REMEDIES[f.code])
        if f.code in LOT_REMEDIES and f.remedy == REMEDIES.get(f.code)
        else f
        for f in faults
    )


def _places(lots: Sequence[Lot], keys: Sequence[object]) -> dict[int, list[int]]:
    """Return for each lot whose key others have too where these are."""
    groups: dict[object, list[int]] = {}
    for i, key in enumerate(keys):
        if key:
            groups.setdefault(key, []).append(i)
    return {i: [j for j in g if j != i] for g in groups.values() if len(g) > 1 for i in g}


def note_doubles(lots: Sequence[Lot]) -> tuple[tuple[Lot, ...], list[str]]:
    """Remark which lots share their number or their chassis with another one.

    Parameters
    ----------
    lots : sequence of Lot
        All lots of a list.

    Returns
    -------
    lots : tuple of Lot
        All of them: a number that stands twice may be a slip of either.
    notes : list of str
        How many, and how many have no number.
    """
    numbers = _places(lots, [(x.number, x.day) if x.number else "" for x in lots])
    same_car = _places(lots, [x.chassis_key for x in lots])
    out = []
    for i, lot in enumerate(lots):
        more = []
        if i in numbers:
            rows = ", ".join(str(lots[j].row) for j in numbers[i])
            more.append(f"Lot number {lot.number} stands for another car too: row {rows}.")
        if i in same_car:
            others = ", ".join(lots[j].place for j in same_car[i])
            more.append(f"The same chassis number stands at {others}.")
        out.append(replace(lot, remarks=(*lot.remarks, *more)) if more else lot)
    notes = []
    if numbers:
        notes.append(f"Lots that share their number with another one: {len(numbers)}.")
    unnumbered = sum(not lot.number for lot in lots)
    if unnumbered:
        notes.append(f"Lots without a number: {unnumbered}; their row stands for it.")
    return tuple(out), notes
