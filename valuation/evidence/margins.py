"""Expected and realised margin of a car that was bid on, bought and sold, at the same costs."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from valuation.results.ledger import PARTS, StockCar
from valuation.results.pair import MarginPair
from valuation.results.said import KINDS, Said

__all__ = ["margin_of", "recorded_parts", "was_won"]

_BESIDE = PARTS[1:]
"""Parts of the account beside the purchase."""


def recorded_parts(cars: Sequence[StockCar]) -> tuple[str, ...]:
    """Return the parts of the account, beside the purchase, of which a ledger records any cost.

    A firm that records no storage of any car leaves storage out; one that records it for some
    means none where none stands.
    """
    found = {e.part for car in cars for e in car.of("spent")}
    return tuple(part for part in _BESIDE if part in found)


def margin_of(
    said: Said, car: StockCar | None, parts: Sequence[str]
) -> tuple[MarginPair | None, str]:
    """Return expected and realised margin of a car, or why there is none.

    Parameters
    ----------
    said : Said
        What was said of the bid.
    car : StockCar or None
        The car of the ledger, None if it is none of the firm's.
    parts : sequence of str
        From :func:`recorded_parts`.

    Returns
    -------
    margin : MarginPair or None
        Exact.
    why : str
        Why there is none; empty where nothing was bid on or the car was not bought and sold.
    """
    if said.kind == KINDS[0] or said.bid is None or car is None or not (car.bought and car.sold):
        return None, ""
    if car.bought.on is None or car.bought.on < said.said_on:
        return None, "it was bought before"
    if not said.bid.account or said.bid.mean is None:
        return None, "a run list says no account"
    codes = {code for code, _ in car.costs} | {car.sold.currency}
    if codes != {said.currency}:
        return None, "amounts in several currencies"
    return _margin(said, car, tuple(parts)), ""


def _margin(said: Said, car: StockCar, parts: tuple[str, ...]) -> MarginPair:
    bid, bought, sold = said.bid, car.bought, car.sold
    if bid is None or bid.mean is None or bought is None or sold is None:
        raise ValueError("a margin needs a bid, a purchase and a sale")
    spent = {part: Decimal(0) for part in PARTS}
    for e in car.of("spent"):
        spent[e.part or PARTS[1]] += e.amount or Decimal(0)
    purchase = (bought.amount or Decimal(0)) + spent[PARTS[0]]
    # Lines that cost are below zero in the account.
    expected = sum((amount for part, _, amount in bid.account if part in parts), Decimal(0))
    realised = sum((spent[part] for part in parts), Decimal(0))
    brought = sold.amount or Decimal(0)
    return MarginPair(
        bid.mean - purchase + expected, brought - purchase - realised, purchase, parts
    )


def was_won(said: Said, car: StockCar | None) -> bool:
    """Tell whether a lot was bid on and won: after it was said the firm bought it at an auction."""
    if said.kind == KINDS[0] or car is None or car.bought is None or car.bought.on is None:
        return False
    b = car.bought
    at_auction = "auction" in b.channel or b.party == "auction house" or bool(b.lot)
    return car.bought.on >= said.said_on and (at_auction or (not b.channel and bool(said.car.lot)))
