"""Sales as the market model sees them: features, log prices and what each price is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.appraisal.settings import UnsoldUse
from valuation.errors import TooFewSalesError
from valuation.features.columns import key
from valuation.features.table import (
    FeatureTable,
    family_and_line,
    table_of_book,
    table_of_cars,
)
from valuation.reading.engine import engine_words
from valuation.reading.gearbox import gearbox_words
from valuation.reading.title import title_words
from valuation.records import Car, SalesBook

__all__ = ["MarketData", "cars_table", "make_and_line", "market_data"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class MarketData:
    """Sales ready to be fitted, oldest first.

    Parameters
    ----------
    table : FeatureTable
        Features.
    log_price : ndarray, shape (n,)
        Natural logarithm of the price.
    bound : ndarray of bool, shape (n,)
        True where the price is only a lower bound.
    frame : pandas.DataFrame
        The sales as they were read, same order.
    dated : bool
        False for a list without dates.
    """

    table: FeatureTable
    log_price: Floats
    bound: NDArray[np.bool_]
    frame: pd.DataFrame
    dated: bool

    def __len__(self) -> int:
        return len(self.log_price)

    @property
    def day(self) -> Floats:
        """Day of each sale, NaN in an undated list."""
        return self.table.numbers["day"]

    def take(self, rows: Any) -> MarketData:
        """Return the chosen sales."""
        positions = np.arange(len(self))[rows]
        return MarketData(
            self.table.take(positions),
            self.log_price[positions],
            self.bound[positions],
            self.frame.iloc[positions].reset_index(drop=True),
            self.dated,
        )


def _words(title: str, make: str, model: str, year: float | None, variant: str) -> tuple[str, ...]:
    """Return the words of a title and of a variant, each once."""
    found = title_words(title, make=make or None, model=model or None, year=year)
    return tuple(dict.fromkeys((*found, *key(variant).split())))


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""


def _frame_words(frame: pd.DataFrame) -> dict[str, Sequence[Sequence[str]]]:
    blank: list[Any] = [None] * len(frame)
    columns = {
        name: frame[name].tolist() if name in frame else blank
        for name in (
            "title",
            "make",
            "model",
            "year",
            "variant",
            "engine_text",
            "transmission_text",
        )
    }
    years = [None if y is None or np.isnan(y) else float(y) for y in columns["year"]]
    wording = [
        _words(_text(t), _text(a), _text(m), y, _text(v))
        for t, a, m, y, v in zip(
            columns["title"],
            columns["make"],
            columns["model"],
            years,
            columns["variant"],
            strict=True,
        )
    ]
    return {
        "wording": wording,
        "engine wording": [engine_words(_text(t)) for t in columns["engine_text"]],
        "gearbox wording": [gearbox_words(_text(t)) for t in columns["transmission_text"]],
    }


def market_data(book: SalesBook, *, unsold: UnsoldUse, least: int = 30) -> MarketData:
    """Bring a sales book to the form that models fit.

    Parameters
    ----------
    book : SalesBook
        Sales.
    unsold : {"as bids", "left out", "as bounds"}
        What a highest bid on an unsold car tells.
    least : int
        Fewest sales.

    Returns
    -------
    MarketData
        Sorted by date, then file and row.

    Raises
    ------
    TooFewSalesError
        If fewer than `least` sales are left.
    """
    frame = book.table
    not_sold = (frame["outcome"] == "not sold").to_numpy(dtype=bool)
    if unsold == "left out":
        frame, not_sold = frame[~not_sold], not_sold[~not_sold]
    if len(frame) < least:
        raise TooFewSalesError(
            "the sales",
            f"at least {least} sales are needed to fit a market",
            got=f"{len(frame)}",
            remedy="Add sales, or look at the rows that were set aside",
        )
    order = frame["sale_date"].reset_index(drop=True).argsort(kind="stable").to_numpy()
    frame = frame.iloc[order].reset_index(drop=True)
    sorted_book = SalesBook(frame, book.currency, book.dated)
    table = table_of_book(sorted_book, _frame_words(frame))
    price = np.log(frame["price"].to_numpy(dtype=np.float64))
    bound = not_sold[order] if unsold == "as bounds" else np.zeros(len(frame), dtype=bool)
    return MarketData(table, price, bound, frame, book.dated)


def cars_table(cars: Sequence[Car], day: float) -> FeatureTable:
    """Return the feature table of cars on a day (days since 1970-01-01), one row a car."""
    words = {
        "wording": [_car_words(car) for car in cars],
        "engine wording": [engine_words(car.engine_text) for car in cars],
        "gearbox wording": [gearbox_words(car.transmission_text) for car in cars],
    }
    return table_of_cars(cars, day, words)


def make_and_line(car: Car) -> tuple[str, str]:
    """Return the make and the model line of a car as :func:`cars_table` has them, in less time."""
    stated = dict(car.values)
    make, model, generation = (key(_text(stated.get(n))) for n in ("make", "model", "generation"))
    first = () if model else _car_words(car)[:1]
    return make, family_and_line(make, model, generation, first)[1]


def _car_words(car: Car) -> tuple[str, ...]:
    stated = dict(car.values)
    make, model, variant = (_text(stated.get(n)) for n in ("make", "model", "variant"))
    year = stated.get("year")
    return _words(car.title, make, model, year if isinstance(year, float | int) else None, variant)
