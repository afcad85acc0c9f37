"""The firm's own sales as evidence: each counts once, wherever it is stated."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from valuation.evidence.known_sales import own_sales
from valuation.evidence.like_purchase import Bought, like_purchase
from valuation.importing.repeats import chassis_key
from valuation.records import SalesBook
from valuation.results.ledger import StockCar, StockEvent
from valuation.schema.as_built import AS_BUILT
from valuation.schema.sale import BASES, OUTCOMES

__all__ = ["OWN", "with_own_marks", "with_own_sales"]

OWN = "own"
"""Column that says what the firm itself did in a sale: ``bought``, ``sold`` or None."""

CHANNEL = "dealer"
"""Channel of a sale for which the ledger states none."""

FILE = "stock ledger"
"""Stands in the place of a file's name."""


def with_own_marks(book: SalesBook, cars: Sequence[StockCar]) -> SalesBook:
    """Return a book whose column ``own`` says in which sales the firm itself bought or sold.

    Who prices from a published model has no ledger, so what a customer may not see has to be
    marked in the model itself.

    Parameters
    ----------
    book : SalesBook
        With ``sale_key``, and with the firm's own sales, see :func:`with_own_sales`.
    cars : sequence of StockCar
        Of the ledger.

    Returns
    -------
    SalesBook
        The same sales, each with ``bought``, ``sold`` or None.  Beside the sales that
        :func:`valuation.evidence.known_sales.own_sales` finds, those are marked as bought that
        match what the ledger knows of a purchase, see
        :func:`valuation.evidence.like_purchase.like_purchase`: of a purchase that was found, rows
        without a chassis number; of one that was not, any.  A sale that is both is ``bought``.
    """
    keys = book.table["sale_key"].tolist()
    at = {key: i for i, key in enumerate(keys)}
    found = own_sales(book, cars)
    own = np.full(len(keys), None, dtype=object)
    stated = {f"{e.batch}:{e.row}" for car in cars for e in car.of("sold")}
    sold = {o.sale_key for o in found if o.event == "sold"} | (stated & at.keys())
    bought = {o.sale_key for o in found if o.event == "bought"}
    own[[at[key] for key in sold]] = "sold"
    named = {o.stock for o in found if o.event == "bought"}
    like = [i for car in cars for i in _like(book, car, found=_name(car) in named)]
    # What is known to be the firm's sale of another car is no purchase, however alike.
    own[[i for i in like if own[i] is None]] = "bought"
    own[[at[key] for key in bought]] = "bought"
    return replace(book, table=book.table.assign(**{OWN: pd.Series(own, dtype=object)}))


def _name(car: StockCar) -> str:
    return car.mark.stock or car.mark.chassis


def _like(book: SalesBook, car: StockCar, *, found: bool) -> list[int]:
    """Return the sales that match what the ledger knows of the purchases of a car."""
    mark, columns = car.mark, {str(name): book.table[name].to_numpy() for name in _COMPARED}
    out: list[int] = []
    for event in car.of("bought"):
        if event.on is None or not mark.make:
            continue
        alike = event.amount is not None and event.currency == book.currency
        price = float(event.amount or 0) if alike else None
        year = float(mark.year) if mark.year else float("nan")
        rows = like_purchase(columns, Bought(mark.make, mark.model, year, event.on, price))
        unnamed = [not chassis_key(columns["chassis"][i], mark.make) for i in rows.tolist()]
        out += [int(i) for i, no in zip(rows, unnamed, strict=True) if no or not found]
    return out


_COMPARED = ("sale_date", "year", "price", "make", "model", "chassis")
"""What a purchase is found by."""


def with_own_sales(book: SalesBook, cars: Sequence[StockCar]) -> SalesBook:
    """Return a book with the sales of the firm that are not in it yet.

    Parameters
    ----------
    book : SalesBook
        With ``sale_key`` and ``batch``.
    cars : sequence of StockCar
        Of the ledger.

    Returns
    -------
    SalesBook
        In the order of day and key.  A sale that a file of sales states too is not added, see
        :func:`valuation.evidence.known_sales.own_sales`; nor is one in another currency, or of a
        car without make, model and year.  What the car was built as is taken over from an earlier
        sale of its chassis; its state is not, as the firm may have changed it.
    """
    linked = {o.stock for o in own_sales(book, cars) if o.event == "sold"}
    earlier = _earlier(book.table, cars)
    rows = []
    for car in cars:
        sold, mark = car.sold, car.mark
        known = (mark.stock or mark.chassis) in linked
        if sold is None or sold.on is None or known or sold.currency != book.currency:
            continue
        before = earlier.get(chassis_key(mark.chassis, mark.make), {})
        row = _row(car, sold, sold.on, before)
        if row["make"] and row["model"] and row["year"] == row["year"]:
            rows.append(row)
    if not rows:
        return book
    added = pd.DataFrame(rows).reindex(columns=book.table.columns)
    return _joined(book, added)


def _earlier(table: pd.DataFrame, cars: Sequence[StockCar]) -> dict[str, dict[str, Any]]:
    """Return the last sale of each chassis of the firm, as the book has it."""
    wanted = {chassis_key(c.mark.chassis, c.mark.make) for c in cars} - {""}
    if not wanted:
        return {}
    keys = [chassis_key(c, m) for c, m in zip(table["chassis"], table["make"], strict=True)]
    found = {key: i for i, key in enumerate(keys) if key in wanted}
    rows = {key: table.iloc[i].to_dict() for key, i in found.items()}
    return {key: {str(name): cell for name, cell in row.items()} for key, row in rows.items()}


def _row(car: StockCar, sold: StockEvent, on: date, before: Mapping[str, Any]) -> dict[str, Any]:
    mark = car.mark
    built = {a.name: before.get(a.name) for a in AS_BUILT}
    stated = {"make": mark.make, "model": mark.model, "title": mark.title, "chassis": mark.chassis}
    told = {name: text for name, text in stated.items() if text}
    year = float(mark.year) if mark.year else before.get("year", np.nan)
    return {
        "make": before.get("make"),
        "model": before.get("model"),
        "title": before.get("title"),
        **built,
        **told,
        "year": np.nan if year is None else year,
        "sale_id": f"stock {mark.stock}" if mark.stock else mark.chassis,
        "sale_date": pd.Timestamp(on).as_unit("s"),
        "price": float(sold.amount or 0),
        "currency": sold.currency,
        "basis": BASES[3],
        "outcome": OUTCOMES[0],
        "channel": sold.channel or CHANNEL,
        "venue": sold.venue or None,
        "file": FILE,
        "row": sold.row,
        "sale_key": f"{sold.batch}:{sold.row}",
        "batch": sold.batch,
    }


def _joined(book: SalesBook, added: pd.DataFrame) -> SalesBook:
    """Put rows of sales among the others, each column in its kind."""
    columns: dict[str, Any] = {}
    for name in book.table.columns:
        old, new = book.table[name], added[name]
        if old.dtype == object:
            cells = [None if v is None or v != v else v for v in new.tolist()]
            columns[name] = pd.Series([*old.tolist(), *cells], dtype=object)
        else:
            columns[name] = pd.concat([old, new.astype(old.dtype)], ignore_index=True)
    table = pd.DataFrame(columns)
    order = np.lexsort((table["sale_key"].to_numpy(dtype=str), table["sale_date"].to_numpy()))
    said = f"Sales of the firm itself, from the stock ledger: {len(added):,}."
    return replace(
        book,
        table=table.iloc[order].reset_index(drop=True),
        rows=book.rows + len(added),
        notes=(*book.notes, said),
    )
