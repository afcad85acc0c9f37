"""Cells of one column to values: one function a kind of column."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.importing.content import CONDITION_BANDS, economy_number
from valuation.importing.names import HIGH_BID
from valuation.importing.source_map import ColumnUse
from valuation.reading.dates import read_dates
from valuation.reading.engine import read_engine, read_layout
from valuation.reading.families import read_body, read_colour, read_fuel
from valuation.reading.gearbox import read_gearbox
from valuation.reading.mileage import MILES_PER_KM, read_mileage
from valuation.reading.money import CURRENCIES, find_currency, read_money
from valuation.reading.numbers import read_number
from valuation.reading.text import each_once, fold, is_blank, is_other
from valuation.reading.vocabulary import levels_of, read_level, read_set
from valuation.reading.years import read_years
from valuation.schema import BY_NAME

__all__ = ["Reading", "read_cells", "read_column"]

_HORSEPOWER = {"horsepower": 1.0, "ps": 0.98632, "kw": 1.34102}
_MILES = {
    "miles": 1.0,
    "km": MILES_PER_KM,
    "thousand miles": 1000.0,
    "thousand km": 1000.0 * MILES_PER_KM,
}
_FAMILIES: dict[str, Callable[[str], str | None]] = {
    "colour": read_colour,
    "interior_colour": read_colour,
    "body": read_body,
    "fuel": read_fuel,
    "engine_layout": read_layout,
}


@dataclass
class Reading:
    """What a column holds.

    Parameters
    ----------
    data : ndarray, shape (n_rows,)
        ``float64`` with NaN, ``datetime64[s]`` with NaT, or ``object`` with None.
    problem : ndarray of str, shape (n_rows,)
        Empty, or in a word what is wrong or special about the cell.
    extras : dict of str to ndarray
        Further columns that the same cells tell.
    """

    data: NDArray[Any]
    problem: NDArray[Any]
    extras: dict[str, NDArray[Any]] = field(default_factory=dict)

    def at(self, places: NDArray[np.intp]) -> Reading:
        """Return the reading of rows that hold the cells at some places of this one."""
        extras = {name: values[places] for name, values in self.extras.items()}
        return Reading(self.data[places], self.problem[places], extras)

    def missing(self) -> NDArray[np.bool_]:
        """Return where nothing was read."""
        if self.data.dtype == object:
            return np.array([v is None for v in self.data], dtype=bool)
        return np.asarray(
            np.isnan(self.data) if self.data.dtype.kind == "f" else np.isnat(self.data)
        )


def _objects(values: Sequence[Any]) -> NDArray[Any]:
    out = np.empty(len(values), dtype=object)
    out[:] = values
    return out


def _floats(values: Sequence[float | None]) -> NDArray[Any]:
    return np.array([np.nan if v is None else v for v in values], dtype=float)


def _words_or_none(values: Sequence[str]) -> NDArray[Any]:
    return _objects([v or None for v in values])


def _problems(flags: Sequence[bool], word: str) -> NDArray[Any]:
    return _objects([word if f else "" for f in flags])


def _price(use: ColumnUse, cells: Sequence[str]) -> Reading:
    read = each_once(cells, lambda c: read_money(c, use.decimal))
    return Reading(
        _floats([r.amount for r in read]),
        _objects([r.problem for r in read]),
        {
            "currency": _words_or_none([r.currency for r in read]),
            "outcome": _words_or_none([r.outcome for r in read]),
        },
    )


def _date(use: ColumnUse, cells: Sequence[str]) -> Reading:
    read = read_dates(cells, use.order)
    problem = [
        "ambiguous date" if a else "unreadable date" if u else "" if v else "no date"
        for v, a, u in zip(read.values, read.ambiguous, read.unreadable, strict=True)
    ]
    return Reading(np.array(read.values, dtype="datetime64[s]"), _objects(problem))


def _year(use: ColumnUse, cells: Sequence[str], latest: int) -> Reading:
    read = read_years(cells, latest)
    return Reading(_floats(read.values), _problems(read.unreadable, "unreadable year"))


def _mileage(use: ColumnUse, cells: Sequence[str]) -> Reading:
    thousands = use.unit.startswith("thousand")
    read = each_once(cells, lambda c: read_mileage(c, use.decimal, thousands=thousands))
    factors = [_MILES[r.unit or use.unit or "miles"] for r in read]
    values = [None if r.value is None else r.value * f for r, f in zip(read, factors, strict=True)]
    return Reading(
        _floats(values),
        _objects([r.problem for r in read]),
        {"mileage_status": _words_or_none([r.status for r in read])},
    )


def _engine(use: ColumnUse, cells: Sequence[str]) -> Reading:
    read = each_once(cells, lambda c: read_engine(c, use.unit))
    blank = each_once(cells, is_blank)
    wordy = each_once(cells, lambda c: sum(x.isalpha() for x in c) > 2)
    nothing = [
        not b and r.size is None and not r.layout and not w
        for r, b, w in zip(read, blank, wordy, strict=True)
    ]
    extras = {
        "engine_layout": _words_or_none([r.layout for r in read]),
        "aspiration": _words_or_none([r.aspiration for r in read]),
    }
    if sum(wordy) > 0.1 * len(cells):
        extras["engine_text"] = _objects(
            [None if b else c for c, b in zip(cells, blank, strict=True)]
        )
    return Reading(_floats([r.size for r in read]), _problems(nothing, "unreadable"), extras)


def _transmission(use: ColumnUse, cells: Sequence[str]) -> Reading:
    read = each_once(cells, read_gearbox)
    blank = each_once(cells, lambda c: is_blank(c) or is_other(c))
    unread = [not b and not r.kind and r.gears is None for r, b in zip(read, blank, strict=True)]
    text = [None if b else c for c, b in zip(cells, blank, strict=True)]
    return Reading(
        _words_or_none([r.kind for r in read]),
        _problems(unread, "not a known kind"),
        {"gears": _floats([r.gears for r in read]), "transmission_text": _objects(text)},
    )


def _family(use: ColumnUse, cells: Sequence[str]) -> Reading:
    reader = _FAMILIES[use.target]
    values = each_once(cells, reader)
    extras = {}
    if use.target == "colour":
        raw = [None if v is None else c for v, c in zip(values, cells, strict=True)]
        extras["colour_text"] = _objects(raw)
    return Reading(_objects(values), _objects([""] * len(cells)), extras)


def _condition(use: ColumnUse, cells: Sequence[str], words: Mapping[str, str]) -> Reading:
    worst, best = use.worst, use.best

    def grade(cell: str) -> float | None:
        plain = fold(cell)
        band = float(words[plain]) if plain in words else CONDITION_BANDS.get(plain)
        value = read_number(cell, use.decimal or ".") if band is None else None
        if value is None or worst is None or best is None:
            return band if value is None else value
        return round(100 * (value - worst) / (best - worst), 4)

    values = each_once(cells, grade)
    unread = [v is None and not is_blank(c) for v, c in zip(values, cells, strict=True)]
    return Reading(_floats(values), _problems(unread, "unreadable"))


def _number(use: ColumnUse, cells: Sequence[str]) -> Reading:
    factor = _HORSEPOWER[use.unit] if use.target == "power" and use.unit else 1.0

    def number(cell: str) -> float | None:
        if use.target == "fuel_economy":
            return economy_number(cell)
        if use.target == "annual_tax":
            return read_money(cell, use.decimal).amount
        value = read_number(cell, use.decimal)
        if use.target == "power" and value is not None and "kw" in fold(cell):
            return value * _HORSEPOWER["kw"]
        return None if value is None else value * factor

    values = each_once(cells, number)
    blank = each_once(cells, is_blank)
    unread = [v is None and not b for v, b in zip(values, blank, strict=True)]
    return Reading(_floats(values), _problems(unread, "unreadable"))


def _level(use: ColumnUse, cells: Sequence[str]) -> Reading:
    values = each_once(cells, lambda c: read_level(use.target, c))
    blank = each_once(cells, is_blank)
    unread = [v is None and not b for v, b in zip(values, blank, strict=True)]
    return Reading(_objects(values), _problems(unread, "not an allowed word"))


def _set(use: ColumnUse, cells: Sequence[str]) -> Reading:
    read = each_once(cells, lambda c: read_set(use.target, c))
    return Reading(
        _objects([r[0] for r in read]), _problems([bool(r[1]) for r in read], "not an allowed word")
    )


def _currency(use: ColumnUse, cells: Sequence[str]) -> Reading:
    def code(cell: str) -> str | None:
        plain = cell.strip().upper()
        return plain if plain in CURRENCIES else find_currency(cell) or None

    values = each_once(cells, code)
    unread = [v is None and not is_blank(c) for v, c in zip(values, cells, strict=True)]
    return Reading(_objects(values), _problems(unread, "unknown currency"))


def _text(use: ColumnUse, cells: Sequence[str]) -> Reading:
    plain = use.target in ("make", "model")

    def word(cell: str) -> str | None:
        if is_blank(cell) or (plain and is_other(cell)):
            return None
        return " ".join(cell.split()) if use.target != "description" else cell.strip()

    return Reading(_objects(each_once(cells, word)), _objects([""] * len(cells)))


_READERS: dict[str, Callable[[ColumnUse, Sequence[str]], Reading]] = {
    "price": _price,
    HIGH_BID: _price,
    "sale_date": _date,
    "mileage": _mileage,
    "engine_size": _engine,
    "transmission": _transmission,
    "currency": _currency,
    **dict.fromkeys(_FAMILIES, _family),
}
_BY_FREQUENCY = frozenset({"sale_date", "year", "engine_size"})
"""What a cell means here can hang on how many others are written in another way."""


def read_column(
    use: ColumnUse, cells: pd.Series[str], words: Mapping[str, str], latest: int
) -> Reading:
    """Read the cells of one column, each different one once.

    Parameters
    ----------
    use : ColumnUse
        What it is read as.
    cells : pandas.Series of str, length n_rows
        Cells as they came.
    words, latest
        As of :func:`read_cells`, which gives the same.
    """
    if use.target in _BY_FREQUENCY:
        return read_cells(use, cells.tolist(), words, latest)
    places, different = pd.factorize(cells.to_numpy(dtype=object))
    return read_cells(use, different.tolist(), words, latest).at(places)


def read_cells(
    use: ColumnUse, cells: Sequence[str], words: Mapping[str, str], latest: int
) -> Reading:
    """Read the cells of one column.

    Parameters
    ----------
    use : ColumnUse
        What it is read as.
    cells : sequence of str, length n_rows
        Cells as they came.
    words : mapping of str to str
        What a cell (folded) stands for, from the map.
    latest : int
        For years of two digits, the last possible year.
    """
    if use.target == "condition_grade":
        return _condition(use, cells, words)
    if words:
        cells = each_once(cells, lambda c: words.get(fold(c), c))
    if use.target == "year":
        return _year(use, cells, latest)
    if use.target in _READERS:
        return _READERS[use.target](use, cells)
    attribute = BY_NAME.get(use.target)
    if attribute and attribute.kind == "number":
        return _number(use, cells)
    if attribute and attribute.kind == "set":
        return _set(use, cells)
    return _level(use, cells) if levels_of(use.target) else _text(use, cells)
