"""The evidence as one book of sales: batches in use, corrected, each market event once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import duckdb
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.evidence.batches import batches
from valuation.evidence.corrections import Correction, InForce, in_force
from valuation.evidence.fixes import FixedValue
from valuation.evidence.links import RE_OFFER, join_offers
from valuation.evidence.rows import sales_of
from valuation.importing.repeats import REOFFER_DAYS
from valuation.importing.sales import NO_CURRENCY
from valuation.records import Fault, SalesBook, SetAside

__all__ = ["BY_PEOPLE", "NO_DATE", "evidence_book"]

BY_PEOPLE = "set aside by hand"
"""Code of a sale that a person set aside."""

NO_DATE = "no date"
"""Code of a sale without a day where others have one."""

_TOLD = ("sale_key", "sale_id", "sale_date", "price", "make", "model", "year", "venue", "chassis")
"""What a row that was taken out shows of itself."""


@dataclass
class _Taken:
    """Rows that are taken out, by position, each with its reason."""

    rows: list[int]
    faults: list[Fault]

    def add(self, rows: Iterable[int], faults: Iterable[Fault]) -> None:
        self.rows += [int(r) for r in rows]
        self.faults += list(faults)

    def keep(self, n: int) -> NDArray[np.bool_]:
        keep = np.ones(n, dtype=bool)
        keep[self.rows] = False
        return keep


def evidence_book(con: duckdb.DuckDBPyConnection, *, as_of: date | None = None) -> SalesBook:
    """Return the sales of the batches in use as one book.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``reading`` or ``writing``.
    as_of : datetime.date, optional
        Last day of a sale that counts; later ones are as if they were not known.

    Returns
    -------
    SalesBook
        Its table has the columns of the contract, ``sale_key`` (batch and row) and ``batch``, in
        the order of day and key, so that it does not matter in which order files were read in.
        Its ``set_aside`` holds what people, lacking dates and joining took out, each row with what
        stands in the evidence for it.  Rows that were set aside when their file was read are not
        among them; :func:`valuation.evidence.read_file.rows_set_aside` returns those.
    """
    used = [b for b in batches(con, kind="sales") if b.status == "in use"]
    table = sales_of(con, "list_contains(?, batch)", [[b.batch for b in used]])
    named = {b.currency for b in used} - {NO_CURRENCY}
    currency = min(named) if named else NO_CURRENCY
    table["currency"] = pd.Series([currency] * len(table), dtype=object)
    decided = in_force(con)
    table, fixed = _with_fixes(table, decided)
    if as_of is not None:
        day = np.datetime64(as_of, "s")
        table = table[~(table["sale_date"] > day)].reset_index(drop=True)
    taken = _Taken([], [])
    _take_by_people(table, decided, taken)
    dated = bool(table["sale_date"].notna().any())
    _take_undated(table, taken, dated=dated)
    joined = _take_joined(table, taken)
    aside = _set_aside(table, taken)
    kept = table[taken.keep(len(table))].reset_index(drop=True)
    unnamed = sorted(b.batch for b in used if b.currency == NO_CURRENCY and named)
    notes = _notes(taken, joined, fixed, currency, unnamed)
    return SalesBook(kept, currency, dated, aside, len(table), notes)


def _with_fixes(table: pd.DataFrame, decided: InForce) -> tuple[pd.DataFrame, int]:
    """Put corrected values in; return how many sales have any."""
    if not decided.fixes:
        return table, 0
    keys = table["sale_key"]
    where = {k: i for i, k in enumerate(keys) if k in decided.fixes}
    by_field: dict[str, dict[int, FixedValue]] = {}
    for key, position in where.items():
        for name, fix in decided.fixes[key].items():
            by_field.setdefault(name, {})[position] = fix.value
    for name, values in by_field.items():
        table[name] = _replaced(table[name], values)
    if "sale_date" in by_field:
        order = np.lexsort((table["sale_key"].to_numpy(dtype=str), table["sale_date"].to_numpy()))
        table = table.iloc[order].reset_index(drop=True)
    return table, len(where)


def _replaced(column: pd.Series[Any], values: dict[int, FixedValue]) -> pd.Series[Any]:
    cells = column.to_numpy(copy=True)
    for position, value in values.items():
        if column.dtype == object:
            cells[position] = value
        elif isinstance(value, date):
            cells[position] = np.datetime64(value, "s")
        else:
            cells[position] = np.nan if value is None else value
    return pd.Series(cells, dtype=column.dtype)


def _take_by_people(table: pd.DataFrame, decided: InForce, taken: _Taken) -> None:
    if not decided.set_aside:
        return
    keys = table["sale_key"].tolist()
    rows = [i for i, k in enumerate(keys) if k in decided.set_aside]
    taken.add(rows, (_by_hand(decided.set_aside[keys[i]]) for i in rows))


def _by_hand(c: Correction) -> Fault:
    said = f"{c.reason} ({c.who}, {c.moment:%d %B %Y})"
    return Fault(BY_PEOPLE, "", said, "Restore the sale if it should count after all")


def _take_undated(table: pd.DataFrame, taken: _Taken, *, dated: bool) -> None:
    """Take out offers without a day where others have one, as one reading of all files would."""
    if dated:
        missing = table["sale_date"].isna().to_numpy() & taken.keep(len(table))
        rows = np.flatnonzero(missing)
        remedy = "Keep lists without dates in a workspace of their own"
        taken.add(rows, [Fault(NO_DATE, "", "", remedy)] * len(rows))


def _take_joined(table: pd.DataFrame, taken: _Taken) -> dict[str, int]:
    """Take out records of events that others stand for; return how many, by code."""
    left = np.flatnonzero(taken.keep(len(table)))
    found = join_offers(table.iloc[left])
    files, rows, keys = (table[n].to_numpy() for n in ("file", "row", "sale_key"))
    faults = []
    for by, code in zip(left[found.by], found.code, strict=True):
        place = f"row {rows[by]} of {files[by]} ({keys[by]})"
        again = code == RE_OFFER
        told = f"offered again within {REOFFER_DAYS} days, " if again else "the same as "
        remedy = "the later event counts" if again else "the same sale counts once"
        faults.append(Fault(str(code), "", told + place, f"Nothing to do: {remedy}"))
    taken.add(left[found.row], faults)
    codes, counts = np.unique(found.code.astype(str), return_counts=True)
    return dict(zip(codes.tolist(), counts.tolist(), strict=True))


def _set_aside(table: pd.DataFrame, taken: _Taken) -> tuple[SetAside, ...]:
    rows = np.array(taken.rows, dtype=np.int64)
    order = np.argsort(rows, kind="stable")
    rows = rows[order]
    shown = [_shown(table[n].iloc[rows]) for n in _TOLD]
    files, numbers = table["file"].iloc[rows].tolist(), table["row"].iloc[rows].tolist()
    faults = [taken.faults[i] for i in order.tolist()]
    cells = [dict(zip(_TOLD, row, strict=True)) for row in zip(*shown, strict=True)]
    return tuple(
        SetAside(file, number, (fault,), told)
        for file, number, fault, told in zip(files, numbers, faults, cells, strict=True)
    )


def _shown(values: pd.Series[Any]) -> list[str]:
    if values.dtype == object:
        return ["" if v is None else v for v in values.tolist()]
    if values.dtype == float:
        return ["" if v != v else f"{v:.10g}" for v in values.tolist()]
    return ["" if day == "NaT" else day for day in np.datetime_as_string(values.to_numpy(), "D")]


def _notes(
    taken: _Taken, joined: dict[str, int], fixed: int, currency: str, unnamed: Sequence[str]
) -> tuple[str, ...]:
    by_hand = sum(f.code == BY_PEOPLE for f in taken.faults)
    undated = sum(f.code == NO_DATE for f in taken.faults)
    said = (
        (joined.get("same sale", 0), "Records of a sale that another record tells of"),
        (
            joined.get(RE_OFFER, 0),
            f"Offers of a chassis that came back in {REOFFER_DAYS} days",
        ),
        (undated, "Offers without a day, left out as others have one"),
        (by_hand, "Sales set aside by hand"),
        (fixed, "Sales with values put right by hand"),
    )
    notes = [f"{what}: {n:,}." for n, what in said if n]
    if unnamed:
        notes.append(f"Batches that name no currency, taken as {currency}: {', '.join(unnamed)}.")
    return tuple(notes)
