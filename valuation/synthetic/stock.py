"""The stock ledger of an invented firm that buys at auctions and sells what it bought."""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd
from openpyxl import Workbook

from valuation.files import without_clock
from valuation.records import Value
from valuation.synthetic.market import SyntheticMarket

__all__ = ["LedgerRow", "ledger_workbook", "stock_ledger"]

_COLUMNS = (
    "date", "stock", "event", "amount", "currency", "basis", "what", "from or to", "channel",
    "venue", "chassis", "make", "model", "year",
)  # fmt: skip
_CARS = 24
_LUCK = 0.12

LedgerRow = dict[str, Any]
"""One event of a ledger: cells by the name of their column, what is empty left out."""


def stock_ledger(market: SyntheticMarket, *, since: date, seed: int) -> bytes:
    """Write the ledger of a firm that bought some of a market's lots.

    Parameters
    ----------
    market : SyntheticMarket
        The market; what a car brings when the firm sells it follows its truth.
    since : datetime.date
        First day of a purchase.
    seed : int
        Seed of which lots, costs, days and luck.

    Returns
    -------
    bytes
        A workbook with one row an event: bought, spent, sold.  The last car is still in stock.
    """
    rng = np.random.default_rng([seed, 17])
    rows: list[LedgerRow] = []
    bought = _bought(market, since, rng)
    actual = market.truth.actual()
    for number, i in enumerate(bought.tolist(), start=101):
        lot = market.table.loc[i].to_dict()
        values = {k: v for k, v in actual.loc[i].items() if v is not None and v == v}
        sells = i != bought[-1]
        rows += _car(f"H-{number}", lot, market, values, rng, sells=sells)
    rows.sort(key=lambda row: (row["date"], row["stock"]))
    return ledger_workbook(rows)


def _bought(market: SyntheticMarket, since: date, rng: np.random.Generator) -> Any:
    table = market.table
    lots = table[
        (table["sale_date"] >= pd.Timestamp(since))
        & (table["sale_date"] < pd.Timestamp(market.settings.end - timedelta(days=150)))
        & (table["basis"] == "hammer price")
        & (table["outcome"] == "sold")
        & table["chassis"].notna()
        & table["venue"].notna()
    ].drop_duplicates("chassis")
    chosen = rng.choice(lots.index.to_numpy(), size=min(_CARS, len(lots)), replace=False)
    return np.sort(chosen)


def _car(
    stock: str,
    lot: Mapping[str, Any],
    market: SyntheticMarket,
    values: Mapping[str, Value],
    rng: np.random.Generator,
    *,
    sells: bool,
) -> Iterator[LedgerRow]:
    """Yield the events of one car."""
    currency = market.settings.currency
    day = lot["sale_date"].date()
    yield {
        "date": day,
        "stock": stock,
        "event": "bought",
        "amount": round(lot["price"]),
        "currency": currency,
        "basis": "hammer price",
        "from or to": "auction house",
        "channel": lot["channel"],
        "venue": lot["venue"],
        "chassis": lot["chassis"],
        "make": values["make"],
        "model": values["model"],
        "year": int(float(str(values["year"]))),
    }
    for after, what, low, high in ((4, "transport", 300, 900), (20, "service", 500, 3000)):
        yield {
            "date": day + timedelta(days=after),
            "stock": stock,
            "event": "spent",
            "amount": int(rng.integers(low, high)),
            "currency": currency,
            "what": what,
        }
    on = day + timedelta(days=int(rng.integers(35, 140)))
    expected = market.true_log_price(values, day=on, channel="dealer", basis="price paid")
    amount = math.exp(expected + _LUCK * float(rng.standard_normal()))
    if sells:
        yield {
            "date": on,
            "stock": stock,
            "event": "sold",
            "amount": round(amount / 50) * 50,
            "currency": currency,
            "from or to": "private",
            "channel": "dealer",
        }


def ledger_workbook(rows: Iterable[LedgerRow]) -> bytes:
    """Return the rows of a stock ledger as a workbook.

    Parameters
    ----------
    rows : iterable of LedgerRow
        One row an event, in the order in which they are to stand.

    Returns
    -------
    bytes
        The same rows give the same bytes.
    """
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = "Ledger"
    sheet.append(_COLUMNS)
    for row in rows:
        sheet.append([row.get(name) for name in _COLUMNS])
    saved = io.BytesIO()
    book.save(saved)
    return without_clock(saved.getvalue())
