"""Rows of a batch: known already, set aside, of lines never seen, on days that can't be."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.appraisal.data import market_data
from valuation.appraisal.market import MarketModel
from valuation.features.columns import key
from valuation.importing.repeats import chassis_key
from valuation.records import SalesBook
from valuation.results.screens import ScreenDoubt, Verdict
from valuation.study.screen_limits import ScreenLimits

__all__ = ["Months", "known_already", "row_doubts"]

Months = tuple[date, date]
"""First and last day of the months that a batch is said to be of."""

_NEAR_DAYS = 3
_FEWEST = 3


def row_doubts(
    market: MarketModel | None,
    book: SalesBook,
    limits: ScreenLimits,
    *,
    today: date | None = None,
    months: Months | None = None,
) -> Iterator[ScreenDoubt]:
    """Doubt a batch for its rows, whatever their prices.

    Parameters
    ----------
    market : MarketModel or None
        Fitted without the batch.
    book : SalesBook
        The batch.
    limits : ScreenLimits
        Limits.
    today : datetime.date, optional
        No sale can be later.
    months : (datetime.date, datetime.date), optional
        First and last day of the months that the batch is said to be of.
    """
    rows = max(book.rows, len(book) + len(book.set_aside))
    left = rows - len(book)
    said = f"{left:,} of {rows:,} rows could not be used: is the file read as it is meant?"
    yield from _share("rows set aside", left, rows, limits.set_aside, said)
    if market is not None and len(book):
        known = int(known_already(market.frame, book.table).sum())
        said = f"{known:,} of {len(book):,} sales are known from earlier batches: the same file?"
        yield from _share("sales known already", known, len(book), limits.known, said)
        data = market_data(book, unsold="as bids", least=0)
        unseen = int((market.fitted.spec.line_of(data.table) < 0).sum())
        said = (
            f"{unseen:,} of {len(book):,} sales are of model lines never seen before: are make "
            "and model read right?"
        )
        yield from _share("model lines never seen", unseen, len(book), limits.unseen, said)
    yield from _dates(book, limits, today, months)


def _dates(
    book: SalesBook, limits: ScreenLimits, today: date | None, months: Months | None
) -> Iterator[ScreenDoubt]:
    days = book.table["sale_date"].dropna()
    if today is not None:
        late = int((days > pd.Timestamp(today)).sum())
        said = f"{late:,} of {len(book):,} sales are dated after {today.isoformat()}."
        yield from _share("dates in the future", late, len(book), limits.future, said, fewest=1)
    if months is not None:
        first, last = (pd.Timestamp(day) for day in months)
        away = int(((days < first) | (days > last)).sum())
        said = (
            f"{away:,} of {len(book):,} sales are dated outside "
            f"{months[0].isoformat()} to {months[1].isoformat()}: are day and month swapped?"
        )
        yield from _share("dates outside the month", away, len(book), limits.astray, said)


def _share(
    kind: str,
    count: int,
    of: int,
    limits: tuple[float, float],
    sentence: str,
    *,
    fewest: int = _FEWEST,
) -> Iterator[ScreenDoubt]:
    """Doubt a batch where a share is above its limits; a row or two decide nothing."""
    share = count / of if of else 0.0
    if count < fewest or share <= limits[0]:
        return
    verdict: Verdict = "hold" if share > limits[1] else "warn"
    yield ScreenDoubt(kind, verdict, sentence, {"share": share, "count": count})


def known_already(earlier: pd.DataFrame, table: pd.DataFrame) -> NDArray[np.bool_]:
    """Tell which sales of a batch earlier ones hold already.

    The same chassis at the same price within three days; without a chassis number the same make,
    model, year and mileage.

    Parameters
    ----------
    earlier, table : pandas.DataFrame
        Sales by the contract's columns.
    """
    seen: dict[tuple[str, ...], list[int]] = {}
    for name, day in zip(_names(earlier), _days(earlier), strict=True):
        seen.setdefault(name, []).append(day)
    return np.array(
        [
            any(abs(day - d) <= _NEAR_DAYS for d in seen.get(name, ()))
            for name, day in zip(_names(table), _days(table), strict=True)
        ],
        dtype=bool,
    )


def _names(frame: pd.DataFrame) -> Iterator[tuple[str, ...]]:
    """Yield the name under which each sale would be found again; its price is part of it."""
    columns = [frame[n].tolist() for n in ("chassis", "make", "model", "year", "mileage", "price")]
    for chassis, make, model, year, mileage, price in zip(*columns, strict=True):
        amount = f"{price:.0f}"
        if number := chassis_key(chassis, make):
            yield "chassis", number, amount
        else:
            yield "car", key(make), key(model), f"{year:.0f}", f"{mileage:.0f}", amount


def _days(frame: pd.DataFrame) -> list[int]:
    days = frame["sale_date"].to_numpy().astype("datetime64[D]")
    return [-(10**6) if np.isnat(d) else int(d.astype(np.int64)) for d in days]
