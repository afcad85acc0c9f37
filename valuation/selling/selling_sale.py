"""The sale a showroom car is valued for: by a dealer, wherever dealers' sales are known.

What a car file says of its sale is where the firm may buy or bought the car.  It is no matter of
the customer's, and an auction's level of prices would be the wrong one to hold an asking price
against.
"""

from __future__ import annotations

from valuation.appraisal.market import MarketModel
from valuation.errors import SettingsError
from valuation.features.columns import key
from valuation.records import Car

__all__ = ["DEALER", "customers_sale"]

DEALER = "dealer"
"""Channel in which the firm sells."""


def customers_sale(market: MarketModel, car: Car, channel: str = "") -> dict[str, str]:
    """Return the sale that a customer's car is valued for.

    Parameters
    ----------
    market : MarketModel
        Fitted; its sales say which channels there are.
    car : Car
        The car.  Of the sale that it states only the region is taken, and that only where its
        channel is the very one it is valued for.
    channel : str, optional
        A channel of the evidence; if empty ``dealer`` where the evidence has such sales, else the
        channel of the usual sale.

    Returns
    -------
    dict of str to str
        Every sale factor, complete.

    Raises
    ------
    SettingsError
        If no sale of the evidence has the channel that was asked for.
    """
    known = {key(c): str(c) for c in market.frame["channel"].dropna().unique()}
    if channel and key(channel) not in known:
        raise SettingsError(
            "channel",
            "no sale of the evidence was made there",
            got=channel,
            remedy=f"Name one of {', '.join(sorted(known.values()))}" if known else "Leave it out",
        )
    chosen = known.get(key(channel or DEALER), "")
    sale = market.sale_of({"channel": chosen})
    region = car.sale.get("region", "")
    if region and key(car.sale.get("channel", "")) == key(sale["channel"]):
        sale["region"] = region
    return sale
