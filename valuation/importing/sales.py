"""Files of sales to one book: read, completed, checked, brought to one currency."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import numpy as np
import pandas as pd

from valuation.errors import MapError, SaleFileError
from valuation.importing.assemble import Assembled, assemble
from valuation.importing.checks import check_rows, check_scale
from valuation.importing.faults import FaultList
from valuation.importing.files import read_raw
from valuation.importing.from_titles import complete_from_titles
from valuation.importing.from_words import complete_from_words
from valuation.importing.rates import RateTable, convert
from valuation.importing.raw import RawTable
from valuation.importing.recognise import recognise
from valuation.importing.repeats import find_duplicates, find_reoffers, row_signature
from valuation.importing.scale import orient_condition
from valuation.importing.source_map import SourceMap
from valuation.premium import applicable, with_premium
from valuation.reading.money import CURRENCIES, find_currency
from valuation.records import SalesBook, SetAside
from valuation.running.collecting import without_collecting
from valuation.schema.sale import BASES

__all__ = ["NO_CURRENCY", "propose_map", "read_sales", "read_sales_and_maps"]

NO_CURRENCY = "XXX"
"""Code of ISO 4217 for "no currency": amounts whose currency nobody stated."""


def propose_map(path: str | Path, source_map: SourceMap | None = None) -> SourceMap:
    """Propose how a file is to be read, by the names and the content of its columns.

    Parameters
    ----------
    path : str or pathlib.Path
        File of sales.
    source_map : SourceMap, optional
        What is known of it already; the rest is recognised.

    Returns
    -------
    SourceMap
        Complete; its notes say what was noticed.

    Raises
    ------
    SaleFileError
        If the file can't be read at all.
    """
    raw = read_raw(path)[0]
    if source_map:
        _check_columns(raw, source_map)
    source = recognise(raw, source_map)
    if source.use("price") is None:
        return source
    part = assemble(raw, source)
    part.table = complete_from_titles(part.table, raw.name, part.notes)
    part.table = complete_from_words(part.table, raw.name, part.notes)
    orient_condition(part)
    return replace(part.source_map, notes=tuple(part.notes))


def _check_columns(raw: RawTable, source: SourceMap) -> None:
    known = set(map(str, raw.cells.columns))
    missing = [c for u in source.uses for c in u.columns if c not in known]
    if missing:
        raise MapError(
            raw.name,
            f"the map names columns that the file does not have: {', '.join(missing)}",
            got=", ".join(sorted(known)),
            remedy="Correct the names in the map",
        )


def _read_table(raw: RawTable, given: SourceMap | None) -> Assembled:
    if given:
        _check_columns(raw, given)
    source = recognise(raw, given)
    if source.use("price") is None:
        raise SaleFileError(
            raw.name,
            "no column holds a price",
            got=", ".join(map(str, raw.cells.columns[:12])),
            remedy="Name the price column in a map, or choose a file with prices",
        )
    part = assemble(raw, source)
    part.table = complete_from_titles(part.table, raw.name, part.notes)
    part.table = complete_from_words(part.table, raw.name, part.notes)
    part.faults.withdraw(part.table["year"].notna().to_numpy(), "unreadable year")
    if source.use("year") is None and part.table["year"].isna().all():
        raise SaleFileError(
            raw.name,
            "no column and no title holds a year",
            got=", ".join(map(str, raw.cells.columns[:12])),
            remedy="Name the year column in a map",
        )
    return part


def _raise_to_premium(part: Assembled) -> None:
    slices = part.source_map.premiums
    if not slices:
        return
    table = part.table
    hammer = (table["basis"] == BASES[0]).to_numpy() & (table["price"] > 0).to_numpy()
    prices, basis = table["price"].tolist(), table["basis"].tolist()
    raised = 0
    for i in np.flatnonzero(hammer):
        when = table["sale_date"].iloc[i]
        day = None if pd.isna(when) else when.date()
        tiers = applicable(slices, table["venue"].iloc[i], day)
        if tiers:
            prices[i] = float(with_premium(Decimal(str(prices[i])), tiers))
            basis[i] = BASES[1]
            raised += 1
    table["price"], table["basis"] = prices, pd.Series(basis, dtype=object)
    part.notes.append(
        f"{part.raw.name}: hammer prices raised by the buyer's premium of the map: {raised}."
    )


def _main_currency(parts: Sequence[Assembled], wanted: str | None) -> str:
    stated: Counter[str] = Counter()
    for part in parts:
        stated.update(c for c in part.table["currency"] if isinstance(c, str))
        if said := _said_currency(part.source_map):
            stated[said] += max(1, int(part.table["currency"].isna().sum()))
    if wanted:
        return wanted.upper()
    return stated.most_common(1)[0][0] if stated else NO_CURRENCY


def _said_currency(source: SourceMap) -> str:
    """Return the currency that the map or the name of the price column tells."""
    use = source.use("price")
    return source.fixed.get("currency", "") or (find_currency(use.columns[0]) if use else "")


def _settle_currency(part: Assembled, main: str, notes: list[str]) -> None:
    """Give every row a currency: its own, that of the map, of the file, or the book's."""
    column = part.table["currency"]
    of_file = Counter(c for c in column if isinstance(c, str)).most_common(1)
    said = _said_currency(part.source_map)
    usual = said or (of_file[0][0] if of_file else main)
    part.table["currency"] = column.where(column.notna(), usual)
    if not of_file and not said:
        if main == NO_CURRENCY:
            notes.append(
                f"{part.raw.name}: no currency is stated; amounts are in an unnamed one "
                f"({NO_CURRENCY}). Give it in the map or when reading."
            )
        else:
            notes.append(f"{part.raw.name}: no currency is stated; taken as {main}.")


def _to_currency(table: pd.DataFrame, faults: FaultList, main: str, rates: RateTable | None) -> int:
    """Bring prices to the main currency; return how many were converted."""
    foreign = np.flatnonzero((table["currency"] != main).to_numpy())
    prices = table["price"].tolist()
    done = 0
    for i in foreign:
        code = str(table["currency"].iloc[i])
        when = table["sale_date"].iloc[i]
        day: date | None = None if pd.isna(when) else when.date()
        rate, fault = (None, "no rate") if rates is None else rates.rate(code, day)
        if rate is None:
            faults.add(int(i), fault, "", code)
        elif prices[i] == prices[i]:
            prices[i] = convert(prices[i], rate)
            done += 1
    table["price"] = prices
    table.loc[table.index[foreign], "currency"] = main
    return done


def _join(parts: Sequence[Assembled]) -> tuple[pd.DataFrame, FaultList]:
    table = pd.concat([p.table for p in parts], ignore_index=True)
    faults, offset = FaultList(), 0
    for part in parts:
        for row, found in part.faults.by_row.items():
            faults.by_row[offset + row] = list(found)
        faults.closed |= {offset + row for row in part.faults.closed}
        offset += len(part.raw.rows)
    return table, faults


def _set_aside(parts: Sequence[Assembled], faults: FaultList) -> tuple[SetAside, ...]:
    out: list[SetAside] = []
    offset = 0
    for part in parts:
        n = len(part.raw.rows)
        out += faults.set_aside(
            part.raw, offset, (i for i in range(n) if offset + i in faults.by_row)
        )
        offset += n
    return tuple(out)


def read_sales(
    paths: str | Path | Sequence[str | Path],
    *,
    source_map: SourceMap | None = None,
    rates: RateTable | None = None,
    currency: str | None = None,
) -> SalesBook:
    """Read files of sales into one book.

    Parameters
    ----------
    paths : path or sequence of paths
        Files of sales.
    source_map : SourceMap, optional
        How they are read; what it leaves open is recognised.
    rates : RateTable, optional
        Currency rates; without it, rows in another currency than the book's are set aside.
    currency : str, optional
        Currency of the book; by default the one most rows are in.

    Returns
    -------
    SalesBook
        Accepted rows in its table and the others set aside, together all data rows of the files.

    Raises
    ------
    SaleFileError
        If a file can't be read at all.
    MapError
        If the map does not fit.
    """
    return read_sales_and_maps(paths, source_map=source_map, rates=rates, currency=currency)[0]


@without_collecting()
def read_sales_and_maps(
    paths: str | Path | Sequence[str | Path],
    *,
    source_map: SourceMap | None = None,
    rates: RateTable | None = None,
    currency: str | None = None,
) -> tuple[SalesBook, tuple[tuple[str, SourceMap], ...]]:
    """Read files of sales into one book, and say how each was read.

    Parameters
    ----------
    paths, source_map, rates, currency
        As for :func:`read_sales`.

    Returns
    -------
    book : SalesBook
        As from :func:`read_sales`.
    maps : tuple of (str, SourceMap)
        For each table of the files, in order: its name as the book has it in the column ``file``,
        and the complete map by which it was read, whose notes say what was noticed.

    Raises
    ------
    SaleFileError
        If a file can't be read at all.
    MapError
        If the map does not fit.
    """
    listed = [paths] if isinstance(paths, str | Path) else list(paths)
    if not listed:
        raise SaleFileError("read_sales", "no file was named", remedy="Name at least one file")
    if currency and currency.upper() not in CURRENCIES:
        raise SaleFileError(
            "read_sales", "no known currency", got=currency, remedy="Use a code of ISO 4217"
        )
    parts = [_read_table(raw, source_map) for path in listed for raw in read_raw(path)]
    for part in parts:
        orient_condition(part)
        _raise_to_premium(part)
    dated = any(p.dated for p in parts)
    main = _main_currency(parts, currency)
    notes = [n for p in parts for n in p.notes]
    for part in parts:
        _settle_currency(part, main, notes)
    table, faults = _join(parts)
    done = _to_currency(table, faults, main, rates)
    if done:
        by = "the rate table" if dated else "the last rates of the table, as there are no dates"
        notes.append(f"Amounts converted to {main} by {by}: {done}.")
    check_rows(table, faults, dated=dated, currency=main)
    where = list(zip(table["file"], table["row"], strict=True))
    signatures = [s for p in parts for s in row_signature(p.raw, p.source_map)]
    find_duplicates(signatures, faults, where)
    check_scale(table, faults)
    find_reoffers(table, faults)
    aside = _set_aside(parts, faults)
    good = table[faults.keep(len(table))].reset_index(drop=True)
    maps = tuple((p.raw.name, replace(p.source_map, notes=tuple(p.notes))) for p in parts)
    return SalesBook(good, main, dated, aside, len(table), tuple(dict.fromkeys(notes))), maps
