"""From a bid to the money it takes: premium, surcharge, tax, freight and duty, to the cent."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from valuation.bidding.costs import CostLine, Fee, Increment, LandingLine, WayOfBuying
from valuation.bidding.spread import Spread, total_of
from valuation.cents import Cents, half_up, in_cents, share_of
from valuation.premium import premium_cents

__all__ = [
    "Outlay",
    "bids_up_to",
    "count_bids",
    "fee_of",
    "landing_slack",
    "line_spread",
    "outlay_of",
    "rates_of",
]

FINEST = 200_000
"""Without increments so many different amounts are offered at most."""

RATES = 5
"""Points at which an exchange rate between its two ends is kept."""


@dataclass(frozen=True)
class Outlay:
    """What bids cost at one exchange rate, in cents of the resale's currency.

    Parameters
    ----------
    bids : ndarray of int, shape (n,)
        The bids, in cents of the currency of the purchase.
    parts : tuple of (str, ndarray of int)
        Every part that follows from the bid, in order, by its name.
    paid : ndarray of int, shape (n,)
        Price, premium and surcharge, with tax that is not given back: what the car was bought for
        in the eyes of a margin scheme.
    total : ndarray of int, shape (n,)
        Sum of all parts.
    """

    bids: Cents
    parts: tuple[tuple[str, Cents], ...]
    paid: Cents
    total: Cents

    def take(self, at: NDArray[np.intp]) -> Outlay:
        """Return the same for some of the bids."""
        parts = tuple((what, amounts[at]) for what, amounts in self.parts)
        return Outlay(self.bids[at], parts, self.paid[at], self.total[at])


def bids_up_to(increments: Sequence[Increment], top: int) -> Cents:
    """Return every bid that can be made, from the lowest to not more than `top`, in cents.

    Without increments any whole amount can be offered; of amounts beyond :data:`FINEST` units
    those that are round: nobody haggles over the last unit of two million.

    Examples
    --------
    >>> steps = [Increment(Decimal(250), Decimal(1000)), Increment(Decimal(500))]
    >>> (bids_up_to(steps, 220_000) // 100).tolist()
    [250, 500, 750, 1000, 1500, 2000]
    >>> int(np.diff(bids_up_to((), 200_000_000))[0]) // 100
    10
    """
    floor, parts = 0, []
    for step, end in _bands(increments, top):
        parts.append(np.arange(floor + step, end + 1, step, dtype=np.int64))
        floor = end
    return np.concatenate(parts) if parts else np.zeros(0, dtype=np.int64)


def count_bids(increments: Sequence[Increment], top: int) -> int:
    """Return how many bids :func:`bids_up_to` would return."""
    floor, n = 0, 0
    for step, end in _bands(increments, top):
        n += max(end - floor, 0) // step
        floor = end
    return n


def _bands(increments: Sequence[Increment], top: int) -> Iterator[tuple[int, int]]:
    """Yield step and end of each band of increments that begins below `top`, in cents."""
    floor = 0
    for band in increments or (Increment(_round_step(top)),):
        if floor >= top:
            return
        end = top if band.up_to is None else min(top, in_cents(band.up_to))
        yield in_cents(band.step), end
        floor = end


def _round_step(top: int) -> Decimal:
    step = 1
    while top > 100 * FINEST * step:
        step *= 10
    return Decimal(step)


def fee_of(fee: Fee, price: Cents) -> Cents:
    """Return a fee on prices in cents."""
    out = share_of(price, fee.percent / 100) + in_cents(fee.amount)
    if fee.minimum is not None:
        out = np.maximum(out, in_cents(fee.minimum))
    if fee.cap is not None:
        out = np.minimum(out, in_cents(fee.cap))
    return np.asarray(out, dtype=np.int64)


def rates_of(way: WayOfBuying) -> tuple[Fraction, ...]:
    """Return the exchange rates until payment, each as likely as another."""
    if way.rate_low is None or way.rate_high is None:
        return (Fraction(1),)
    low, high = Fraction(way.rate_low), Fraction(way.rate_high)
    if low == high:
        return (low,)
    return tuple(low + (high - low) * Fraction(2 * k + 1, 2 * RATES) for k in range(RATES))


def outlay_of(way: WayOfBuying, bids: Cents, rate: Fraction, currency: str) -> Outlay:
    """Return what bids cost at one exchange rate, uncertain lines left out.

    Parameters
    ----------
    way : WayOfBuying
        How the car is bought.
    bids : ndarray of int, shape (n,)
        In cents of the currency of the purchase.
    rate : Fraction
        Units of the resale's currency for one of the purchase's.
    currency : str
        Currency of the resale.
    """
    premium = premium_cents(bids, way.premium)
    surcharge = fee_of(way.surcharge, bids)
    base = premium + surcharge + (bids if way.tax.on == "price and premium" else 0)
    taxed = way.tax.on != "none" and not way.tax.reclaimed
    tax = share_of(base, way.tax.percent / 100) if taxed else np.zeros_like(bids)
    home = [("price", bids), ("buyer's premium", premium), ("surcharge", surcharge), ("tax", tax)]
    parts = [(what, _at(amount, rate)) for what, amount in home]
    paid = sum((amount for _, amount in parts), np.zeros_like(bids))
    so_far = paid
    for line in way.landing:
        amount = _landed(line, way, currency, rate, parts, so_far)
        parts.append((line.what, amount))
        so_far = so_far + amount
    kept = [(w, a) for w, a in parts if w == "price" or a.any()]
    return Outlay(bids, tuple(kept), paid, so_far)


def _at(amount: Cents, rate: Fraction) -> Cents:
    if rate == 1:
        return amount
    above, below = rate.numerator, rate.denominator
    # Whole numbers of any size: a rate with many decimals would leave 64 bits.
    exact = [half_up(int(a) * above, below) for a in amount]
    return np.array(exact, dtype=np.int64)


def _landed(
    line: LandingLine,
    way: WayOfBuying,
    currency: str,
    rate: Fraction,
    parts: Sequence[tuple[str, Cents]],
    so_far: Cents,
) -> Cents:
    """Return freight, duty or tax; what varies is taken at its middle, as a per cent of it is."""
    price = parts[0][1]
    bases = {
        "price": price,
        "price and premium": price + parts[1][1] + parts[2][1],
        "everything so far": so_far,
    }
    middle = (line.low + line.high) / 2
    own = (line.currency or way.currency) == currency
    fixed = in_cents(Fraction(middle) * (1 if own else rate))
    return np.asarray(share_of(bases[line.on], line.percent / 100) + fixed, dtype=np.int64)


def line_spread(
    lines: Sequence[CostLine], way: WayOfBuying | None, currency: str, rate: Fraction
) -> Spread:
    """Return the sum of cost lines as a spread in the resale's currency.

    Parameters
    ----------
    lines : sequence of CostLine
        Each even between its ends, independent of the others.
    way : WayOfBuying or None
        Gives the currency of lines that name none; None if that is the resale's.
    currency : str
        Currency of the resale.
    rate : Fraction
        Units of it for one of the purchase's.
    """
    parts = []
    for line in lines:
        own = line.currency or (way.currency if way else currency)
        spread = Spread.even(in_cents(line.low), in_cents(line.high))
        parts.append(spread if own == currency else spread.times(rate))
    return total_of(parts)


def landing_slack(way: WayOfBuying) -> tuple[CostLine, ...]:
    """Return how far freight may lie from its middle, as lines around zero."""
    out = []
    for line in way.landing:
        half = (line.high - line.low) / 2
        if half:
            out.append(CostLine(line.what, -half, half, line.currency))
    return tuple(out)
