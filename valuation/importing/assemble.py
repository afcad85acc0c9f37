"""The columns of one file to a table of sales: merged, completed from titles, faults noted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.importing.convert import Reading, read_column
from valuation.importing.faults import FaultList
from valuation.importing.names import HIGH_BID, basis_of_name
from valuation.importing.raw import RawTable
from valuation.importing.source_map import LOT_TARGETS, ColumnUse, SourceMap
from valuation.reading.text import compact, most_common
from valuation.records import empty_table
from valuation.schema import BY_NAME
from valuation.schema.sale import BASES

__all__ = ["Assembled", "assemble"]

_LEAST_DATED = 0.2
_TEXTS = ("engine_text", "transmission_text", "colour_text")
_ROW_CODES = frozenset(
    {
        "no price",
        "unreadable price",
        "unreadable year",
        "unreadable date",
        "ambiguous date",
        "no date",
        "unknown currency",
    }
)


@dataclass
class Assembled:
    """One file on its way to a book of sales.

    Parameters
    ----------
    raw : RawTable
        As it came.
    table : pandas.DataFrame, shape (n_rows, n_columns)
        Values of every row, faulty ones included.
    faults : FaultList
        By position in the file.
    notes : list of str
        What was noticed.
    dated : bool
        Whether it holds dates.
    source_map : SourceMap
        How it was read.
    """

    raw: RawTable
    table: pd.DataFrame
    faults: FaultList
    notes: list[str]
    dated: bool
    source_map: SourceMap


def _merge(readings: Sequence[Reading], target: str) -> Reading:
    """Complete a column by the next ones where it is empty or implausible."""
    first = readings[0]
    for other in readings[1:]:
        gap = first.missing() | _implausible(first.data, target)
        if target == "price":
            gap = gap | (np.nan_to_num(first.data) <= 0)
        fill = gap & ~other.missing() & ~_implausible(other.data, target)
        first.data = np.where(fill, other.data, first.data)
        first.problem = np.where(fill, other.problem, first.problem)
        for name, extra in other.extras.items():
            mine = first.extras.get(name, np.full(len(extra), None, dtype=object))
            take = fill | pd.isna(mine)
            first.extras[name] = np.where(take & ~pd.isna(extra), extra, mine)
    return first


def _implausible(values: NDArray[Any], target: str) -> NDArray[np.bool_]:
    attribute = BY_NAME.get(target)
    if not attribute or attribute.kind != "number":
        return np.zeros(len(values), dtype=bool)
    low = 100.0 if target == "mileage" else attribute.low
    return np.asarray((values < low) | (values > attribute.high))


def _read_use(use: ColumnUse, raw: RawTable, source: SourceMap, latest: int) -> Reading:
    words = source.words.get(use.target, {})
    readings = [read_column(use, raw.cells[c], words, latest) for c in use.columns]
    return _merge(readings, use.target)


def _common_spelling(values: NDArray[Any]) -> NDArray[Any]:
    """Let words that differ only in case and punctuation have their most frequent spelling."""
    counts = Counter(v for v in values if v is not None)
    spellings: dict[str, list[str]] = {}
    for word, n in counts.items():
        spellings.setdefault(compact(word) or word, []).extend([word] * min(n, 1000))
    best = {w: most_common(group) for group in spellings.values() for w in set(group)}
    out = np.empty(len(values), dtype=object)
    out[:] = [None if v is None else best[v] for v in values]
    return out


def _drop_out_of_range(
    use: ColumnUse, reading: Reading, raw: RawTable, faults: FaultList, notes: list[str]
) -> None:
    attribute = BY_NAME.get(use.target)
    if not attribute or attribute.kind != "number" or use.target == "year":
        return
    bad = (reading.data < attribute.low) | (reading.data > attribute.high)
    if bad.any():
        notes.append(
            f'"{use.columns[0]}": entries outside {attribute.low:,g} to {attribute.high:,.10g} '
            f"{attribute.unit}, taken as not stated: {int(bad.sum())}."
        )
        reading.data = np.where(bad, np.nan, reading.data)


_SAID = {
    "placeholder": "placeholders, taken as not stated",
    "range": "ranges, read as their middle",
    "at least": "lower bounds, read as the figure they name",
    "unreadable": "unreadable entries, taken as not stated",
    "not an allowed word": "words outside the vocabulary, taken as not stated",
    "not a known kind": "no known kind of gearbox, words kept",
}


def _say_problems(use: ColumnUse, reading: Reading, raw: RawTable, notes: list[str]) -> None:
    present = set(reading.problem.tolist())
    for word, said in _SAID.items():
        if word in present:
            where = np.flatnonzero(reading.problem == word)
            cells = raw.cells[use.columns[0]].iloc[where]
            seen = [c for c, _ in Counter(cells).most_common(4) if c]
            examples = f" (such as {', '.join(seen[:3])})" if seen else ""
            notes.append(f'"{use.columns[0]}": {said}: {len(where)}{examples}.')


def _note_row_faults(use: ColumnUse, reading: Reading, raw: RawTable, faults: FaultList) -> None:
    if use.target not in ("price", "year", "sale_date", "currency"):
        return
    column = use.columns[0]
    for code in _ROW_CODES & set(reading.problem):
        faults.add_where(reading.problem == code, code, column, raw.cells[column].tolist())


def _store(table: pd.DataFrame, name: str, values: NDArray[Any], *, own: bool) -> None:
    """Put values into a column; what only comes along with another column fills gaps."""
    if name not in table.columns:
        table[name] = pd.Series([None] * len(table), dtype=object)
    if own:
        table[name] = pd.Series(values, dtype=table[name].dtype)
        return
    gap = table[name].isna().to_numpy() & ~pd.isna(values)
    if gap.any():
        table[name] = pd.Series(
            np.where(gap, values, table[name].to_numpy()), dtype=table[name].dtype
        )


def _fill_all(table: pd.DataFrame, name: str, value: str) -> None:
    table[name] = table[name].where(table[name].notna(), value)


def _join_high_bids(table: pd.DataFrame, bid: Reading, faults: FaultList) -> None:
    """Take the highest bid where no price stands; such a lot did not sell."""
    price = table["price"].to_numpy()
    take = (np.isnan(price) | (price <= 0)) & (np.nan_to_num(bid.data) > 0)
    table["price"] = np.where(take, bid.data, price)
    table.loc[take, "outcome"] = "not sold"
    faults.withdraw(take, "no price")


def _basis(source: SourceMap) -> str:
    use = source.use("price")
    position = basis_of_name(use.columns[0]) if use else None
    return source.fixed.get("basis", "") or ("" if position is None else BASES[position])


def _settle_outcome(table: pd.DataFrame, source: SourceMap, notes: list[str], name: str) -> None:
    dated = source.use("sale_date") is not None
    basis = _basis(source) or ("unknown" if dated else "asking price")
    _fill_all(table, "basis", basis)
    asking = (table["basis"] == "asking price") & table["outcome"].isna()
    if "outcome" not in source.fixed:
        table.loc[asking, "outcome"] = "offered"
    _fill_all(table, "outcome", source.fixed.get("outcome", "unknown" if dated else "offered"))
    if not dated:
        shown = most_common(table["basis"].tolist())
        notes.append(
            f"{name}: no column of dates; read as a list of offers without dates ({shown})."
        )


def _without_few_dates(raw: RawTable, source: SourceMap) -> tuple[SourceMap, list[str]]:
    """Leave out a column of dates that hardly any row has, unless the map names it."""
    use = source.use("sale_date")
    if use is None or use.how == "map" or use.stated >= _LEAST_DATED:
        return source, []
    note = f'{raw.name}: "{use.columns[0]}" is left out: only {use.stated:.0%} of rows have a date.'
    return replace(source, uses=tuple(u for u in source.uses if u is not use)), [note]


def _without_faulty(raw: RawTable) -> RawTable:
    """Empty the rows that are no sales, so that nothing is said about their cells."""
    if not raw.faults:
        return raw
    cells = raw.cells.copy()
    cells.iloc[list(raw.faults)] = ""
    return replace(raw, cells=cells)


def assemble(
    raw: RawTable, source: SourceMap, latest: int = 2030, *, offers: bool = True
) -> Assembled:
    """Read every recognised column of a file.

    Parameters
    ----------
    raw : RawTable
        The file as it came.
    source : SourceMap
        Complete map of it.
    latest : int
        For years of two digits, the last possible year.
    offers : bool
        Whether each row is a sale or an offer at a price; a lot to come is neither.
    """
    n = len(raw.rows)
    table = empty_table(n)
    source, few_dates = _without_few_dates(raw, source)
    whole, raw = raw, _without_faulty(raw)
    for name in _TEXTS:
        table[name] = pd.Series([None] * n, dtype=object)
    faults, notes = FaultList(), [*raw.notes, *source.notes, *few_dates]
    extras: list[Reading] = []
    for use in source.uses:
        if use.target in LOT_TARGETS:
            continue
        reading = _read_use(use, raw, source, latest)
        _drop_out_of_range(use, reading, raw, faults, notes)
        _say_problems(use, reading, raw, notes)
        _note_row_faults(use, reading, raw, faults)
        if use.target in ("make", "model", "variant", "region", "venue", "channel"):
            reading.data = _common_spelling(reading.data)
        if use.target == HIGH_BID:
            _join_high_bids(table, reading, faults)
        else:
            _store(table, use.target, reading.data, own=True)
            extras.append(reading)
    for reading in extras:
        for name, values in reading.extras.items():
            _store(table, name, values, own=False)
    for name in ("channel", "venue", "region", "reserve", "make", "model"):
        if name in source.fixed:
            _fill_all(table, name, source.fixed[name])
    if offers:
        _settle_outcome(table, source, notes, raw.name)
    for i, (code, got) in raw.faults.items():
        faults.no_sale(i, code, got)
    table["file"] = pd.Series([raw.name] * len(table), dtype=object)
    table["row"] = np.array(raw.rows, dtype="int64")
    own_id = pd.Series([f"{raw.name}, row {r}" for r in raw.rows], dtype=object)
    table["sale_id"] = table["sale_id"].where(table["sale_id"].notna(), own_id)
    dated = source.use("sale_date") is not None
    return Assembled(whole, table, faults, notes, dated, source)
