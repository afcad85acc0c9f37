"""A small invented market as a feature table, and tables made by hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
import pytest

from valuation.features.table import SALE_FACTORS, FeatureTable, table_of_book, table_of_cars
from valuation.records import Car, SalesBook, empty_table
from valuation.schema import ATTRIBUTES
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings


def title_words(title: str | None) -> tuple[str, ...]:
    return tuple(dict.fromkeys((title or "").casefold().split()))


@dataclass(frozen=True)
class SmallMarket:
    """A market with its table."""

    book: SalesBook
    table: FeatureTable
    log_price: np.ndarray

    def car_table(self, i: int) -> FeatureTable:
        """Return the one-row table of a sale, entered as a car by itself."""
        row = self.book.table.iloc[i]
        values = {
            a.name: row[a.name]
            for a in ATTRIBUTES
            if (not np.isnan(row[a.name]) if a.kind == "number" else row[a.name] is not None)
        }
        sale = {f: row[f] for f in SALE_FACTORS if row[f]}
        car = Car(values, chassis=row["chassis"] or "", sale=sale)
        day = float(self.table.numbers["day"][i])
        return table_of_cars([car], day, words_of([row["title"]]))


def words_of(titles: Sequence[str | None]) -> Mapping[str, Any]:
    words = [title_words(t) for t in titles]
    none: list[tuple[str, ...]] = [()] * len(words)
    return {"wording": words, "engine wording": none, "gearbox wording": none}


def small_market(sales: int, seed: int, **options: Any) -> SmallMarket:
    market = make_market(MarketSettings(sales=sales, **options), seed=seed)
    book = market.book()
    table = table_of_book(book, words_of(book.table["title"].tolist()))
    return SmallMarket(book, table, np.log(book.table["price"].to_numpy()))


@pytest.fixture(scope="session")
def market() -> SmallMarket:
    return small_market(500, 7, lines=8)


@pytest.fixture(scope="session")
def make_small_market() -> Callable[..., SmallMarket]:
    return small_market


@pytest.fixture(scope="session")
def by_hand() -> Callable[..., FeatureTable]:
    """Return what makes a table from columns given by name; the rest is not stated."""

    def make(
        n: int,
        *,
        words: Sequence[Sequence[str]] | None = None,
        gearbox: Sequence[Sequence[str]] | None = None,
        **columns: Any,
    ) -> FeatureTable:
        table = empty_table(n)
        for name, values in columns.items():
            table[name] = values
        table["sale_date"] = table["sale_date"].astype("datetime64[s]")
        book = SalesBook(table, "EUR", True, rows=n)
        none: list[tuple[str, ...]] = [()] * n
        wording = {"wording": words or none, "gearbox wording": gearbox or none}
        return table_of_book(book, {**wording, "engine wording": none})

    return make


@pytest.fixture(scope="session")
def day() -> Callable[[int], date]:
    """Return the day so many days after 1970-01-01."""
    return lambda n: date.fromordinal(date(1970, 1, 1).toordinal() + n)
