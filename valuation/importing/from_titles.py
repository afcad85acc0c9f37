"""What titles tell and columns do not: year, make, model, body, engine, gearbox, mileage."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from valuation.reading.counters import strip_counters
from valuation.reading.mileage import MILES_PER_KM
from valuation.reading.title import TitleFacts, read_title
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


def _columns_of(facts: TitleFacts) -> dict[str, Any]:
    miles = facts.mileage
    if miles is not None and facts.mileage_unit == "km":
        miles *= MILES_PER_KM
    return {
        "year": facts.year,
        "make": facts.make or None,
        "model": facts.model or None,
        "body": facts.body or None,
        "engine_size": facts.engine.size,
        "engine_layout": facts.engine.layout or None,
        "aspiration": facts.engine.aspiration or None,
        "transmission": facts.gearbox.kind or None,
        "gears": facts.gearbox.gears,
        "mileage": miles,
    }


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
    cache: dict[tuple[str, str], dict[str, Any]] = {}
    found = []
    for title, make in zip(titles, own_makes, strict=True):
        key = (title, make or "")
        if key not in cache:
            facts = read_title(title, makes, make=make or "", latest=latest)
            cache[key] = _columns_of(facts)
        found.append(cache[key])
    _say_other_years(table, found, name, notes)
    _fill(table, found, name, notes)
    _fill_first_words(table, titles, name, notes)
    return table


def _say_other_years(
    table: pd.DataFrame, found: list[dict[str, Any]], name: str, notes: list[str]
) -> None:
    told = pd.Series([f["year"] for f in found], dtype="float64")
    other = int((told.notna() & table["year"].notna() & (told != table["year"])).sum())
    if other:
        notes.append(
            f"{name}: titles that name another year than the column, which counts: {other}."
        )


def _fill(table: pd.DataFrame, found: list[dict[str, Any]], name: str, notes: list[str]) -> None:
    filled = []
    for column in found[0]:
        values = pd.Series([f[column] for f in found], dtype=table[column].dtype)
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
