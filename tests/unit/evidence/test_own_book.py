"""The firm's own sales become evidence: each once, with what the car was built as."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import numpy as np
import pandas as pd
import pytest

from valuation.evidence.own_book import FILE, with_own_marks, with_own_sales
from valuation.records import SalesBook, empty_table
from valuation.results.ledger import CarMark, StockCar, StockEvent

DAY = date(2025, 1, 1)


def sales(*rows: dict[str, object]) -> SalesBook:
    table = empty_table(len(rows))
    usual = {
        "sale_id": "112", "sale_date": "2024-03-14", "price": 31500.0, "outcome": "sold",
        "venue": "Harbour Rooms", "chassis": "TR4-1180-K", "make": "Torvane", "model": "GT",
        "year": 1968.0, "body": "coupe", "condition_grade": 61.0, "equipment": ("radio",),
    }  # fmt: skip
    for name in usual:
        values = [(usual | row)[name] for row in rows]
        if name == "sale_date":
            table[name] = pd.Series(pd.to_datetime(values)).astype("datetime64[s]")
        else:
            table[name] = pd.Series(values, dtype=table[name].dtype)
    table["sale_key"] = [f"b:{i}" for i in range(len(rows))]
    table["batch"] = "b"
    return SalesBook(table, "EUR", True, rows=len(rows))


def car(sold: str | None = "2024-08-15", currency: str = "EUR", **mark: object) -> StockCar:
    events = [StockEvent("bought", date(2024, 3, 14), Decimal(31500), "EUR", batch="l", row=2)]
    if sold:
        on = date.fromisoformat(sold)
        events.append(StockEvent("sold", on, Decimal("41250.50"), currency, batch="l", row=9))
    known = {"stock": "H-1", "chassis": "TR4-1180-K", "make": "Torvane"} | mark
    return StockCar(CarMark(**known), tuple(events), DAY)


def test_a_sale_only_the_ledger_knows_is_added_as_the_car_was_built() -> None:
    before = sales({})
    book = with_own_sales(before, [car()])
    assert list(book.table.columns) == list(before.table.columns)
    assert (book.table.dtypes == before.table.dtypes).all()
    assert (len(book), book.rows) == (2, 2)
    own = book.table.iloc[1]
    assert (own["sale_id"], own["sale_key"], own["file"], own["batch"]) == (
        "stock H-1",
        "l:9",
        FILE,
        "l",
    )
    assert (own["price"], own["basis"], own["outcome"], own["channel"]) == (
        41250.5,
        "price paid",
        "sold",
        "dealer",
    )
    assert (own["make"], own["model"], own["year"], own["body"]) == ("Torvane", "GT", 1968, "coupe")
    # Its state may have changed in the workshop.
    assert np.isnan(own["condition_grade"])
    assert book.notes == ("Sales of the firm itself, from the stock ledger: 1.",)


@pytest.mark.parametrize(
    ("rows", "own"),
    [
        ([{}, {"sale_id": "S1", "sale_date": "2024-08-14"}], car()),
        ([{}], car(sold=None)),
        ([{}], car(currency="USD")),
        ([{"chassis": None}], car(chassis="")),
        ([], car(model="", year=None)),
    ],
    ids=["stated by a list too", "not sold", "other currency", "no model known", "no other sale"],
)
def test_nothing_is_added_twice_or_guessed(rows: list[dict[str, object]], own: StockCar) -> None:
    book = sales(*rows)
    assert with_own_sales(book, [own]) is book


def marks(book: SalesBook, *cars: StockCar) -> list[object]:
    return with_own_marks(with_own_sales(book, cars), cars).table["own"].tolist()


def test_what_the_firm_bought_and_sold_itself_is_marked() -> None:
    book = sales({}, {"chassis": "TR4-9999-K"}, {"sale_date": "2024-08-14"})
    assert marks(book, car()) == ["bought", None, "sold"]
    assert marks(book) == [None, None, None]
    marked = with_own_marks(book, [car()])
    assert marked.table.drop(columns="own").equals(book.table)


def test_a_sale_that_only_the_ledger_knows_is_marked_without_a_chassis_number_too() -> None:
    book = sales({"chassis": "TR4-9999-K", "model": "Saloon"})
    assert marks(book, car(chassis="", model="GT", year=1968)) == [None, "sold"]


@pytest.mark.parametrize(
    ("row", "mark"),
    [
        ({"chassis": None}, "bought"),
        ({"chassis": None, "sale_date": "2024-03-28"}, "bought"),
        ({"chassis": None, "sale_date": "2024-03-29"}, None),
        ({"chassis": None, "price": 31500 * 0.79}, None),
        ({"chassis": None, "price": 31500 * 1.34, "year": 1969.0, "model": "GT Coupe"}, "bought"),
        ({"chassis": None, "model": "Saloon"}, None),
        ({"chassis": None, "make": "Ostervik"}, None),
        ({"chassis": None, "year": 1966.0}, None),
        ({"chassis": "1180"}, "bought"),
    ],
)
def test_a_purchase_is_found_by_car_day_and_price_where_the_chassis_number_tells_nothing(
    row: dict[str, object], mark: str | None
) -> None:
    bought = car(sold=None, stock="", model="GT", year=1968)
    assert marks(sales(row), bought) == [mark]


def test_another_car_is_not_taken_for_a_purchase_that_was_found() -> None:
    bought = car(sold=None, model="GT", year=1968)
    assert marks(sales({}, {"chassis": "TR4-9999-K"}, {"chassis": None}), bought) == [
        "bought", None, "bought",
    ]  # fmt: skip


def test_in_another_currency_car_and_day_find_a_purchase() -> None:
    event = StockEvent("bought", date(2024, 3, 14), Decimal(900), "USD", batch="l", row=2)
    bought = StockCar(CarMark(stock="H-1", make="Torvane", model="GT", year=1968), (event,), DAY)
    assert marks(sales({}), bought) == ["bought"]


def test_what_the_firm_both_bought_and_sold_within_days_is_not_shown() -> None:
    assert marks(sales({}), car(sold="2024-03-19")) == ["bought"]


def test_what_the_ledger_states_of_the_car_counts_before_a_list() -> None:
    book = with_own_sales(sales({}), [car(model="GT 2", year=1969)])
    own = book.table.iloc[1]
    assert (own["model"], own["year"], own["body"]) == ("GT 2", 1969, "coupe")


def test_a_car_no_list_knows_stands_by_itself() -> None:
    book = with_own_sales(sales({"chassis": "TR4-9999-K"}), [car(model="GT", year=1968)])
    own = book.table.iloc[1]
    assert (own["model"], own["year"], own["body"]) == ("GT", 1968, None)
