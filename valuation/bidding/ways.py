"""Which way of buying a car takes: that of its venue, its kind of purchase, or the default."""

from __future__ import annotations

from difflib import get_close_matches

from valuation.bidding.costs import Costs, WayOfBuying
from valuation.errors import CostsError
from valuation.records import Car

__all__ = ["DEFAULT", "PRIVATE", "unknown_venue", "way_for", "way_named"]

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


def unknown_venue(costs: Costs, car: Car, venue: str = "") -> tuple[str, ...]:
    """Say that a venue is named of which the settings know nothing, and what is taken instead.

    Parameters
    ----------
    costs, car, venue
        As for :func:`way_for`.

    Returns
    -------
    tuple of str
        One sentence; empty if no venue is named or the settings have it.
    """
    named = venue or car.sale.get("venue", "")
    known = {name.casefold(): name for name in costs.ways}
    if not named or named.casefold() in known:
        return ()
    near = get_close_matches(named.casefold(), known, n=1)
    hint = f" The nearest name is {known[near[0]]}." if near else ""
    taken = way_for(costs, car, venue).name
    return (f"The cost settings don't know {named}: those of {taken} are taken.{hint}",)
