"""What titles tell and columns do not: year, make, model, body, engine, gearbox, mileage."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from valuation.reading.counters import strip_counters
from valuation.reading.engine import find_engine
from valuation.reading.mileage import MILES_PER_KM, find_mileage
from valuation.reading.text import each_once, fold
from valuation.reading.title import find_body, find_gearbox, find_name, find_year
from valuation.reading.titles import (
    Makes,
    learn_from_columns,
    learn_from_titles,
    name_start,
    title_tokens,
)

__all__ = [
    "UNNAMED_MAKE",
    "complete_from_titles",
    "first_word",
    "learn_makes",
    "with_unnamed_make",
]

UNNAMED_MAKE = "unnamed make"
"""Stands for the make in a list of models that names none."""


def learn_makes(table: pd.DataFrame, titles: Sequence[str]) -> Makes:
    """Learn makes and models from the columns of a list, or from its titles where these are few.

    Parameters
    ----------
    table : pandas.DataFrame
        Columns ``make`` and ``model``, None where nothing is stated.
    titles : sequence of str
        Titles of the same rows, empty where there is none.
    """
    makes = [m if isinstance(m, str) else None for m in table["make"]]
    if sum(m is not None for m in makes) >= 0.5 * max(1, len(makes)):
        models = [m if isinstance(m, str) else None for m in table["model"]]
        return learn_from_columns(makes, models)
    return learn_from_titles([t for t in titles if t])


def first_word(title: str) -> str | None:
    """Return the first word behind the year, which stands for the make where nothing else does.

    Examples
    --------
    >>> first_word("1967 Torvane GT")
    'Torvane'
    """
    tokens = title_tokens(title)
    rest = [t for t in tokens[name_start(title, tokens) :] if t[0].isalpha()]
    return rest[0].title() if rest else None


def _engine(title: str) -> tuple[Any, ...]:
    engine = find_engine(title)
    return engine.size, engine.layout or None, engine.aspiration or None


def _gearbox(title: str) -> tuple[Any, ...]:
    gearbox = find_gearbox(title)
    return gearbox.kind or None, gearbox.gears


def _mileage(title: str) -> tuple[Any, ...]:
    found = find_mileage(title)
    if found.value is None or found.unit != "km":
        return (found.value,)
    return (found.value * MILES_PER_KM,)


_TOLD: tuple[tuple[tuple[str, ...], Callable[[str], tuple[Any, ...]]], ...] = (
    (("body",), lambda title: (find_body(title) or None,)),
    (("engine_size", "engine_layout", "aspiration"), _engine),
    (("transmission", "gears"), _gearbox),
    (("mileage",), _mileage),
)
"""Columns that a title can fill, and what reads them from it."""


def complete_from_titles(
    table: pd.DataFrame, name: str, notes: list[str], latest: int = 2030
) -> pd.DataFrame:
    """Fill what is not stated from the titles of the same rows.

    Parameters
    ----------
    table : pandas.DataFrame
        Sales of one file.
    name : str
        Name of the file, for notes.
    notes : list of str
        What was filled is appended.
    latest : int
        For years of two digits, the last possible year.

    Returns
    -------
    pandas.DataFrame
        The same rows; running numbers at the end of titles are taken off.
    """
    stated = table["title"].notna().to_numpy()
    if not stated.any():
        return with_unnamed_make(table, name, notes)
    table = table.copy()
    titles = [t if isinstance(t, str) else "" for t in table["title"]]
    own_makes = [m if isinstance(m, str) else None for m in table["make"]]
    titles, removed = strip_counters(titles, own_makes)
    if removed:
        notes.append(f"{name}: running numbers taken off the ends of titles: {removed}.")
    table["title"] = pd.Series([t or None for t in titles], dtype=object)
    makes = learn_makes(table, titles)
    years = pd.Series(each_once(titles, lambda t: find_year(fold(t), latest)), dtype="float64")
    _say_other_years(table, years, name, notes)
    told = {"year": years, **_names(table, titles, own_makes, makes)}
    for columns, reader in _TOLD:
        told |= _read_gaps(table, columns, titles, reader)
    _fill(table, told, name, notes)
    _fill_first_words(table, titles, name, notes)
    return table


def _read_gaps(
    table: pd.DataFrame,
    columns: Sequence[str],
    cells: Sequence[Any],
    reader: Callable[[Any], tuple[Any, ...]],
) -> dict[str, pd.Series[Any]]:
    """Read columns where one of them is not stated: of a cell that means the same, once."""
    open_rows = table[list(columns)].isna().any(axis=1).to_numpy()
    read: dict[Any, tuple[Any, ...]] = {}
    nothing = (None,) * len(columns)
    rows = []
    for cell, is_open in zip(cells, open_rows.tolist(), strict=True):
        if is_open and cell not in read:
            read[cell] = reader(cell)
        rows.append(read[cell] if is_open else nothing)
    return {
        name: pd.Series(values, dtype=table[name].dtype)
        for name, values in zip(columns, zip(*rows, strict=True), strict=True)
    }


def _names(
    table: pd.DataFrame, titles: Sequence[str], own_makes: Sequence[str | None], makes: Makes
) -> dict[str, pd.Series[Any]]:
    def read(cell: tuple[str, str]) -> tuple[Any, ...]:
        make, model = find_name(cell[0], makes, make=cell[1])
        return make or None, model or None

    cells = [(title, make or "") for title, make in zip(titles, own_makes, strict=True)]
    return _read_gaps(table, ("make", "model"), cells, read)


def _say_other_years(
    table: pd.DataFrame, told: pd.Series[float], name: str, notes: list[str]
) -> None:
    other = int((told.notna() & table["year"].notna() & (told != table["year"])).sum())
    if other:
        notes.append(
            f"{name}: titles that name another year than the column, which counts: {other}."
        )


def _fill(
    table: pd.DataFrame, told: Mapping[str, pd.Series[Any]], name: str, notes: list[str]
) -> None:
    filled = []
    for column, values in told.items():
        gap = table[column].isna() & values.notna()
        if column == "mileage":
            # An odometer said to be unknown or exempt is not completed from a heading.
            gap &= table["mileage_status"].isna()
        if gap.any():
            table[column] = table[column].where(~gap, values)
            filled.append(f"{column.replace('_', ' ')} of {int(gap.sum())}")
    if filled:
        notes.append(f"{name}: filled from titles: {', '.join(filled)}.")


def _fill_first_words(table: pd.DataFrame, titles: list[str], name: str, notes: list[str]) -> None:
    gap = np.flatnonzero(table["make"].isna().to_numpy())
    words = [first_word(titles[i]) for i in gap]
    good = [(int(i), w) for i, w in zip(gap, words, strict=True) if w]
    if good:
        table.loc[[i for i, _ in good], "make"] = [w for _, w in good]
        notes.append(
            f"{name}: rows without a known make, for which the first word of the title stands: "
            f"{len(good)}."
        )


def with_unnamed_make(table: pd.DataFrame, name: str, notes: list[str]) -> pd.DataFrame:
    """Let :data:`UNNAMED_MAKE` stand for the make in a list of models that never names one.

    Parameters
    ----------
    table : pandas.DataFrame
        Rows of one file that has no titles.
    name : str
        Name of the file, for notes.
    notes : list of str
        What was done is appended.
    """
    if table["make"].isna().all() and table["model"].notna().any():
        table = table.copy()
        table["make"] = table["make"].where(table["model"].isna(), UNNAMED_MAKE)
        notes.append(
            f'{name}: no column names the make; "{UNNAMED_MAKE}" stands for it. '
            "Give it in the map under [for_all_rows]."
        )
    return table
