"""Which records are of one market event, and which of one chassis at different times."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.importing.repeats import REOFFER_DAYS, chassis_key
from valuation.reading.text import compact
from valuation.schema import ATTRIBUTES

__all__ = ["RE_OFFER", "SAME_SALE", "Joined", "chassis_codes", "join_offers", "repeat_sales"]

SAME_SALE = "same sale"
"""Code of a record that tells of a sale another record tells of too."""

RE_OFFER = "re-offer"
"""Code of an offer after which the same chassis was offered again within weeks."""

_SAME = ("make", "model", "year", "sale_date", "price", "venue", "mileage")
"""Two records without a chassis number that agree in all of these tell of one sale."""

Ints = NDArray[np.int64]
Strings = NDArray[Any]


@dataclass(frozen=True, slots=True)
class Joined:
    """Records that tell of an event another record stands for.

    Parameters
    ----------
    row : ndarray of int, shape (n_joined,)
        Positions of the records that don't count.
    by : ndarray of int, shape (n_joined,)
        Position of the record that stands for each.
    code : ndarray of str, shape (n_joined,)
        :data:`SAME_SALE` or :data:`RE_OFFER`.
    """

    row: Ints
    by: Ints
    code: Strings


def chassis_codes(table: pd.DataFrame) -> Ints:
    """Give each chassis of a table of sales a number; -1 where what is written tells nothing.

    Parameters
    ----------
    table : pandas.DataFrame
        With ``chassis`` and ``make``.
    """
    pairs, once = pd.factorize(
        pd.Series(list(zip(table["chassis"], table["make"], strict=True)), dtype=object)
    )
    keys = np.array([chassis_key(c, m) or None for c, m in once] + [None], dtype=object)
    return np.asarray(pd.factorize(keys[pairs])[0], dtype=np.int64)


def join_offers(table: pd.DataFrame) -> Joined:
    """Find the records that tell of one market event.

    Parameters
    ----------
    table : pandas.DataFrame, shape (n_sales, n_columns)
        Sales from the evidence, with ``sale_key`` and ``batch``, in any order.

    Returns
    -------
    Joined
        What doesn't count, and what stands for it.  The answer does not depend on the order of the
        rows.

    Notes
    -----
    Offers of a chassis that follow each other within 60 days are one event, as when a file is read;
    the last of them counts.  Of several records of one day the one that states most counts, then
    the one whose key comes first.

    Records without a chassis number are one sale if make, model, year, day, price, venue and
    mileage agree; also with a record that has a chassis number, unless its own file holds one for
    that chassis.  A file in which such a record stands twice tells of two sales, so of two files
    the n-th record is joined with the n-th.  Within one file nothing is joined here.
    """
    order = np.lexsort((table["sale_key"].to_numpy(dtype=str),))
    table = table.iloc[order]
    stated = _stated(table)
    chassis = chassis_codes(table)
    found = [_by_chassis(table, chassis, stated), _without_chassis(table, chassis, stated)]
    row = np.concatenate([f.row for f in found])
    by = np.concatenate([f.by for f in found])
    code = np.concatenate([f.code for f in found])
    return Joined(order[row], order[by], code)


def _stated(table: pd.DataFrame) -> Ints:
    """Count what each record states."""
    names = [*(a.name for a in ATTRIBUTES), "title", "description", "chassis"]
    return np.asarray(table[names].notna().sum(axis=1), dtype=np.int64)


def _days(table: pd.DataFrame) -> Ints:
    """Return days since 1970; the least number where there is no date."""
    return np.asarray(table["sale_date"].to_numpy().astype("datetime64[D]").astype(np.int64))


def _by_chassis(table: pd.DataFrame, chassis: Ints, stated: Ints) -> Joined:
    rows = np.flatnonzero(chassis >= 0)
    days, prices = _days(table), table["price"].to_numpy()
    undated = np.isnat(table["sale_date"].to_numpy())
    # Without a day only the price tells one offer of a chassis from another.
    apart = np.where(undated, prices, 0.0)
    # The last of an event counts: later days last, then what states more, then earlier keys.
    rows = rows[
        np.lexsort((-rows, stated[rows], days[rows], apart[rows], undated[rows], chassis[rows]))
    ]
    if not len(rows):
        return _nothing()
    same = (
        (chassis[rows][1:] == chassis[rows][:-1])
        & (undated[rows][1:] == undated[rows][:-1])
        & (apart[rows][1:] == apart[rows][:-1])
        & (undated[rows][1:] | (days[rows][1:] - days[rows][:-1] <= REOFFER_DAYS))
    )
    last = np.flatnonzero(np.append(~same, True))
    kept = rows[last[np.searchsorted(last, np.arange(len(rows)))]]
    gone = kept != rows
    row, by = rows[gone], kept[gone]
    alike = (days[row] == days[by]) & (prices[row] == prices[by])
    return Joined(row, by, np.where(alike, SAME_SALE, RE_OFFER).astype(object))


def _nothing() -> Joined:
    none = np.zeros(0, dtype=np.int64)
    return Joined(none, none, np.zeros(0, dtype=object))


def _prints(table: pd.DataFrame) -> Ints:
    """Give records that agree in what tells one sale from another the same number."""
    columns: dict[str, Any] = {}
    for name in _SAME:
        values = table[name]
        if values.dtype == object:
            codes, once = pd.factorize(values)
            plain = np.array([*(compact(str(v)) for v in once), ""], dtype=object)
            columns[name] = pd.factorize(plain[codes])[0]
        elif name == "mileage":
            columns[name] = np.round(values.to_numpy())
        else:
            columns[name] = values.to_numpy()
    groups = pd.DataFrame(columns).groupby(list(_SAME), dropna=False, sort=False)
    return np.asarray(groups.ngroup(), dtype=np.int64)


def _without_chassis(table: pd.DataFrame, chassis: Ints, stated: Ints) -> Joined:
    prints = _prints(table)
    batch = np.asarray(pd.factorize(table["batch"])[0], dtype=np.int64)
    order = np.lexsort((np.arange(len(prints)), prints))
    starts = np.flatnonzero(np.diff(prints[order], prepend=-1))
    if not len(starts):
        return _nothing()
    several = np.minimum.reduceat(batch[order], starts) < np.maximum.reduceat(batch[order], starts)
    blank = np.minimum.reduceat(chassis[order], starts) < 0
    ends = np.append(starts[1:], len(order))
    rank = (-stated).tolist()
    pairs: list[tuple[int, int]] = []
    for i in np.flatnonzero(several & blank):
        rows = order[starts[i] : ends[i]]
        listed = zip(rows.tolist(), batch[rows].tolist(), chassis[rows].tolist(), strict=True)
        pairs += _pairs(list(listed), rank)
    found = np.array(pairs, dtype=np.int64).reshape(-1, 2)
    return Joined(found[:, 0], found[:, 1], np.full(len(found), SAME_SALE, dtype=object))


def _pairs(records: list[tuple[int, int, int]], rank: list[int]) -> list[tuple[int, int]]:
    """Pair records without a chassis number, of some that agree, with what stands for each.

    `records` are row, batch and chassis (-1 for none) in the order of keys; the record with the
    least `rank` stands for the others.
    """
    numbered: dict[int, int] = {}
    own: dict[int, set[int]] = {}
    blanks: dict[int, list[int]] = {}
    for row, batch, chassis in records:
        if chassis >= 0:
            numbered.setdefault(chassis, row)
            own.setdefault(batch, set()).add(chassis)
        else:
            blanks.setdefault(batch, []).append(row)
    pairs: list[tuple[int, int]] = []
    rest: dict[int, list[int]] = {}
    for batch, mine in blanks.items():
        others = [row for c, row in numbered.items() if c not in own.get(batch, ())]
        pairs += zip(mine, others, strict=False)
        for n, row in enumerate(mine[len(others) :]):
            rest.setdefault(n, []).append(row)
    for alike in rest.values():
        kept = min(alike, key=lambda row: (rank[row], row))
        pairs += [(row, kept) for row in alike if row != kept]
    return pairs


def repeat_sales(table: pd.DataFrame) -> pd.DataFrame:
    """Pair each sale with the next sale of the same chassis.

    Parameters
    ----------
    table : pandas.DataFrame, shape (n_sales, n_columns)
        Table of a book of sales.

    Returns
    -------
    pandas.DataFrame, shape (n_pairs, 5)
        ``first`` and ``second``, positions of the two sales; ``chassis``, the number of the first
        as written; ``days`` between them; ``ratio`` of the second price to the first.  In the order
        of the second sale, then of the first.
    """
    chassis, days = chassis_codes(table), _days(table)
    undated = np.isnat(table["sale_date"].to_numpy())
    rows = np.flatnonzero((chassis >= 0) & ~undated)
    rows = rows[np.lexsort((rows, days[rows], chassis[rows]))]
    same = chassis[rows][1:] == chassis[rows][:-1]
    first, second = rows[:-1][same], rows[1:][same]
    price = table["price"].to_numpy()
    order = np.lexsort((first, second, days[second]))
    first, second = first[order], second[order]
    return pd.DataFrame(
        {
            "first": first,
            "second": second,
            "chassis": table["chassis"].to_numpy()[first],
            "days": days[second] - days[first],
            "ratio": price[second] / price[first],
        }
    )
