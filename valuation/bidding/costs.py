"""The firm's cost settings: what stands between the hammer falling and the money in the bank.

Amounts are exact decimals.  Each belongs to one currency: those of a way of buying to the currency
of the purchase, unless a line names the other one; all others to the currency of the resale.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from valuation.premium import PremiumSlice
from valuation.records import Cure

__all__ = [
    "LANDED_ON",
    "PURCHASE_TAX_ON",
    "SALE_TAX_ON",
    "CostLine",
    "Costs",
    "Fee",
    "Holding",
    "Increment",
    "LandingLine",
    "PurchaseTax",
    "SaleTax",
    "Selling",
    "Target",
    "WayOfBuying",
    "Winning",
]

ZERO = Decimal(0)

PURCHASE_TAX_ON = ("none", "premium", "price and premium")
"""What sales tax or VAT on a purchase is taken of; the surcharge counts as premium."""

SALE_TAX_ON = ("none", "margin", "price")
"""What VAT on the resale is taken of: the margin of the dealer, or the whole price."""

LANDED_ON = ("price", "price and premium", "everything so far")
"""What a duty or an import tax is taken of."""


@dataclass(frozen=True, slots=True)
class CostLine:
    """One cost between a low and a high amount.

    Parameters
    ----------
    what : str
        Name for people.
    low, high : Decimal
        Amounts; equal if it is known.
    currency : str
        ISO 4217 code; empty for the currency of the part of the settings it stands in.
    """

    what: str
    low: Decimal
    high: Decimal
    currency: str = ""


@dataclass(frozen=True, slots=True)
class Fee:
    """A fee: an amount plus a per cent, not under a minimum and not over a cap."""

    percent: Decimal = ZERO
    amount: Decimal = ZERO
    minimum: Decimal | None = None
    cap: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Increment:
    """Bids up to and including `up_to` move by `step`; the last has no end."""

    step: Decimal
    up_to: Decimal | None = None


@dataclass(frozen=True, slots=True)
class PurchaseTax:
    """Sales tax or VAT on a purchase.

    Parameters
    ----------
    percent : Decimal
        Rate.
    on : str
        One of :data:`PURCHASE_TAX_ON`.
    reclaimed : bool
        True if the firm gets it back: it is then no cost.
    """

    percent: Decimal = ZERO
    on: str = "none"
    reclaimed: bool = False


@dataclass(frozen=True, slots=True)
class LandingLine:
    """Freight, duty or import tax, in the order in which they are stated.

    Parameters
    ----------
    what : str
        Name for people.
    low, high : Decimal
        Amount, zero if it is a per cent.
    percent : Decimal
        Per cent of `on`.
    on : str
        One of :data:`LANDED_ON`.
    currency : str
        Currency of the amount; empty for that of the purchase.
    """

    what: str
    low: Decimal = ZERO
    high: Decimal = ZERO
    percent: Decimal = ZERO
    on: str = "everything so far"
    currency: str = ""


@dataclass(frozen=True)
class WayOfBuying:
    """How cars are bought at one venue, or without one: private purchase, part-exchange.

    Parameters
    ----------
    name : str
        Venue or kind of purchase.
    currency : str
        Currency of the bid.
    rate_low, rate_high : Decimal or None
        Units of the resale's currency for one unit of the purchase's until payment; None where
        both are the same.
    increments : tuple of Increment
        Empty where any whole amount can be offered.
    premium : tuple of PremiumSlice
        Buyer's premium, empty for none.
    surcharge : Fee
        Such as for a bid over the internet, on the hammer price.
    tax : PurchaseTax
        On the purchase.
    lines : tuple of CostLine
        Transport, inspection and whatever else each purchase costs.
    landing : tuple of LandingLine
        Freight, duty, import tax.
    """

    name: str
    currency: str
    rate_low: Decimal | None = None
    rate_high: Decimal | None = None
    increments: tuple[Increment, ...] = ()
    premium: tuple[PremiumSlice, ...] = ()
    surcharge: Fee = Fee()
    tax: PurchaseTax = PurchaseTax()
    lines: tuple[CostLine, ...] = ()
    landing: tuple[LandingLine, ...] = ()


@dataclass(frozen=True, slots=True)
class Target:
    """What a purchase has to promise.

    Parameters
    ----------
    margin : Decimal
        Least expected margin.
    share : Decimal
        The same as a share of the expected resale, such as 0.10; the greater of both counts.
    loss_probability : Decimal
        Largest accepted probability of losing money, 0 to 1.
    outlay : Decimal or None
        Most money that may go into one car, None for no limit.
    """

    margin: Decimal = ZERO
    share: Decimal = ZERO
    loss_probability: Decimal = Decimal(1)
    outlay: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Holding:
    """What a car costs while it stands.

    Parameters
    ----------
    days_low, days_high : int
        Days from payment to the money of the resale, work included.
    finance : Decimal
        Stock finance, per cent a year of the outlay.
    insurance : Decimal
        Per cent a year of the outlay.
    storage : Decimal
        Amount a month.
    """

    days_low: int = 0
    days_high: int = 0
    finance: Decimal = ZERO
    insurance: Decimal = ZERO
    storage: Decimal = ZERO


@dataclass(frozen=True, slots=True)
class SaleTax:
    """VAT that the resale price contains: rate in per cent, on one of :data:`SALE_TAX_ON`."""

    percent: Decimal = ZERO
    on: str = "none"


@dataclass(frozen=True, slots=True)
class Selling:
    """How the car is sold again.

    Parameters
    ----------
    channel, venue, basis : str
        The sale for which it is valued; what is empty is taken as usual for the evidence.
    below_asking : Decimal
        Per cent by which customers pay less than asked; counts where the market is one of asking
        prices.
    commission, card_fee, warranty : Fee
        Of the resale price; `warranty` is the reserve for what has to be put right later.
    tax : SaleTax
        On the resale.
    """

    channel: str = ""
    venue: str = ""
    basis: str = ""
    below_asking: Decimal = ZERO
    commission: Fee = Fee()
    card_fee: Fee = Fee()
    warranty: Fee = Fee()
    tax: SaleTax = SaleTax()


@dataclass(frozen=True, slots=True)
class Winning:
    """What winning itself says: one wins the lots one overrates.

    Parameters
    ----------
    rivals : int
        Serious rivals of equal skill, besides the firm; 0 if there is nobody to overbid.
    own_share : Decimal
        Share of the spread of the range that is the firm's own misjudgement, which the rivals
        don't have in common with it; the rest is the luck of the resale, which all of them share.
    percent : Decimal or None
        A stated correction in per cent instead; None to work it out.
    record : tuple of (Decimal, Decimal)
        The firm's own purchases at auctions: the central estimate of the resale at the bid, before
        this correction, and what it brought.  Where there are any they count before the assumption.
    """

    rivals: int = 0
    own_share: Decimal = ZERO
    percent: Decimal | None = None
    record: tuple[tuple[Decimal, Decimal], ...] = ()


@dataclass(frozen=True)
class Costs:
    """All cost settings of a firm.

    Parameters
    ----------
    currency : str
        Currency of the resale, and of every amount outside the ways of buying.
    ways : mapping of str to WayOfBuying
        By name; ``default`` is taken where a venue has none of its own.
    target, holding, selling, winning : Target, Holding, Selling, Winning
        See there.
    work : tuple of CostLine
        Reconditioning that every car gets.
    cures : mapping of str to Cure
        Days and cost to cure a title, by its status, where the car file says nothing.
    where : str
        Where they come from, for messages.
    """

    currency: str
    ways: Mapping[str, WayOfBuying]
    target: Target = Target()
    holding: Holding = Holding()
    selling: Selling = Selling()
    winning: Winning = Winning()
    work: tuple[CostLine, ...] = ()
    cures: Mapping[str, Cure] = field(default_factory=dict)
    where: str = "costs"
