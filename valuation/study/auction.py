"""Invented auctions among bidders of equal skill: what winners expect, and what they make.

Every bidder sees each lot's log value with an error of his own, knows how the values of such lots
lie, and takes the mean of what the value can then be (normal errors and values: a weighted mean of
both).  The luck of the resale is nobody's.  All bid up to their walk-away bid, worked out as for a
real lot; the highest wins and pays the next bid above the walk-away bid of the second, as in an
English auction (Vickrey 1961).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache, cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from valuation.bidding.costs import Costs, WayOfBuying, Winning
from valuation.bidding.deal import Deal
from valuation.bidding.prospect import Prospect
from valuation.bidding.search import bids_above, walk_away
from valuation.bidding.sheet import deal_of, winning_of
from valuation.bidding.spread import Spread
from valuation.bidding.ways import DEFAULT, way_named
from valuation.errors import SettingsError
from valuation.results.replay import AuctionResult, Measured
from valuation.study.replay_rules import binomial_share

__all__ = ["RIVALS", "AuctionSettings", "auctions_among_equals"]

Floats = NDArray[np.float64]

RIVALS = (1, 2, 4, 8)
"""Numbers of rivals that are tried."""

POINTS = 60
"""Points of equal weight at which a bidder keeps what a lot may bring."""

STEP = 0.004
"""Bidders round the log of their estimate to this: like estimates lead to like bids."""


@dataclass(frozen=True)
class AuctionSettings:
    """The invented lots and their bidders.

    Parameters
    ----------
    lots : int
        Lots.
    middle : float
        Median of their true values.
    apart : float
        Standard deviation of the log of their true values.
    own_error : float
        Standard deviation of the error of what a bidder sees, log units.
    luck : float
        Standard deviation of the luck of a resale, log units.
    seed : int
        Seed of everything.
    """

    lots: int = 2000
    middle: float = 40_000.0
    apart: float = 0.4
    own_error: float = 0.10
    luck: float = 0.15
    seed: int = 0

    def __post_init__(self) -> None:
        wrong = [n for n in ("middle", "apart", "own_error", "luck") if not getattr(self, n) > 0]
        if self.lots < 2 or wrong:
            raise SettingsError(
                "auctions among equals",
                "two lots or more and amounts above zero are needed",
                got=", ".join(f"{n} {getattr(self, n):g}" for n in wrong) or f"{self.lots} lots",
                remedy="Raise what is named",
            )

    @property
    def weight(self) -> float:
        """What a bidder's own sight counts against what is known of such lots."""
        return self.apart**2 / (self.apart**2 + self.own_error**2)

    @property
    def misjudgement(self) -> float:
        """Standard deviation of the error of an estimate."""
        return self.own_error * float(np.sqrt(self.weight))

    @property
    def spread(self) -> float:
        """Standard deviation of the log resale around an estimate."""
        return float(np.hypot(self.misjudgement, self.luck))


def auctions_among_equals(
    costs: Costs,
    settings: AuctionSettings | None = None,
    *,
    rivals: Sequence[int] = RIVALS,
    way: str = DEFAULT,
) -> tuple[AuctionResult, ...]:
    """Hold invented auctions in which every bidder follows the same rule.

    All bidders are alike, so that the winner of each lot, whoever it is, stands for the firm.

    Parameters
    ----------
    costs : Costs
        Costs and target of every bidder; what they say of winning is not used: the bidders know
        how many they are and how far they err.
    settings : AuctionSettings, optional
        The lots.
    rivals : sequence of int
        Numbers of rivals, each at least 1.
    way : str
        Way of buying.

    Returns
    -------
    tuple of AuctionResult
        For each number of rivals without and with the correction for winning.

    Raises
    ------
    SettingsError
        If there is no rival, or nobody ever bids.
    CostsError
        If the settings have no such way of buying.
    """
    asked = settings or AuctionSettings()
    if not rivals or min(rivals) < 1:
        raise SettingsError(
            "auctions among equals",
            "at least one rival is needed",
            got=", ".join(map(str, rivals)),
            remedy="Give numbers of rivals from 1 up",
        )
    lots = _Lots(asked, max(rivals) + 1)
    bought = way_named(costs, way)
    return tuple(
        _held(lots, _Bidder(costs, bought, asked, n, corrected))
        for n in rivals
        for corrected in (False, True)
    )


class _Lots:
    """True values, the luck of the resale, and what bidders take each lot for."""

    def __init__(self, asked: AuctionSettings, bidders: int) -> None:
        rng = np.random.default_rng(asked.seed)
        worth = rng.normal(np.log(asked.middle), asked.apart, asked.lots)
        self.resale = worth + rng.normal(0.0, asked.luck, asked.lots)
        seen = worth + rng.normal(0.0, asked.own_error, (bidders, asked.lots))
        middle = np.log(asked.middle)
        estimate = middle + asked.weight * (seen - middle)
        self.steps = np.round(estimate / STEP).astype(int)


@dataclass(frozen=True)
class _Bidder:
    """One rule that all bidders follow."""

    costs: Costs
    way: WayOfBuying
    asked: AuctionSettings
    rivals: int
    corrected: bool

    @cached_property
    def _winning(self) -> Costs:
        own = Decimal(str(round(self.asked.misjudgement / self.asked.spread, 6)))
        said = Winning(self.rivals, own) if self.corrected else Winning()
        return replace(self.costs, winning=said)

    @cached_property
    def _log(self) -> float:
        nothing = Prospect(Spread.certain(0), self.asked.spread)
        return winning_of(self.way, self._winning, nothing).log

    @cached_property
    def _shape(self) -> Floats:
        middles = (np.arange(POINTS) + 0.5) / POINTS
        return np.asarray(self.asked.spread * ndtri(middles))

    def deal(self, step: int) -> Deal:
        """Return the deal of an estimate, in steps of its logarithm."""
        cents = np.floor(100 * np.exp(step * STEP + self._shape) + 0.5).astype(np.int64)
        resale = Spread.weighed(cents, np.ones(POINTS, dtype=np.int64))
        prospect = Prospect(resale, self.asked.spread)
        return deal_of(prospect, self.way, self._winning, log=self._log)


@dataclass(frozen=True)
class _Sold:
    """One lot that was sold: expected and realised margin in cents, predicted risk."""

    expected: int
    realised: int
    loss: float


def _held(lots: _Lots, bidder: _Bidder) -> AuctionResult:
    deal = cache(bidder.deal)
    highest = cache(lambda step: walk_away(deal(step)).bid)
    order = np.sort(lots.steps[: bidder.rivals + 1], axis=0)
    sold = []
    for first, second, brought in zip(order[-1], order[-2], lots.resale, strict=True):
        own, other = highest(int(first)), highest(int(second))
        if own is None:
            continue
        mine = deal(int(first))
        above = int(mine.bids[0]) if other is None else bids_above(mine, other)
        sold.append(_settled(mine, min(own, above), float(brought)))
    if len(sold) < 2:
        raise SettingsError(
            "auctions among equals",
            "nobody bids",
            got=f"{len(sold)} of {len(lots.resale)} lots sold",
            remedy="Lower the target margin, raise the loss limit, or take dearer lots",
        )
    return _result(sold, len(lots.resale), bidder)


def _settled(deal: Deal, paid: int, brought: float) -> _Sold:
    bids = np.array([paid])
    cents = int(np.floor(100 * np.exp(brought) + 0.5))
    realised = replace(deal, resale=Spread.certain(cents)).expected(bids)[1][0]
    return _Sold(int(deal.expected(bids)[1][0]), int(realised), float(deal.loss(bids)[0]))


def _result(sold: Sequence[_Sold], lots: int, bidder: _Bidder) -> AuctionResult:
    expected = np.array([s.expected for s in sold]) / 100
    realised = np.array([s.realised for s in sold]) / 100
    return AuctionResult(
        rivals=bidder.rivals,
        corrected=bidder.corrected,
        lots=lots,
        sold=len(sold),
        expected=_mean(expected),
        realised=_mean(realised),
        difference=_mean(realised - expected),
        predicted_loss=float(np.mean([s.loss for s in sold])),
        realised_loss=binomial_share(int((realised < 0).sum()), len(sold)),
    )


def _mean(x: Floats) -> Measured:
    """Return a mean with its 95 % interval; lots are independent of each other and many."""
    mean, error = float(x.mean()), float(x.std(ddof=1) / np.sqrt(len(x)))
    return Measured(mean, mean - 1.96 * error, mean + 1.96 * error)
