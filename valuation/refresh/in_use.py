"""What the models in use said at the time: the record that a candidate is held against."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import pandas as pd

from valuation.records import SalesBook
from valuation.store.modelfile import load_model
from valuation.store.published import Published, current_version, published_versions
from valuation.study.forecasts import COLUMNS, forecasts_of_model

__all__ = ["as_of_version", "forecasts_in_use", "in_force"]


def as_of_version(version: Published) -> date | None:
    """Return the day up to which the evidence of a version reaches, None if undated."""
    try:
        return date.fromisoformat(version.version[:10])
    except ValueError:
        return None


def in_force(folder: Path, months: Sequence[pd.Period]) -> dict[pd.Period, Published]:
    """Say which version was the newest one at the start of each month.

    Versions newer than the one in use count for nothing: somebody put the old one back.

    Parameters
    ----------
    folder : pathlib.Path
        The published folder.
    months : sequence of pandas.Period
        Months.

    Returns
    -------
    dict of pandas.Period to Published
        Without the months before the first version.
    """
    current = current_version(folder)
    until = as_of_version(current) if current else None
    if current is None or until is None:
        return {}
    known = [
        (day, v == current, v) for v in published_versions(folder) if (day := as_of_version(v))
    ]
    # Of two versions of one day the one in use counts, else the last by name.
    known = sorted((k for k in known if k[0] <= until), key=lambda k: k[:2])
    found = {}
    for month in months:
        start = month.start_time.date()
        before = [v for day, _, v in known if day < start]
        if before:
            found[month] = before[-1]
    return found


def forecasts_in_use(
    folder: Path, book: SalesBook, months: Sequence[pd.Period], *, as_of: date | None
) -> pd.DataFrame:
    """Return what the versions in use at the time say of the sales of some months.

    Parameters
    ----------
    folder : pathlib.Path
        The published folder.
    book : SalesBook
        Evidence.
    months : sequence of pandas.Period
        Months, in order.
    as_of : datetime.date or None
        Day up to which sales count.

    Returns
    -------
    pandas.DataFrame
        Columns of the forward forecasts; no rows where there was no model yet.
    """
    forces = in_force(folder, months)
    parts = []
    for version in dict.fromkeys(forces.values()):
        market = load_model(version.model)
        mine = [m for m, v in forces.items() if v == version]
        for month in mine:
            end = month.end_time.date()
            end = end if as_of is None else min(end, as_of)
            start = month.start_time.date()
            parts.append(forecasts_of_model(market, book, start=start, end=end))
    filled = [p for p in parts if len(p)]
    if not filled:
        return pd.DataFrame(columns=list(COLUMNS))
    return pd.concat(filled, ignore_index=True)
