"""Markets fitted anew with the price of one sale changed."""

from __future__ import annotations

from valuation.appraisal.data import market_data
from valuation.appraisal.fitting import fit_market_data
from valuation.appraisal.market import MarketModel, market_of
from valuation.features.assumptions import default_assumptions
from valuation.records import SalesBook

__all__ = ["fitted_with"]


def fitted_with(market: MarketModel, row: int, factor: float) -> MarketModel:
    """Fit a market anew, penalties and calibration kept, with another price of one sale."""
    table = market.frame.copy()
    table.loc[row, "price"] *= factor
    book = SalesBook(table, market.currency, market.dated)
    data = market_data(book, unsold=market.settings.unsold)
    fitted = fit_market_data(
        data,
        settings=market.settings,
        assumptions=default_assumptions(),
        penalties=market.fitted.penalties,
    )
    return market_of(
        data, fitted, market.calibration, market.currency, market.as_of, market.settings
    )
