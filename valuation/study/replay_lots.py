"""Past auction lots that can be bid on again: which they are, their cars, their hammer prices."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

import numpy as np

from valuation.bidding.costs import Costs, WayOfBuying
from valuation.bidding.ways import way_for
from valuation.cents import in_cents
from valuation.features.table import SALE_FACTORS
from valuation.premium import PremiumSlice, premium_cents
from valuation.reading.statements import listing_text, read_statements
from valuation.records import Car, Value
from valuation.schema import ATTRIBUTES

__all__ = ["AUCTIONS", "PastLot", "car_of_sale", "hammer_of", "past_lot"]

AUCTIONS = frozenset({"live auction", "online auction"})
"""Channels in which lots are bid on."""

UNSOLD = "not sold: the reserve lay above the highest bid, by how much is not known"
NOT_KNOWN = "whether they sold is not known"
NO_HAMMER = "the record says no hammer price and nothing that leads to one"
ABROAD = "bought in another currency than the resale's"


@dataclass(frozen=True)
class PastLot:
    """A lot of the past that sold.

    Parameters
    ----------
    sale_id : str
        Of the book.
    day : datetime.date
        Of the sale.
    car : Car
        As it was described.
    way : WayOfBuying
        How it would have been bought.
    hammer : int
        What it was knocked down for, in cents.
    """

    sale_id: str
    day: date
    car: Car
    way: WayOfBuying
    hammer: int


def past_lot(row: Mapping[str, Any], costs: Costs, left_out: Counter[str]) -> PastLot | None:
    """Return the lot of a row of the book, None if it can't be bid on again.

    Parameters
    ----------
    row : mapping
        A sale in an auction.
    costs : Costs
        The firm's settings.
    left_out : Counter
        The reason is counted in it.
    """
    if row["outcome"] != "sold":
        left_out[UNSOLD if row["outcome"] == "not sold" else NOT_KNOWN] += 1
        return None
    car = car_of_sale(row)
    way = way_for(costs, car)
    if way.currency != costs.currency:
        left_out[ABROAD] += 1
        return None
    hammer = hammer_of(float(row["price"]), str(row["basis"]), way.premium)
    if hammer is None:
        left_out[NO_HAMMER] += 1
        return None
    return PastLot(str(row["sale_id"]), row["sale_date"].date(), car, way, hammer)


def car_of_sale(row: Mapping[str, Any]) -> Car:
    """Return the car of a sale as its listing described it, with the sale it was offered in.

    Parameters
    ----------
    row : mapping
        A row of a book of sales.
    """
    values: dict[str, Value] = {}
    for a in ATTRIBUTES:
        value = row[a.name]
        if value is not None and value == value:
            values[a.name] = float(value) if a.kind == "number" else value
    title, description = _word(row, "title"), _word(row, "description")
    text = listing_text(title, description)
    return Car(
        values,
        title=title,
        description=description,
        chassis=_word(row, "chassis"),
        sale={name: row[name] for name in SALE_FACTORS if row[name]},
        engine_text=_word(row, "engine_text"),
        transmission_text=_word(row, "transmission_text"),
        said=read_statements(text) if text else (),
    )


def _word(row: Mapping[str, Any], name: str) -> str:
    value = row.get(name)
    return value if isinstance(value, str) else ""


def hammer_of(price: float, basis: str, premium: Sequence[PremiumSlice]) -> int | None:
    """Return the hammer price behind a recorded price, in cents.

    Parameters
    ----------
    price : float
        As recorded.
    basis : str
        What it is.
    premium : sequence of PremiumSlice
        Buyer's premium of the venue.

    Returns
    -------
    int or None
        None if the basis tells no hammer price, or if no single one, with its premium, makes the
        recorded price to within half a unit: tiers on the whole price leave gaps and overlap.

    Examples
    --------
    >>> tiers = [PremiumSlice(Decimal(15), Decimal(50_000)), PremiumSlice(Decimal(10))]
    >>> hammer_of(90_500.0, "hammer price plus buyer's premium", tiers)
    8000000
    """
    cents = in_cents(price)
    if basis == "hammer price":
        return cents
    if basis != "hammer price plus buyer's premium":
        return None
    ends = [None if t.up_to is None else in_cents(t.up_to) for t in premium] or [None]
    floors = [0, *(e for e in ends if e is not None)]
    spans = zip(floors, ends, strict=False)
    found = {_within(cents, premium, low + 1, cents if top is None else top) for low, top in spans}
    hammers = found - {None}
    return hammers.pop() if len(hammers) == 1 else None


HALF = in_cents(Decimal("0.5"))


def _within(cents: int, premium: Sequence[PremiumSlice], low: int, high: int) -> int | None:
    """Return the hammer price between two ends that makes a price with its premium.

    Within one tier a higher hammer price always makes a higher price, so it is found by halving.
    """

    def made(hammer: int) -> int:
        return hammer + int(premium_cents(np.array([hammer]), premium)[0])

    high = min(high, cents)
    while low < high:
        middle = (low + high) // 2
        if made(middle) < cents:
            low = middle + 1
        else:
            high = middle
    near = [h for h in (low - 1, low) if h > 0 and abs(made(h) - cents) <= HALF]
    return min(near, key=lambda h: abs(made(h) - cents)) if near and low <= high else None
