"""Tested sales as studies take them: checked, and told apart from what is no sale."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.errors import TooFewSalesError
from valuation.results.ratio_parts import KeptApart
from valuation.scoring.checks import ScoreInputError, as_positive, as_range
from valuation.study.ranges import LEVELS, bound_columns

__all__ = ["days_of", "kept_apart", "sales_of", "tested_frame"]

Mask = NDArray[np.bool_]

_WHERE = "the tested sales"

REFUSED = "not sold: the amount is the highest bid, which was refused"
ASKED = "offered: the amount was asked and nobody is known to have paid it"


def tested_frame(frame: pd.DataFrame) -> pd.DataFrame:
    """Check tested sales and bring them to a fixed order and full columns.

    Parameters
    ----------
    frame : pandas.DataFrame
        One row a tested sale.  ``price`` and ``central`` (the estimate, NaN where there is none)
        are needed.  ``lower, upper``, ``lower_50, upper_50``, ``lower_95, upper_95`` (NaN in both
        where there is no range), ``outcome``, ``basis`` and what sales are grouped by are used if
        they are there.

    Returns
    -------
    pandas.DataFrame
        The same rows, sorted by amounts so that their order doesn't matter, with bounds, outcome
        and basis filled.

    Raises
    ------
    ScoreInputError
        If a needed column is missing, an amount is not positive and finite, or a range is none.
    TooFewSalesError
        If there is no row, or none of them is a sale.
    """
    missing = [name for name in ("price", "central") if name not in frame]
    if missing:
        raise ScoreInputError(
            _WHERE,
            "columns are missing",
            got=", ".join(str(c) for c in frame.columns),
            remedy=f"Give the columns {' and '.join(missing)}",
        )
    out = frame.copy()
    as_positive(_WHERE, "price", out["price"].to_numpy(dtype=np.float64))
    central = out["central"].to_numpy(dtype=np.float64)
    as_positive(_WHERE, "estimate", central[~np.isnan(central)])
    for level in LEVELS:
        low, high = bound_columns(level)
        if low not in out or high not in out:
            out[low] = out[high] = np.nan
        as_range(_WHERE, out[low].to_numpy(dtype=np.float64), out[high].to_numpy(dtype=np.float64))
    for name in ("outcome", "basis"):
        known: Any = out.get(name)
        out[name] = "unknown" if known is None else known.where(known.notna(), "unknown")
    if not sales_of(out).any():
        raise TooFewSalesError(
            _WHERE,
            "none of them is a sale at a known price",
            got=f"{len(out)} rows",
            remedy="Test on sales; bids that were refused and asking prices are no prices",
        )
    keys = ["price", "central", *(c for level in LEVELS for c in bound_columns(level))]
    return out.sort_values(keys, kind="stable").reset_index(drop=True)


def sales_of(frame: pd.DataFrame) -> Mask:
    """Mark the rows that are sales, or of which nothing else is known.

    Parameters
    ----------
    frame : pandas.DataFrame
        Tested sales with ``outcome`` and ``basis``.
    """
    mask: Mask = ~(_refused(frame) | _asked(frame))
    return mask


def _refused(frame: pd.DataFrame) -> Mask:
    return np.asarray(frame["outcome"] == "not sold", dtype=bool)


def _asked(frame: pd.DataFrame) -> Mask:
    asked = (frame["outcome"] == "offered") | (frame["basis"] == "asking price")
    return np.asarray(asked, dtype=bool) & ~_refused(frame)


def kept_apart(frame: pd.DataFrame) -> Iterator[KeptApart]:
    """Count the rows that are no sale at a known price, with what they are.

    Parameters
    ----------
    frame : pandas.DataFrame
        From :func:`tested_frame`.
    """
    for what, mask in ((REFUSED, _refused(frame)), (ASKED, _asked(frame))):
        part = frame[mask]
        if len(part):
            ratio = (part["central"] / part["price"]).dropna()
            yield KeptApart(what, len(part), float(ratio.median()) if len(ratio) else None)


def days_of(frame: pd.DataFrame) -> tuple[date | None, date | None]:
    """Return the days of the first and the last sale, None for both without dates."""
    if "sale_date" not in frame or not frame["sale_date"].notna().any():
        return None, None
    days = pd.to_datetime(frame["sale_date"])
    return days.min().date(), days.max().date()
