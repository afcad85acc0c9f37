"""One purchase and its resale: for any bid the margin as an exact distribution."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.bidding.costs import CostLine, Costs, Holding, Target, WayOfBuying
from valuation.bidding.outlay import (
    Outlay,
    bids_up_to,
    count_bids,
    fee_of,
    landing_slack,
    line_spread,
    outlay_of,
    rates_of,
)
from valuation.bidding.spread import Spread, even_days, weighted_sum
from valuation.cents import Cents, half_up, in_cents
from valuation.errors import CostsError
from valuation.records import Work

__all__ = ["Deal", "Rung"]

AT_ONCE = 4096
"""Up to so many bids have their outlay worked out once and kept."""

FEW = 512
"""Up to so many bids have their means worked out once and kept."""

MOST_BIDS = 2_000_000
"""More bids than that are not tried: no sale moves in such steps."""

YEAR = 365
"""Days of a year, for rates a year and amounts a month."""


@dataclass(frozen=True)
class Rung:
    """What one bid leads to, in cents of the resale's currency.

    Parameters
    ----------
    bid : int
        In cents of the currency of the purchase.
    outlay : int
        Everything paid until the car is ready for sale, in the mean.
    margin : int
        Expected margin.
    margin_p10, margin_p90 : int
        The margin is lower, and higher, once in ten times.
    loss : Fraction
        Probability that the margin is below zero.
    """

    bid: int
    outlay: int
    margin: int
    margin_p10: int
    margin_p90: int
    loss: Fraction


@dataclass(frozen=True)
class _Market:
    """What bids lead to at one exchange rate: fixed outlay, uncertain costs, holding by days."""

    outlay: Outlay
    uncertain: Spread
    holding: Cents

    def take(self, at: NDArray[np.intp]) -> _Market:
        """Return the same for some of the bids."""
        return _Market(self.outlay.take(at), self.uncertain, self.holding[at])


@dataclass(frozen=True)
class Deal:
    """A car to be bought one way and sold another.

    Parameters
    ----------
    way : WayOfBuying
        How it is bought.
    costs : Costs
        The firm's settings.
    resale : Spread
        Resale price of the car after the work, in cents of the resale's currency.
    work : tuple of Work
        Work on this car, besides what every car gets.
    cure_days, cure : int, Spread
        Days and cost of curing the title.
    """

    way: WayOfBuying
    costs: Costs
    resale: Spread
    work: tuple[Work, ...] = ()
    cure_days: int = 0
    cure: Spread = field(default_factory=lambda: Spread.certain(0))

    @property
    def target(self) -> Target:
        """What the purchase has to promise."""
        return self.costs.target

    @cached_property
    def bids(self) -> Cents:
        """Every bid up to the first that costs more than the best resale, in cents."""
        best = int(self.resale.values[-1])
        rate = min(self.rates)
        top = max(best * rate.denominator // rate.numerator, 0)
        if count_bids(self.way.increments, top) > MOST_BIDS:
            raise CostsError(
                self.costs.where,
                f"the increments of {self.way.name} are too fine: more than {MOST_BIDS:,} bids "
                "would have to be tried",
                got=", ".join(f"{x.step:f}" for x in self.way.increments),
                remedy="State the steps in which bids really move",
            )
        return bids_up_to(self.way.increments, top)

    @cached_property
    def net(self) -> Cents:
        """What each resale price leaves after the costs of selling, shape (n_points,)."""
        selling, price = self.costs.selling, self.resale.values
        fees = (selling.commission, selling.card_fee, selling.warranty)
        left = price - sum((fee_of(f, price) for f in fees), np.zeros_like(price))
        if selling.tax.on == "price":
            left = left - self.tax_within(price)
        return np.asarray(left)

    @cached_property
    def _kept(self) -> Fraction:
        """Mean of what the resale leaves after the costs of selling."""
        return self.mean_of(self.net)

    @cached_property
    def aim(self) -> int:
        """Least expected margin, in cents."""
        share = Fraction(self.target.share) * self.resale.mean
        return max(in_cents(self.target.margin), in_cents(share / 100))

    @cached_property
    def rates(self) -> tuple[Fraction, ...]:
        """Exchange rates until payment, all alike likely; one alone where there is none."""
        return rates_of(self.way)

    @cached_property
    def cost_lines(self) -> tuple[CostLine, ...]:
        """Work and the lines of the way of buying, each with its currency."""
        ours = self.costs.currency
        own = [CostLine(w.what, w.low, w.high, w.currency) for w in self.work]
        home = [replace(x, currency=x.currency or ours) for x in (*self.costs.work, *own)]
        there = [replace(x, currency=x.currency or self.way.currency) for x in self.way.lines]
        return (*home, *there)

    @cached_property
    def _uncertain(self) -> tuple[Spread, ...]:
        """Costs that don't follow from the bid, at each exchange rate."""
        own = tuple(CostLine(w.what, w.low, w.high, w.currency) for w in self.work)
        lines = (*self.costs.work, *own)
        return tuple(s.plus(self.cure) for s in _uncertain(lines, self.way, self.costs.currency))

    def at_rates(self, bids: Cents) -> list[_Market]:
        """Return what bids cost at each exchange rate, all rates alike likely."""
        at = self._places(bids, AT_ONCE)
        if at is not None:
            return [m.take(at) for m in self._whole]
        return self._worked_out(bids)

    def _places(self, bids: Cents, most: int) -> NDArray[np.intp] | None:
        """Return where bids stand among all, None if one doesn't or if there are too many."""
        if not 0 < len(self.bids) <= most:
            return None
        at = np.minimum(np.searchsorted(self.bids, bids), len(self.bids) - 1)
        return at if bool((self.bids[at] == bids).all()) else None

    @cached_property
    def _whole(self) -> list[_Market]:
        """What every bid costs: a search asks for some of them again and again."""
        return self._worked_out(self.bids)

    def _worked_out(self, bids: Cents) -> list[_Market]:
        out = []
        for rate, uncertain in zip(self.rates, self._uncertain, strict=True):
            outlay = outlay_of(self.way, bids, rate, self.costs.currency)
            held = self._holding(outlay.total + in_cents(uncertain.mean / 100))
            out.append(_Market(outlay, uncertain, held))
        return out

    @cached_property
    def _days(self) -> tuple[Fraction, ...]:
        return _held(self.costs.holding, self.cure_days)[0]

    def _holding(self, tied: Cents) -> Cents:
        """Return finance, insurance and storage, shape (n_bids, n_days)."""
        _, above, below, storage = _held(self.costs.holding, self.cure_days)
        product = np.multiply.outer(tied, above)
        return np.asarray(half_up(product, below), dtype=np.int64) + storage

    def tax_within(self, amount: Cents) -> Cents:
        """Return the tax that an amount contains."""
        return np.asarray(_part(amount, self._tax_share))

    @cached_property
    def _tax_share(self) -> Fraction:
        percent = self.costs.selling.tax.percent
        return Fraction(percent) / Fraction(100 + percent)

    def sale_tax(self, price: Cents, paid: Cents) -> Cents:
        """Return what a margin scheme takes of the difference."""
        return self.tax_within(np.maximum(price - paid, 0))

    @property
    def taxes_margin(self) -> bool:
        """True if the tax on the resale depends on what the car was bought for."""
        return self.costs.selling.tax.on == "margin"

    def totals(self, bids: Cents) -> Cents:
        """Return what follows from bids alone at the first exchange rate, to find where it falls.

        Only the tiers of a premium on the whole price can make a higher bid cheaper.
        """
        return self.at_rates(bids)[0].outlay.total

    def expected(self, bids: Cents) -> tuple[Cents, Cents]:
        """Return mean outlay and expected margin of bids, in cents.

        Parameters
        ----------
        bids : ndarray of int, shape (n,)
            In cents of the currency of the purchase.

        Returns
        -------
        outlay, margin : ndarray of int, shape (n,)
            Exact means, rounded once.
        """
        at = self._places(bids, FEW)
        if at is None:
            return self._means_of(self.at_rates(bids))
        outlay, margin = self._means
        return outlay[at], margin[at]

    @cached_property
    def _means(self) -> tuple[Cents, Cents]:
        """Mean outlay and expected margin of every bid."""
        return self._means_of(self._whole)

    def _means_of(self, markets: list[_Market]) -> tuple[Cents, Cents]:
        n_days, n_points, n_rates = len(self._days), self.resale.total, len(markets)
        spent = sum((m.uncertain.mean for m in markets), Fraction(0)) / n_rates
        total = np.sum([m.outlay.total for m in markets], axis=0).astype(object)
        held = np.sum([m.holding.sum(1) for m in markets], axis=0).astype(object)
        taxed = np.zeros(len(total), dtype=object)
        if self.taxes_margin:
            for m in markets:
                tax = self.sale_tax(self.resale.values, m.outlay.paid[:, None])
                taxed = taxed + weighted_sum(tax, self.resale.weights)
        # Everything over one denominator: no mean is rounded before the end.
        below = n_days * n_points * n_rates
        less = total * n_days * n_points + held * n_points + taxed * n_days
        outlay = _mean_cents(total * below, spent, n_rates * below)
        return outlay, _mean_cents(-less, self._kept - spent, below)

    def losing(self, bids: Cents) -> tuple[NDArray[np.object_], int]:
        """Return the weight of the outcomes that lose money, for each bid, and that of all."""
        cumulated = np.concatenate([[0], np.cumsum(self.resale.weights)])
        markets = self.at_rates(bids)
        common = math.lcm(*(m.uncertain.total for m in markets))
        lost = np.zeros(len(bids), dtype=object)
        for m in markets:
            fixed = (m.outlay.total[:, None] + m.holding)[:, :, None] + m.uncertain.values
            below = self._first_gain(fixed.reshape(len(bids), -1), m.outlay.paid)
            part = cumulated[below] @ np.tile(m.uncertain.weights, m.holding.shape[1])
            lost = lost + part.astype(object) * (common // m.uncertain.total)
        return lost, self.resale.total * common * len(self._days) * len(markets)

    def loss(self, bids: Cents) -> list[Fraction]:
        """Return the probability that each bid loses money."""
        lost, every = self.losing(bids)
        return [Fraction(x, every) for x in lost]

    def mean_of(self, of_points: Cents) -> Fraction:
        """Return the mean over the points of the resale."""
        total = int(weighted_sum(of_points[None, :], self.resale.weights)[0])
        return Fraction(total, self.resale.total)

    def _first_gain(self, cost: Cents, paid: Cents) -> Cents:
        """Return the position of the least resale point that covers costs, shape of `cost`.

        The margin never falls as the resale rises, so that points can be searched by halving.
        """
        if not self.taxes_margin:
            return np.searchsorted(self.net, cost, side="left")
        left = self.net - self.sale_tax(self.resale.values, paid[:, None])
        found = [np.searchsorted(n, c, side="left") for n, c in zip(left, cost, strict=True)]
        return np.stack(found)

    def margins(self, bid: int) -> Spread:
        """Return the whole distribution of the margin of one bid, in cents."""
        values, weights = [], []
        markets = self.at_rates(np.array([bid]))
        common = math.lcm(*(m.uncertain.total for m in markets))
        for m in markets:
            net = self.net
            if self.taxes_margin:
                net = net - self.sale_tax(self.resale.values, m.outlay.paid[0])
            cost = m.outlay.total[0] + m.holding[0][:, None] + m.uncertain.values
            values.append((net[:, None, None] - cost).ravel())
            of_cost = m.uncertain.weights * (common // m.uncertain.total)
            shape = (len(net), m.holding.shape[1], len(of_cost))
            both = np.multiply.outer(self.resale.weights, of_cost)[:, None, :]
            weights.append(np.broadcast_to(both, shape).ravel())
        return Spread.weighed(np.concatenate(values), np.concatenate(weights))

    def rung(self, bid: int) -> Rung:
        """Return what one bid, in cents, leads to."""
        bids = np.array([bid])
        outlay, margin = self.expected(bids)
        spread = self.margins(bid)
        ends = (spread.quantile(Fraction(1, 10)), spread.quantile(Fraction(9, 10)))
        return Rung(bid, int(outlay[0]), int(margin[0]), *ends, self.loss(bids)[0])


@lru_cache(maxsize=64)
def _held(holding: Holding, more: int) -> tuple[tuple[Fraction, ...], Any, int, Cents]:
    """Return days, share of the outlay that each takes, its denominator, and storage.

    Most lots of a run list share them, so that they are worked out once.
    """
    days = even_days(holding.days_low + more, holding.days_high + more)
    shares = [Fraction(holding.finance + holding.insurance) / 100 * d / YEAR for d in days]
    below = math.lcm(*(s.denominator for s in shares))
    above = [int(s * below) for s in shares]
    small = below < 10**6 and max(above) < 10**6
    storage = [in_cents(Fraction(holding.storage) * 12 * d / YEAR) for d in days]
    exact = np.array(above, dtype=np.int64 if small else object)
    return days, exact, below, np.array(storage, dtype=np.int64)


@lru_cache(maxsize=256)
def _uncertain(lines: tuple[CostLine, ...], way: WayOfBuying, currency: str) -> tuple[Spread, ...]:
    """Return work and the lines of a way of buying at each exchange rate.

    Most lots of a run list share them, so that they are worked out once.
    """
    home = line_spread(lines, None, currency, Fraction(1))
    there = (*way.lines, *landing_slack(way))
    return tuple(home.plus(line_spread(there, way, currency, r)) for r in rates_of(way))


def _mean_cents(above: NDArray[np.object_], plus: Fraction, below: int) -> Cents:
    """Return ``above / below + plus`` rounded half up, for whole numbers of any size."""
    whole = above * plus.denominator + plus.numerator * below
    under = below * plus.denominator
    if len(whole) and max(map(abs, whole)) < 2**61 and under < 2**61:
        return np.asarray(half_up(whole.astype(np.int64), under), dtype=np.int64)
    return np.array([half_up(int(x), under) for x in whole], dtype=np.int64)


def _part(amounts: Cents, share: Fraction) -> Cents:
    """Return a share of amounts in cents, rounded half up, for shares of any denominator."""
    above, below = share.numerator, share.denominator
    if above < 10**6 and below < 10**7:
        return np.asarray(half_up(amounts * above, below), dtype=np.int64)
    exact = [half_up(int(a) * above, below) for a in amounts.ravel()]
    return np.array(exact, dtype=np.int64).reshape(amounts.shape)
