"""Units, decimal signs, date orders and condition scales of columns, settled from content."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from statistics import median

import numpy as np

from valuation.importing.content import Column
from valuation.importing.names import HIGH_BID, unit_of_name
from valuation.importing.source_map import ColumnUse
from valuation.reading.dates import read_dates
from valuation.reading.engine import settle_size_unit
from valuation.reading.mileage import read_mileage
from valuation.reading.numbers import settle_decimal
from valuation.schema import BY_NAME

__all__ = ["settle_use"]

_SCALE_TOPS = (5.0, 6.0, 10.0)


def settle_use(use: ColumnUse, columns: Mapping[str, Column]) -> ColumnUse:
    """Fill in what a column's use leaves open: unit, decimal sign, date order, scale.

    Parameters
    ----------
    use : ColumnUse
        From a map or from recognition; what it states is kept.
    columns : mapping of str to Column
        Columns of the file.
    """
    present = [columns[c] for c in use.columns if c in columns]
    if not present:
        return use
    use = replace(use, stated=use.stated or _stated(present), examples=present[0].examples())
    if use.target == "sale_date":
        read = read_dates(list(present[0].cells), use.order)
        return replace(use, order=read.order)
    attribute = BY_NAME.get(use.target)
    number = use.target in ("price", HIGH_BID) or bool(attribute and attribute.kind == "number")
    if not number:
        return use
    cells = [c for column in present for c in column.counts]
    use = replace(use, decimal=use.decimal or settle_decimal(cells))
    if use.target == "mileage":
        return _settle_mileage(use, present)
    if use.target == "engine_size" and not use.unit:
        named = unit_of_name(use.target, use.columns[0])
        return replace(use, unit=named or settle_size_unit(cells))
    if use.target == "power" and not use.unit:
        return replace(use, unit=unit_of_name(use.target, use.columns[0]) or "horsepower")
    return _settle_scale(use, present[0]) if use.target == "condition_grade" else use


def _stated(columns: list[Column]) -> float:
    return min(1.0, sum(c.stated for c in columns))


def _settle_mileage(use: ColumnUse, columns: list[Column]) -> ColumnUse:
    if use.unit:
        return use
    read = [read_mileage(c, use.decimal) for column in columns for c in column.counts]
    cell_units = [r.unit for r in read if r.unit]
    name_unit = next((u for u in (unit_of_name("mileage", c) for c in use.columns) if u), "")
    notes = list(use.notes)
    if cell_units and len(cell_units) >= 0.5 * len(read):
        unit = max(("miles", "km"), key=cell_units.count)
        if name_unit and unit != name_unit:
            notes.append(f'"{use.columns[0]}": its entries say {unit}, so they are read as {unit}.')
    else:
        unit = name_unit or "miles"
        if not name_unit:
            notes.append(f'"{use.columns[0]}" states no unit and is read as miles.')
    values = [r.value for r in read if r.value is not None]
    if len(values) >= 20 and not cell_units and max(values) < 1000 and median(values) < 500:
        unit = f"thousand {unit}"
        notes.append(f'"{use.columns[0]}": all entries are below 1,000; read as {unit}.')
    return replace(use, unit=unit, notes=tuple(notes))


def _settle_scale(use: ColumnUse, column: Column) -> ColumnUse:
    values = np.array(column.numbers())
    if use.worst is not None or not len(values) or values.max() > _SCALE_TOPS[-1]:
        return use
    top = next(t for t in _SCALE_TOPS if values.max() <= t)
    bottom = 1.0 if values.min() >= 1 else 0.0
    return replace(use, worst=bottom, best=top)
