"""Which way of buying a car takes: that of its venue, its kind of purchase, or the default."""

from __future__ import annotations

from valuation.bidding.costs import Costs, WayOfBuying
from valuation.errors import CostsError
from valuation.records import Car

__all__ = ["DEFAULT", "PRIVATE", "way_for", "way_named"]

DEFAULT = "default"
PRIVATE = "private purchase"


def way_named(costs: Costs, name: str) -> WayOfBuying:
    """Return the way of buying of a name, capitals aside.

    Raises
    ------
    CostsError
        If the settings have none of that name.
    """
    for known, way in costs.ways.items():
        if known.casefold() == name.casefold():
            return way
    raise CostsError(
        costs.where,
        "no such way of buying",
        got=name,
        remedy=f"Name one of: {', '.join(costs.ways)}",
    )


def way_for(costs: Costs, car: Car, venue: str = "") -> WayOfBuying:
    """Return the way of buying that fits a car.

    Parameters
    ----------
    costs : Costs
        The firm's settings.
    car : Car
        Its sale names venue and channel, where they are known.
    venue : str
        Venue of a lot, before that of the car.

    Returns
    -------
    WayOfBuying
        Of the venue; else of the channel; of a private sale ``private purchase``; else the
        default.
    """
    known = {name.casefold(): way for name, way in costs.ways.items()}
    channel = car.sale.get("channel", "")
    wanted = [venue, car.sale.get("venue", ""), channel, PRIVATE if channel == "private" else ""]
    return next((known[w.casefold()] for w in wanted if w.casefold() in known), known[DEFAULT])
