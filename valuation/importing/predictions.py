"""A table of estimates and prices from anywhere, for a ratio study."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.errors import SaleFileError
from valuation.importing.files import read_raw
from valuation.importing.names import match_name
from valuation.reading.dates import read_dates
from valuation.reading.money import find_currency, read_money
from valuation.reading.numbers import read_number, settle_decimal
from valuation.reading.text import each_once, fold, is_blank
from valuation.reading.vocabulary import read_level
from valuation.reading.years import read_years
from valuation.spreadsheets import unguarded

__all__ = ["Predictions", "read_predictions"]

Floats = NDArray[np.float64]

_ESTIMATES = (
    "estimate",
    "central",
    "central estimate",
    "estimated price",
    "valuation",
    "predicted",
)

_PLAIN = {"central": "estimate"}
"""Second name of a column that wins over others of its kind."""

_BOUNDS = (("lower", "upper"), ("lower_50", "upper_50"), ("lower_95", "upper_95"))

_OWN = {
    **dict.fromkeys(_ESTIMATES, "central"),
    **{name.replace("_", " "): name for pair in _BOUNDS for name in pair},
    "lower 80": "lower",
    "upper 80": "upper",
    "outside": "outside",
    "months ahead": "months_ahead",
    "month": "month",
    "era": "era",
}
"""Names of columns that only a table of estimates has."""

_TOLD = (
    "price", "sale_id", "sale_date", "currency", "basis", "outcome", "channel", "venue", "region",
    "make", "model", "year", "body",
)  # fmt: skip
"""Columns that are named as in a sale file."""

_NAMED_ROWS = 5
"""Most rows that are named for one reason."""


@dataclass(frozen=True)
class Predictions:
    """Estimates and prices as they were read.

    Parameters
    ----------
    frame : pandas.DataFrame
        One row a sale: ``price``, ``central`` (NaN where there is no estimate), what else was
        recognised under its own name, and every other column as text under the name it has.
    currency : str
        ISO 4217 code of the amounts; empty if the table names none.
    rows : int
        Rows of the table.
    notes : tuple of str
        How many rows were set aside and why, and what was taken for what, in sentences.
    """

    frame: pd.DataFrame
    currency: str
    rows: int
    notes: tuple[str, ...]


def read_predictions(path: str | Path) -> Predictions:
    """Read a table of estimates and prices.

    Parameters
    ----------
    path : str or pathlib.Path
        CSV, TSV or workbook.  A column ``price`` and a column ``estimate`` (or ``central``) are
        needed.  ``sale_id``, ``sale_date`` or ``month``, ``outcome``, ``basis``, ``channel``,
        ``make``, ``year`` or ``era``, ``outside``, ``months_ahead`` and the bounds of ranges
        (``lower, upper`` of 80 %, ``lower_50, upper_50``, ``lower_95, upper_95``) are used if they
        are there.

    Returns
    -------
    Predictions
        Every row with a price; the others are counted with their reason.

    Raises
    ------
    SaleFileError
        If the file can't be read, a needed column is missing, two columns mean the same, amounts
        stand in several currencies, or no row can be used.
    """
    raw = read_raw(path)[0]
    cells = raw.cells.map(unguarded)
    named = _named(raw.name, [str(c) for c in cells.columns])
    currency = _currency(raw.name, cells, named)
    reasons = {i: f"{code}" for i, (code, _) in raw.faults.items()}
    frame = _frame(cells, named)
    for i, reason in _faults(cells, named, frame):
        reasons.setdefault(i, reason)
    kept = [i for i in range(len(frame)) if i not in reasons]
    if not kept:
        raise SaleFileError(
            raw.name,
            "no row has both a price and an estimate that can be read",
            got=f"rows: {len(frame)}",
            remedy="Fill the columns price and estimate with amounts above 0",
        )
    rows = [raw.rows[i] for i in reasons]
    notes = tuple(_notes(raw.name, dict(zip(rows, reasons.values(), strict=True))))
    return Predictions(
        frame.iloc[kept].reset_index(drop=True), currency, len(frame), (*raw.notes, *notes)
    )


def _named(file: str, columns: Sequence[str]) -> dict[str, str]:
    """Return which column holds what; every fault of the header is told at once."""
    found: dict[str, list[str]] = {}
    for column in columns:
        plain = " ".join(fold(column).replace("_", " ").split())
        target = _OWN.get(plain) or _told(column)
        if target:
            found.setdefault(target, []).append(column)
    exact = {
        t: [c for c in names if c in (t, _PLAIN.get(t))] or names for t, names in found.items()
    }
    faults = [f"two columns for {t}: {', '.join(n)}" for t, n in exact.items() if len(n) > 1]
    faults += [
        f"no column {word}"
        for word, t in (("price", "price"), ("estimate", "central"))
        if t not in exact
    ]
    faults += [
        f"no column {other} beside {one}"
        for pair in _BOUNDS
        for one, other in (pair, pair[::-1])
        if one in exact and other not in exact
    ]
    if faults:
        raise SaleFileError(
            file,
            "; ".join(faults),
            got=f"columns {', '.join(columns)}",
            remedy="Name one column price and one estimate, and both bounds of a range",
        )
    return {target: names[0] for target, names in exact.items()}


def _told(column: str) -> str:
    """Return what a column of a sale file holds; only whole names count."""
    best = next(iter(match_name(column)), None)
    return best.target if best and best.score >= 3.0 and best.target in _TOLD else ""


def _currency(file: str, cells: pd.DataFrame, named: Mapping[str, str]) -> str:
    """Return the one currency of all amounts, nothing if none is named."""
    found: set[str] = set()
    for name in ("currency", "price", "central"):
        if name in named:
            read = each_once(cells[named[name]].tolist(), find_currency)
            found |= {c for c in read if c}
    if len(found) > 1:
        raise SaleFileError(
            file,
            "amounts stand in several currencies",
            got=", ".join(sorted(found)),
            remedy="Bring them to one, or study one currency at a time",
        )
    return next(iter(found), "")


def _frame(cells: pd.DataFrame, named: Mapping[str, str]) -> pd.DataFrame:
    """Return the recognised columns as values, and all others as text."""
    used = set(named.values())
    out: dict[str, object] = {}
    for target, column in named.items():
        out[target] = _values(target, cells[column].tolist())
    if "outcome" not in named:
        out["outcome"] = _outcomes(cells[named["price"]].tolist())
    rest = {c: _texts(cells[c].tolist()) for c in cells.columns if c not in used and c not in out}
    return pd.DataFrame({**out, **rest})


def _values(target: str, cells: list[str]) -> object:
    if target in ("price", "central") or any(target in pair for pair in _BOUNDS):
        return _amounts(cells)
    if target == "sale_date":
        return np.array(read_dates(cells).values, dtype="datetime64[s]")
    if target == "year":
        return _floats(read_years(cells).values)
    if target == "months_ahead":
        decimal = settle_decimal(cells)
        return _floats(each_once(cells, lambda c: read_number(c, decimal)))
    if target == "outside":
        return np.array([fold(c) in _YES for c in cells], dtype=bool)
    if target in ("outcome", "basis"):
        return each_once(cells, lambda c: read_level(target, c) or "unknown")
    return _texts(cells)


_YES = frozenset(("true", "yes", "1", "1.0", "outside", "outside the evidence"))


def _amounts(cells: list[str]) -> Floats:
    decimal = settle_decimal(cells)
    return _floats(each_once(cells, lambda c: read_money(c, decimal).amount))


def _outcomes(cells: list[str]) -> list[str]:
    """Return what the words of a price cell tell, such as ``bid to 38k``."""
    return each_once(cells, lambda c: read_money(c).outcome or "unknown")


def _floats(values: Sequence[float | None]) -> Floats:
    return np.array([np.nan if v is None else v for v in values], dtype=np.float64)


def _texts(cells: list[str]) -> NDArray[np.object_]:
    out = np.empty(len(cells), dtype=object)
    out[:] = [None if is_blank(c) else c for c in cells]
    return out


def _faults(
    cells: pd.DataFrame, named: Mapping[str, str], frame: pd.DataFrame
) -> Iterator[tuple[int, str]]:
    """Yield each row that can't be used, with the reason."""
    for target, word in (("price", "price"), ("central", "estimate")):
        values = frame[target].to_numpy(dtype=np.float64)
        blank = np.array([is_blank(c) for c in cells[named[target]]], dtype=bool)
        # A sale without an estimate counts among those that were not priced.
        wrong = ~(values > 0) & ~(blank if target == "central" else False)
        for i in np.flatnonzero(wrong):
            yield int(i), f"no {word}" if blank[i] else f"{word} that is no amount above 0"
    for low, high in _BOUNDS:
        if low in frame:
            lower, upper = (frame[c].to_numpy(dtype=np.float64) for c in (low, high))
            none = np.isnan(lower) & np.isnan(upper)
            for i in np.flatnonzero(~none & ~((lower > 0) & (lower <= upper))):
                yield int(i), f"{low} and {high} that are no range"


def _notes(file: str, reasons: Mapping[int, str]) -> Iterator[str]:
    by_reason: dict[str, list[int]] = {}
    for row, reason in sorted(reasons.items()):
        by_reason.setdefault(reason, []).append(row)
    for reason, rows in by_reason.items():
        named = ", ".join(str(row) for row in rows[:_NAMED_ROWS])
        more = f" and {len(rows) - _NAMED_ROWS:,} more" if len(rows) > _NAMED_ROWS else ""
        word = "row" if len(rows) == 1 else "rows"
        yield f"{file}: {len(rows):,} {word} set aside, {reason}: {word} {named}{more}."
