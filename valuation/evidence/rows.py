"""Sales to rows of the database and back, exactly: what was not stated, and sets of words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import duckdb
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.evidence.sales_tables import SALE_COLUMNS, TEXT_COLUMNS
from valuation.records import empty_table

__all__ = ["BOOK_COLUMNS", "add_sales", "sales_of"]

BOOK_COLUMNS = (*empty_table(0).columns, *TEXT_COLUMNS, "sale_key", "batch")
"""Columns of a table of sales that comes from the evidence."""

_SIGN = "\x1f"
"""Stands between the words of a set on its way in or out; no text of a file holds it."""

_NAMES = ", ".join(f'"{c.name}"' for c in SALE_COLUMNS)


def _coming_in(name: str, kind: str) -> str:
    """Return the expression that makes a column of the database from one of a frame."""
    if kind == "VARCHAR[]":
        return (
            f'CASE WHEN "{name}" IS NULL THEN NULL WHEN "{name}" = \'\' THEN CAST([] AS {kind}) '
            f"ELSE string_split(\"{name}\", '{_SIGN}') END"
        )
    if kind == "DOUBLE":
        return f'CASE WHEN isnan("{name}") THEN NULL ELSE "{name}" END'
    return f'CAST("{name}" AS {kind})'


def _going_out(name: str, kind: str) -> str:
    return f"array_to_string(\"{name}\", '{_SIGN}')" if kind == "VARCHAR[]" else f'"{name}"'


def _texts(values: pd.Series[Any], *, sets: bool) -> Any:
    """Return a column of objects as text, missing where nothing is stated."""
    if not sets:
        return values.astype("str")
    codes, found = pd.factorize(values.to_numpy(), use_na_sentinel=True)
    joined = np.array([*(_SIGN.join(words) for words in found), None], dtype=object)
    return pd.Series(joined[codes], dtype="str")


def add_sales(con: duckdb.DuckDBPyConnection, table: pd.DataFrame) -> None:
    """Add sales to the table ``sales``.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``writing``.
    table : pandas.DataFrame, shape (n_sales, n_columns)
        As in a book of sales, with ``sale_key`` and ``batch``.
    """
    columns: dict[str, Any] = {}
    for c in SALE_COLUMNS:
        values = table[c.name] if c.name in table else pd.Series([None] * len(table), dtype=object)
        held = values.dtype != object
        columns[c.name] = values if held else _texts(values, sets=c.kind == "VARCHAR[]")
    con.register("coming_in", pd.DataFrame(columns))
    chosen = ", ".join(_coming_in(c.name, c.kind) for c in SALE_COLUMNS)
    con.execute(f"INSERT INTO sales ({_NAMES}) SELECT {chosen} FROM coming_in")
    con.unregister("coming_in")


def _objects(found: Any, *, sets: bool) -> NDArray[Any]:
    """Return text that came out as objects: None for not stated, tuples for sets, one copy each."""
    values = np.asarray(np.ma.getdata(found), dtype=object)
    values[np.ma.getmaskarray(found)] = None
    codes, once = pd.factorize(values, use_na_sentinel=True)
    shared = np.empty(len(once) + 1, dtype=object)
    for i, text in enumerate(once):
        shared[i] = text if not sets else tuple(text.split(_SIGN)) if text else ()
    return shared[codes]


def _series(found: Any, kind: str) -> pd.Series[Any]:
    if kind == "DATE":
        days = np.ma.filled(found, np.datetime64("NaT"))
        return pd.Series(days.astype("datetime64[s]"))
    if kind in ("DOUBLE", "BIGINT"):
        return pd.Series(np.ma.filled(found, np.nan) if kind == "DOUBLE" else np.asarray(found))
    return pd.Series(_objects(found, sets=kind == "VARCHAR[]"), dtype=object)


def sales_of(
    con: duckdb.DuckDBPyConnection, where: str = "TRUE", values: Sequence[object] = ()
) -> pd.DataFrame:
    """Read sales in the order of their days and keys.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``reading`` or ``writing``.
    where : str
        Condition on the table ``sales``.
    values : sequence
        What stands for the question marks in it.

    Returns
    -------
    pandas.DataFrame, shape (n_sales, n_columns)
        Columns and types of a book of sales, with ``sale_key`` and ``batch``.
    """
    kinds = {c.name: c.kind for c in SALE_COLUMNS}
    out: dict[str, Any] = {}
    # Few columns at a time: their text is shared before the next comes, which holds memory down.
    names = list(BOOK_COLUMNS)
    for i in range(0, len(names), 6):
        some = names[i : i + 6]
        chosen = ", ".join(f'{_going_out(n, kinds[n])} AS "{n}"' for n in some)
        found = con.execute(
            f"SELECT {chosen} FROM sales WHERE {where} ORDER BY sale_date, sale_key", list(values)
        ).fetchnumpy()
        for n in some:
            out[n] = _series(found[n], kinds[n])
    return pd.DataFrame(out)
