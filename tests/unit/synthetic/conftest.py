"""One market for all tests of this folder."""

from __future__ import annotations

import pytest

from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.settings import MarketSettings


@pytest.fixture(scope="session")
def market() -> SyntheticMarket:
    return make_market(MarketSettings(sales=6000), seed=11)


@pytest.fixture(scope="session")
def open_market() -> SyntheticMarket:
    """Return a market whose sellers state everything."""
    return make_market(MarketSettings(sales=3000, openness=40), seed=12)
