"""What each rule of bidding would have won, counted over lots that were bid on again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from valuation.results.replay import KINDS, LossBand, Measured, RuleResult
from valuation.study.replay_bids import BidLot

__all__ = ["BANDS", "Tally", "binomial_share", "share_that_wins"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

BANDS = (0.0, 0.05, 0.15, 0.30, 0.50, 1.0)
"""Ends of the bands of predicted risk."""

DRAWS = 2000
"""How often lots are drawn again for an interval."""

MONTHS = 8
"""Fewest months that are drawn again as a whole; with fewer each lot counts by itself."""

FEWEST = 5
"""Fewest lots of which a mean margin is told."""

ENOUGH = 20
"""Fewest lots from which it is told how much of an apparent bargain was one."""


def binomial_share(hits: int, n: int) -> Measured:
    """Return a share with its exact binomial interval (Clopper and Pearson 1934).

    Examples
    --------
    >>> found = binomial_share(0, 10)
    >>> found.value, found.low, round(found.high, 6)
    (0.0, 0.0, 0.308497)
    """
    low = 0.0 if hits == 0 else float(stats.beta.ppf(0.025, hits, n - hits + 1))
    high = 1.0 if hits == n else float(stats.beta.ppf(0.975, hits + 1, n - hits))
    return Measured(hits / n, low, high)


def share_that_wins(shares: Floats, n: int) -> float:
    """Return the least share of the central estimate that wins at least `n` lots.

    Parameters
    ----------
    shares : ndarray, shape (n_lots,)
        Least share that wins each lot.
    n : int
        Lots to win, from 1 to `n_lots`.

    Examples
    --------
    >>> share_that_wins(np.array([0.8, 0.5, 0.7]), 2)
    0.7
    """
    return float(np.sort(shares)[n - 1])


@dataclass(frozen=True)
class _Rule:
    """A rule with the lots it bids on and wins."""

    kind: str
    level: float | None
    corrected: bool
    matches: float | None
    bids: Flags
    won: Flags
    bid_to_estimate: float | None
    risk_binds: int = 0


class Tally:
    """Tallies what rules win over the same lots.

    Parameters
    ----------
    lots : sequence of BidLot
        Lots that were bid on again, at least one.
    seed : int
        Seed of the intervals.
    """

    def __init__(self, lots: Sequence[BidLot], *, seed: int) -> None:
        self.lots, self.seed = lots, seed
        self.share = np.array([x.share for x in lots])
        self.outlay = np.array([x.outlay for x in lots]) / 100
        self.known = np.array([x.margin is not None for x in lots])
        self.margin = np.array([np.nan if x.margin is None else x.margin / 100 for x in lots])
        resale = [np.nan if x.resale is None else max(x.resale, 1) / 100 for x in lots]
        self.log_resale = np.log(resale)
        self.expected = {
            yes: np.array([x.expected[yes].margin for x in lots]) / 100 for yes in (True, False)
        }
        self.loss = {yes: np.array([x.expected[yes].loss for x in lots]) for yes in (True, False)}
        self.log_expected = {
            yes: np.array([x.expected[yes].log_resale for x in lots]) for yes in (True, False)
        }
        # Logarithms of resale over estimate, price over estimate, resale over price.
        paid = np.log([x.paid / 100 for x in lots])
        self._error = self.log_resale - self.log_expected[False]
        self._gap_to_paid = paid - self.log_expected[False]
        self._brought = self.log_resale - paid
        months = [f"{x.lot.day:%Y-%m}" for x in lots]
        self.by_month = len(set(months)) >= MONTHS
        cluster = np.unique(months, return_inverse=True)[1]
        self.cluster = cluster if self.by_month else np.arange(len(lots))

    @property
    def intervals(self) -> str:
        """What the intervals of margins rest on."""
        what = "whole months, as the lots of a month miss together" if self.by_month else "lots"
        return (
            f"95% intervals of margins: {what} drawn again {DRAWS:,} times; those of shares count "
            "each lot by itself."
        )

    def limit(self, limit: float, *, corrected: bool) -> RuleResult:
        """Return what the walk-away bid with a loss limit wins."""
        rule = (limit, corrected)
        found = [x.found[rule] for x in self.lots]
        bids = np.array([f.bid is not None for f in found])
        to = [f.bid / x.central for f, x in zip(found, self.lots, strict=True) if f.bid is not None]
        held = sum(f.bid is not None and "risk" in f.binds for f in found)
        won = np.array([x.won(rule) for x in self.lots])
        middle = float(np.median(to)) if to else None
        return self._count(_Rule(KINDS[0], limit, corrected, None, bids, won, middle, held))

    def plain(self, share: float, *, matches: float | None = None) -> RuleResult:
        """Return what a plain share of the central estimate wins."""
        bids = np.array([share * x.central >= x.lowest for x in self.lots])
        # Compared as a share, so that the share that was found to win a lot wins it.
        won = bids & (self.share <= share)
        kind = KINDS[1] if matches is None else KINDS[2]
        return self._count(_Rule(kind, share, True, matches, bids, won, share))

    def every(self) -> RuleResult:
        """Return what all lots bring, each at its price."""
        every = np.ones(len(self.lots), dtype=bool)
        took = float(np.median(self.share))
        return self._count(_Rule(KINDS[3], None, False, None, every, every, took))

    def bands(self) -> tuple[LossBand, ...]:
        """Return predicted and realised risk over all lots, each at its price."""
        out = []
        lost, predicted = self.margin < 0, self.loss[False]
        for i, (low, high) in enumerate(pairwise(BANDS)):
            last = i == len(BANDS) - 2
            rows = self.known & (predicted >= low) & ((predicted < high) | last)
            n = int(rows.sum())
            if n:
                mean = float(predicted[rows].mean())
                out.append(LossBand(low, high, n, mean, binomial_share(int(lost[rows].sum()), n)))
        return tuple(out)

    def made_good(self) -> Measured | None:
        """Return how much of an apparent bargain the resales made good, None for a few lots.

        The slope of resale over price paid on estimate over price paid, all logarithms: 1 if a
        lot that looks cheap is cheap, 0 if the price was right and the estimate wrong.
        """
        rows = self.known
        if rows.sum() < ENOUGH:
            return None
        x, y = -self._gap_to_paid[rows], self._brought[rows]
        sums = self._drawn([np.ones(len(x)), x, y, x * x, x * y], rows)
        value, *drawn = _slope(*sums)
        return _measured(value, drawn)

    def own_share(self) -> Measured | None:
        """Return which share of the spread was misjudgement of the firm's own, None for few lots.

        Estimate, price and resale are three sights of one value, and their errors are taken to be
        independent: the variances of their three differences then give the variance of each
        (Grubbs 1948).
        """
        rows = self.known
        if rows.sum() < ENOUGH:
            return None
        differences = (self._error[rows], self._gap_to_paid[rows], self._brought[rows])
        columns = [c for d in differences for c in (d, d * d)]
        sums = self._drawn([np.ones(int(rows.sum())), *columns], rows)
        n = sums[0]
        of_error, of_gap, of_price = (sums[k + 1] / n - (sums[k] / n) ** 2 for k in range(1, 7, 2))
        own = np.maximum((of_error + of_gap - of_price) / 2, 0.0)
        value, *drawn = np.sqrt(own / of_error)
        return _measured(value, drawn)

    def _count(self, rule: _Rule) -> RuleResult:
        won, known = rule.won, rule.won & self.known
        n, of_known = int(won.sum()), int(known.sum())
        expected, loss = self.expected[rule.corrected], self.loss[rule.corrected]
        enough = of_known >= FEWEST
        told = known if enough else won
        margin, outlay = self.margin[known], self.outlay[known]
        surprise = self.log_resale[known] - self.log_expected[rule.corrected][known]
        ones = np.ones(of_known)
        return RuleResult(
            kind=rule.kind,
            level=rule.level,
            corrected=rule.corrected,
            matches=rule.matches,
            seen=len(self.lots),
            bids=int(rule.bids.sum()),
            bid_to_estimate=rule.bid_to_estimate,
            risk_binds=rule.risk_binds,
            won=n,
            share_won=binomial_share(n, len(self.lots)),
            expected_margin=float(expected[won].mean()) if n else None,
            known=of_known,
            expected_of_known=float(expected[known].mean()) if of_known else None,
            realised_margin=self._ratio(margin, ones, known) if enough else None,
            predicted_loss=float(loss[told].mean()) if told.any() else None,
            realised_loss=binomial_share(int((margin < 0).sum()), of_known) if enough else None,
            realised_total=float(margin.sum()),
            outlay_total=float(outlay.sum()),
            return_on_outlay=self._ratio(margin, outlay, known) if enough else None,
            surprise=_in_per_cent(self._ratio(surprise, ones, known)) if enough else None,
        )

    def _ratio(self, above: Floats, below: Floats, rows: Flags) -> Measured:
        """Return a ratio of sums with its interval."""
        sums = self._drawn([above, below], rows)
        value, *drawn = sums[0] / sums[1]
        return _measured(value, drawn)

    def _drawn(self, columns: Sequence[Floats], rows: Flags) -> Floats:
        """Return the sums of columns over some lots: as they are, then of months drawn again."""
        _, member = np.unique(self.cluster[rows], return_inverse=True)
        n = int(member.max()) + 1
        parts = np.array([np.bincount(member, weights=x, minlength=n) for x in columns])
        drawn = np.random.default_rng(self.seed).multinomial(n, np.full(n, 1 / n), DRAWS)
        return np.asarray(parts @ np.vstack([np.ones(n), drawn]).T)


def _measured(value: float, drawn: Sequence[float]) -> Measured:
    """Return a value with the interval that holds 95 % of what was drawn."""
    low, high = np.quantile(drawn, [0.025, 0.975])
    return Measured(float(value), float(low), float(high))


def _in_per_cent(log: Measured) -> Measured:
    """Return log changes as changes in per cent."""
    value, low, high = (float(100 * np.expm1(x)) for x in (log.value, log.low, log.high))
    return Measured(value, low, high)


def _slope(n: Floats, x: Floats, y: Floats, xx: Floats, xy: Floats) -> Floats:
    """Return least-squares slopes from sums."""
    return np.asarray((n * xy - x * y) / (n * xx - x * x))
