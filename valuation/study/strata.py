"""Tested sales cut into groups alike in one thing, thin groups pooled and named."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.errors import SettingsError
from valuation.money import format_money
from valuation.results.coverage import pooled_words

__all__ = [
    "NOT_STATED",
    "Cut",
    "Group",
    "bands",
    "check_columns",
    "column_cuts",
    "month_of",
    "pooled_groups",
]

Mask = NDArray[np.bool_]
Texts = NDArray[np.str_]

NOT_STATED = "not stated"

UNDATED = "undated"

BANDS = 5
"""Most bands of value."""

_PLAIN = {
    "make": "By make",
    "channel": "By channel",
    "basis": "By price basis",
}

_KNOWN = ("make", "era", "channel", "basis", "evidence", "month", "months ahead")
"""What sales are grouped by if their columns tell."""


@dataclass(frozen=True)
class Cut:
    """One way to cut sales into groups.

    Parameters
    ----------
    by, label : str
        What they are grouped by, and that for a heading.
    member : ndarray of str, shape (n,)
        Group of each sale.
    order : tuple of str
        Groups in the order in which they are shown.
    """

    by: str
    label: str
    member: Texts
    order: tuple[str, ...]


@dataclass(frozen=True)
class Group:
    """Sales of one group.

    Parameters
    ----------
    name : str
        Its name.
    pooled : tuple of (str, int)
        Thin groups of which it is made, with their sales; empty for a group by itself.
    rows : ndarray of bool, shape (n,)
        Its sales.
    """

    name: str
    pooled: tuple[tuple[str, int], ...]
    rows: Mask


def pooled_groups(cut: Cut, *, least: int) -> tuple[Group, ...]:
    """Return the groups of a cut, those with too few sales pooled in the last.

    Parameters
    ----------
    cut : Cut
        One way to cut the sales.
    least : int
        Fewest sales of a group that stands by itself.

    Returns
    -------
    tuple of Group
        Every sale is in exactly one.
    """
    counts = {name: int((cut.member == name).sum()) for name in cut.order}
    thin = tuple((name, n) for name, n in counts.items() if 0 < n < least)
    alone = [Group(name, (), cut.member == name) for name, n in counts.items() if n >= least]
    if not thin:
        return tuple(alone)
    rows = np.isin(cut.member, [name for name, _ in thin])
    return (*alone, Group(pooled_words(thin), thin, rows))


def check_columns(frame: pd.DataFrame, names: Sequence[str]) -> None:
    """Check that there is every column that is to be grouped by.

    Parameters
    ----------
    frame : pandas.DataFrame
        Tested sales as they were given.
    names : sequence of str
        Columns that were asked for.

    Raises
    ------
    SettingsError
        If there is no such column.
    """
    missing = [name for name in names if name not in frame]
    if missing:
        raise SettingsError(
            "the tested sales",
            "there is no such column to group by",
            got=", ".join(missing),
            remedy=f"Name some of {', '.join(str(c) for c in frame.columns)}",
        )


def column_cuts(frame: pd.DataFrame, extra: Sequence[str] = ()) -> Iterator[Cut]:
    """Cut sales by what their columns tell, as far as they have them.

    Parameters
    ----------
    frame : pandas.DataFrame
        Tested sales; ``make``, ``year``, ``channel``, ``basis``, ``sale_date`` or ``month``,
        ``outside`` and ``months_ahead`` are used if they are there.
    extra : sequence of str
        Further columns to cut by.

    Yields
    ------
    Cut
        In the order in which they are shown; a cut into a single group tells nothing and is left
        out.
    """
    for cut in _cuts(frame, extra):
        if len(cut.order) > 1:
            yield cut


def _cuts(frame: pd.DataFrame, extra: Sequence[str]) -> Iterator[Cut]:
    for by in _KNOWN:
        cut = _cut(frame, by)
        if cut is not None:
            yield cut
    for name in dict.fromkeys(extra):
        if name not in _KNOWN:
            yield _named(name, f"By {name.replace('_', ' ')}", _texts(frame[name]))


def _cut(frame: pd.DataFrame, by: str) -> Cut | None:
    if by in _PLAIN and by in frame:
        return _named(by, _PLAIN[by], _texts(frame[by]))
    if by == "era" and ("year" in frame or "era" in frame):
        values = _decades(frame["year"]) if "year" in frame else _texts(frame["era"])
        return _named(by, "By era", values)
    if by == "evidence" and "outside" in frame:
        outside = frame["outside"].to_numpy(dtype=bool)
        values = np.where(outside, "outside the evidence", "inside the evidence")
        return _named(by, "Inside and outside the evidence", values)
    if by == "month" and ("month" in frame or "sale_date" in frame):
        return _named(by, "By month of sale", month_of(frame))
    if by == "months ahead" and "months_ahead" in frame:
        return _ahead(frame["months_ahead"].to_numpy(dtype=np.float64))
    return None


def _named(by: str, label: str, values: Texts) -> Cut:
    names = sorted({str(v) for v in values}, key=lambda name: (_is_blank(name), name))
    return Cut(by, label, values, tuple(names))


def _is_blank(name: str) -> bool:
    return name in (NOT_STATED, UNDATED)


def _texts(column: pd.Series[Any]) -> Texts:
    return np.array(
        [v.strip() if isinstance(v, str) and v.strip() else _other(v) for v in column], dtype=str
    )


def _other(value: Any) -> str:
    missing = value is None or isinstance(value, str) or pd.isna(value)
    return NOT_STATED if missing else f"{value:g}" if isinstance(value, float) else str(value)


def _decades(years: pd.Series[Any]) -> Texts:
    numbers = years.to_numpy(dtype=np.float64)
    return np.array([NOT_STATED if np.isnan(y) else f"{int(y) // 10 * 10}s" for y in numbers])


def month_of(frame: pd.DataFrame) -> Texts:
    """Return the month of each sale as ``2024-03``, ``undated`` where none is known.

    Parameters
    ----------
    frame : pandas.DataFrame
        With ``month``, or with ``sale_date``; all sales are undated without both.
    """
    if "month" in frame:
        return np.array([m if isinstance(m, str) and m else UNDATED for m in frame["month"]])
    if "sale_date" in frame:
        return np.array([UNDATED if pd.isna(d) else f"{d:%Y-%m}" for d in frame["sale_date"]])
    return np.full(len(frame), UNDATED)


def _ahead(months: NDArray[np.float64]) -> Cut:
    known = sorted({int(m) for m in months[~np.isnan(months)]})
    words = {m: "under 1 month" if m == 0 else f"{m} to {m + 1} months" for m in known}
    values = np.array([UNDATED if np.isnan(m) else words[int(m)] for m in months])
    blank = (UNDATED,) if np.isnan(months).any() else ()
    return Cut("months ahead", "By months ahead", values, (*words.values(), *blank))


def bands(amounts: NDArray[np.float64], *, by: str, label: str, currency: str, least: int) -> Cut:
    """Cut sales into bands of like value with as many sales each.

    Parameters
    ----------
    amounts : ndarray, shape (n,)
        Value of each car; NaN where there is none.
    by, label : str
        What the amounts are, and that for a heading.
    currency : str
        Of the amounts, empty if not stated.
    least : int
        Fewest sales of a band: with few sales there are fewer than five bands.

    Returns
    -------
    Cut
        Bands from the cheapest on; amounts on an edge belong to the cheaper one.
    """
    known = amounts[~np.isnan(amounts)]
    count = min(BANDS, max(1, known.size // least))
    edges = np.unique(np.quantile(known, np.arange(1, count) / count)) if known.size else known
    names = _band_names([format_money(edge, "") for edge in edges], currency)
    at = np.searchsorted(edges, amounts, side="left")
    values = np.array(
        [NOT_STATED if np.isnan(a) else names[i] for a, i in zip(amounts, at, strict=True)]
    )
    return Cut(
        by, label, values, (*names, NOT_STATED) if known.size < amounts.size else tuple(names)
    )


def _band_names(edges: Sequence[str], currency: str) -> list[str]:
    if not edges:
        return ["all values"]
    between = [f"{low} to {high}" for low, high in pairwise(edges)]
    return [
        f"{name} {currency}".strip()
        for name in (f"up to {edges[0]}", *between, f"above {edges[-1]}")
    ]
