"""The same row twice, and the same car offered again within weeks."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
import pandas as pd

from valuation.importing.faults import FaultList
from valuation.importing.raw import RawTable
from valuation.importing.source_map import SourceMap
from valuation.reading.text import compact

__all__ = ["REOFFER_DAYS", "chassis_key", "find_duplicates", "find_reoffers"]

REOFFER_DAYS = 60
"""A chassis that comes back within so many days is one market event."""

_FEW = 20


def _is_running_number(cells: pd.Series[str]) -> bool:
    if len(cells) > _FEW and not _is_running_number(cells.iloc[:_FEW]):
        return False
    numbers = pd.to_numeric(cells, errors="coerce")
    if numbers.isna().any() or numbers.duplicated().any():
        return False
    return bool((numbers.diff().iloc[1:] > 0).all()) and bool((numbers % 1 == 0).all())


def row_signature(raw: RawTable, source: SourceMap) -> list[str]:
    """Return the text of each row without what merely numbers it.

    Two rows with one signature are the same row.
    """
    own_id = source.use("sale_id")
    skipped = set(own_id.columns) if own_id else set()
    kept = [
        str(c)
        for c in raw.cells.columns
        if str(c) not in skipped and not _is_running_number(raw.cells[c])
    ]
    # A price or a year can rise from row to row by chance in a short list.
    used = {c for u in source.uses if u.target != "sale_id" for c in u.columns}
    kept += [c for c in used if c not in kept and c in raw.cells.columns]
    rows = raw.cells[sorted(set(kept))].to_numpy()
    return ["\x1f".join(row) for row in rows.tolist()]


def find_duplicates(
    signatures: Sequence[str], faults: FaultList, where: Sequence[tuple[str, int]]
) -> None:
    """Note rows that say exactly what an earlier row says.

    Parameters
    ----------
    signatures : sequence of str, length n
        From :func:`row_signature`.
    faults : FaultList
        Is added to; rows that are no sales are passed over.
    where : sequence of (file, row), length n
        Where each row stands.
    """
    seen: dict[str, int] = {}
    for i, signature in enumerate(signatures):
        if i in faults.closed:
            continue
        first = seen.setdefault(signature, i)
        if first != i:
            file, row = where[first]
            faults.add(i, "duplicate", "", f"the same as row {row} of {file}")


def chassis_key(chassis: object, make: object) -> str:
    """Return what two records of one chassis have in common, empty if the number tells nothing.

    Examples
    --------
    >>> chassis_key("TR4-1180-K", "Torvane") == chassis_key("tr4 1180 k", "TORVANE")
    True
    >>> chassis_key("00000", "Torvane")
    ''
    """
    plain = compact(str(chassis)) if isinstance(chassis, str) else ""
    digits = re.sub(r"\D", "", plain)
    if len(plain) < 4 or len(digits) < 2 or len(set(plain)) < 3:
        return ""
    # A number of 17 signs is unique in the world, a short one only within its make.
    return plain if len(plain) == 17 else f"{compact(str(make))}:{plain}"


def find_reoffers(table: pd.DataFrame, faults: FaultList) -> None:
    """Keep the last of several offers of one chassis within weeks, note the earlier ones.

    Parameters
    ----------
    table : pandas.DataFrame
        All rows of all files.
    faults : FaultList
        Rows with faults are passed over; is added to.
    """
    keep = faults.keep(len(table))
    dated = table["sale_date"].notna().tolist()
    keys = [
        chassis_key(c, m) if k and d else ""
        for c, m, d, k in zip(
            table["chassis"].tolist(), table["make"].tolist(), dated, keep.tolist(), strict=True
        )
    ]
    days = table["sale_date"].to_numpy().astype("datetime64[D]").astype(np.int64).tolist()
    where = list(zip(table["file"].tolist(), table["row"].tolist(), strict=True))
    groups: dict[str, list[int]] = {}
    for i, key in enumerate(keys):
        if key:
            groups.setdefault(key, []).append(i)
    for rows in groups.values():
        rows.sort(key=lambda i: (days[i], i))
        last = len(rows) - 1
        for a in range(len(rows) - 2, -1, -1):
            if days[rows[a + 1]] - days[rows[a]] > REOFFER_DAYS:
                last = a
                continue
            file, row = where[rows[last]]
            faults.add(
                rows[a],
                "re-offer",
                "",
                f"offered again within {REOFFER_DAYS} days, row {row} of {file}",
            )
