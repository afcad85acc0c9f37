"""From the resale to the margin of one bid, line by line, and the ladder of bids around it."""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from valuation.bidding.costs import CostLine
from valuation.bidding.deal import Deal
from valuation.bidding.outlay import fee_of, landing_slack
from valuation.bidding.search import broken_limits
from valuation.cents import Cents, from_cents, in_cents
from valuation.results.bid_parts import AccountLine, Rung

__all__ = ["account_of", "ladder_of", "rung_of"]

TENTH = Fraction(1, 10)
"""What hangs on the resale is shown between its tenth and its nine tenths."""

AROUND = 5
"""Bids of the ladder below and above the walk-away bid."""


def rung_of(deal: Deal, bid: int) -> Rung:
    """Return one bid, in cents, with what it leads to, in amounts."""
    r = deal.rung(bid)
    return Rung(
        from_cents(r.bid),
        from_cents(r.outlay),
        from_cents(r.margin),
        from_cents(r.margin_p10),
        from_cents(r.margin_p90),
        float(r.loss),
        broken_limits(deal, bid),
    )


def ladder_of(deal: Deal, bid: int) -> tuple[Rung, ...]:
    """Return the bids around one, rising.

    Where increments are finer than half a per cent of the bid, some are passed over.
    """
    bids = deal.bids
    at = int(np.searchsorted(bids, bid))
    step = int(bids[at] - bids[at - 1]) if at else int(bids[0])
    stride = 1 if 200 * step >= bid else _round_stride(bid / 100 / step)
    places = at + stride * np.arange(-AROUND, AROUND + 1)
    kept = places[(places >= 0) & (places < len(bids))]
    return tuple(rung_of(deal, int(bids[i])) for i in kept)


def _round_stride(wanted: float) -> int:
    """Return the round number (1, 2 or 5 times a power of ten) nearest below a stride.

    Examples
    --------
    >>> [_round_stride(x) for x in (1.7, 4.9, 38.0, 612.0)]
    [1, 2, 20, 500]
    """
    power = 10 ** int(np.floor(np.log10(max(wanted, 1.0))))
    return int(max(m for m in (1, 2, 5) if m * power <= max(wanted, 1.0)) * power)


def account_of(deal: Deal, bid: int) -> tuple[AccountLine, ...]:
    """Return the account of one bid, in cents: its expected amounts add up to the margin.

    Parameters
    ----------
    deal : Deal
        The purchase and its resale.
    bid : int
        In cents of the currency of the purchase.

    Returns
    -------
    tuple of AccountLine
        Resale first, then what is paid out, each below zero.
    """
    lines = [_resale(deal)]
    lines += _purchase(deal, bid)
    lines += _between(deal, bid)
    lines += _selling(deal, bid)
    # What rounding leaves goes into the greatest cost line, so that the column adds up.
    margin = from_cents(int(deal.expected(np.array([bid]))[1][0]))
    off = margin - sum(x.expected for x in lines)
    if off and len(lines) > 1:
        i = max(range(1, len(lines)), key=lambda k: -lines[k].expected)
        x = lines[i]
        lines[i] = AccountLine(x.what, x.low, x.high, x.expected + off, x.part)
    return tuple(lines)


def _line(what: str, low: int, high: int, mean: Fraction | int, part: str) -> AccountLine:
    """Return a line from amounts in cents."""
    expected = in_cents(Fraction(mean) / 100)
    return AccountLine(what, from_cents(low), from_cents(high), from_cents(expected), part)


def _cost(what: str, low: int, high: int, mean: Fraction | int, part: str) -> list[AccountLine]:
    return [_line(what, -high, -low, -mean, part)] if high or low else []


def _resale(deal: Deal) -> AccountLine:
    r = deal.resale
    low, high = r.quantile(TENTH), r.quantile(1 - TENTH)
    return _line("resale", low, high, r.mean, "resale")


def _purchase(deal: Deal, bid: int) -> list[AccountLine]:
    found = [dict(m.outlay.parts) for m in deal.at_rates(np.array([bid]))]
    # A per cent is taken of the middle of what varies, so that only the amount itself varies.
    slack = {x.what: max(_in_resale(deal, x)) for x in landing_slack(deal.way)}
    out = []
    for what in found[0]:
        amounts = [int(parts[what][0]) for parts in found if what in parts]
        mean, by = Fraction(sum(amounts), len(amounts)), slack.get(what, 0)
        out += _cost(what, min(amounts) - by, max(amounts) + by, mean, "purchase")
    return out


def _in_resale(deal: Deal, line: CostLine) -> list[int]:
    """Return both ends of a line at every exchange rate, in cents of the resale's currency."""
    own = (line.currency or deal.way.currency) == deal.costs.currency
    rates = (Fraction(1),) if own else deal.rates
    return [in_cents(Fraction(x) * r) for x in (line.low, line.high) for r in rates]


def _between(deal: Deal, bid: int) -> list[AccountLine]:
    """Return work, the lines of the way of buying, a cure, and holding."""
    out = []
    for line in deal.cost_lines:
        ends = _in_resale(deal, line)
        # Both ends at every rate, all rates alike likely: their mean is the mean of all.
        out += _cost(line.what, min(ends), max(ends), Fraction(sum(ends), len(ends)), "work")
    if deal.cure.mean:
        low, high = int(deal.cure.values[0]), int(deal.cure.values[-1])
        out += _cost("cure of the title", low, high, deal.cure.mean, "work")
    held = np.concatenate([m.holding[0] for m in deal.at_rates(np.array([bid]))])
    mean = Fraction(int(held.sum()), len(held))
    low, high = int(held.min()), int(held.max())
    return out + _cost("finance, insurance, storage", low, high, mean, "holding")


def _selling(deal: Deal, bid: int) -> list[AccountLine]:
    s, price = deal.costs.selling, deal.resale.values
    named = [
        ("commission", fee_of(s.commission, price)),
        ("card fee", fee_of(s.card_fee, price)),
        ("warranty reserve", fee_of(s.warranty, price)),
    ]
    if s.tax.on == "price":
        named.append(("tax on the resale", deal.tax_within(price)))
    if s.tax.on == "margin":
        taxes = [deal.sale_tax(price, m.outlay.paid[0]) for m in deal.at_rates(np.array([bid]))]
        mean = sum((deal.mean_of(t) for t in taxes), Fraction(0)) / len(taxes)
        low = min(_at(deal, t, TENTH) for t in taxes)
        high = max(_at(deal, t, 1 - TENTH) for t in taxes)
        return _fees(deal, named) + _cost("tax on the margin", low, high, mean, "selling")
    return _fees(deal, named)


def _fees(deal: Deal, named: list[tuple[str, Cents]]) -> list[AccountLine]:
    out = []
    for what, amounts in named:
        mean = deal.mean_of(amounts)
        low, high = _at(deal, amounts, TENTH), _at(deal, amounts, 1 - TENTH)
        out += _cost(what, low, high, mean, "selling")
    return out


def _at(deal: Deal, of_points: Cents, share: Fraction) -> int:
    """Return an amount that grows with the resale where the resale stands at a quantile."""
    place = int(np.searchsorted(deal.resale.values, deal.resale.quantile(share)))
    return int(of_points[place])
