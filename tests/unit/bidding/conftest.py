"""Deals that several tests of bidding use."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from valuation.bidding.costs import Costs, Increment, WayOfBuying
from valuation.bidding.deal import Deal
from valuation.bidding.spread import Spread

Points = list[tuple[str, Fraction]]


@pytest.fixture
def deal_of() -> Callable[..., Deal]:
    """Return a function that makes a deal from a way of buying, stated points and settings."""

    def make(way: dict[str, Any], points: Points, **settings: Any) -> Deal:
        bought = WayOfBuying(**{"name": "default", "currency": "USD", **way})
        costs = Costs("USD", {"default": bought}, **settings)
        spread = Spread.of_points([(Decimal(amount), share) for amount, share in points])
        return Deal(bought, costs, spread)

    return make


def steps(amount: int) -> tuple[Increment, ...]:
    """Return increments of one size."""
    return (Increment(Decimal(amount)),)
