"""How uneven fair estimates would look, because prices scatter.

A price that happened to be low stands both under the ratio and in the order of the sales, so
that even estimates that treat cheap and dear cars alike seem to value dear cars low.  How much of
that is in a set of sales can be measured: deal its ratios out again at random.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from valuation.scoring.checks import Floats, ScoreInputError, ScoreUndefinedError
from valuation.scoring.equity import LEAST_OF_VEI, group_count
from valuation.scoring.ratios import price_estimate

__all__ = ["Scatter", "ScatterOnly", "scatter_only"]


@dataclass(frozen=True, slots=True)
class Scatter:
    """A measure over sales whose ratios were dealt out at random.

    Parameters
    ----------
    middle : float
        Its median over the deals.
    lower, upper : float
        Between which 95 % of the deals lie.
    """

    middle: float
    lower: float
    upper: float

    def holds(self, value: float) -> bool:
        """Return whether a measured value is one that scatter alone shows."""
        return self.lower <= value <= self.upper

    def explains(self, value: float, *, below: bool) -> bool:
        """Return whether scatter alone would put a value as far off to its side.

        Parameters
        ----------
        value : float
            What was measured.
        below : bool
            Whether it lies below what is accepted, and not above.
        """
        return value >= self.lower if below else value <= self.upper


@dataclass(frozen=True, slots=True)
class ScatterOnly:
    """What the scatter of prices alone would show of vertical equity.

    Parameters
    ----------
    prd, prb : Scatter
        Price-related differential and bias.
    mki : Scatter
        Modified Kakwani index.
    vei : Scatter or None
        Vertical equity indicator; None below twenty sales.
    deals : int
        How often the ratios were dealt out.
    """

    prd: Scatter
    prb: Scatter
    mki: Scatter
    vei: Scatter | None
    deals: int

    def of(self, measure: str) -> Scatter | None:
        """Return what scatter alone shows of a measure, None if nothing is known of it."""
        known = {"prd": self.prd, "prb": self.prb, "mki": self.mki, "vei": self.vei}
        return known.get(measure)


def scatter_only(
    price: npt.ArrayLike, estimate: npt.ArrayLike, *, seed: int, deals: int = 400
) -> ScatterOnly:
    """Deal the ratios out among the estimates and measure vertical equity each time.

    Estimates that treat cheap and dear cars alike have ratios that don't depend on them: any
    estimate could have met any ratio.  The spread of a measure over such deals is what it shows of
    fair estimates under just this scatter.

    Parameters
    ----------
    price, estimate : array-like, shape (n,)
        Prices and estimates, at least five sales.
    seed : int
        Seed of the deals; the same seed and order of sales give the same answer.
    deals : int, default 400
        How often, at least 100.

    Returns
    -------
    ScatterOnly
        Median and the middle 95 % of each measure.

    Raises
    ------
    ScoreInputError
        If an amount is not positive and finite, lengths differ, or there are too few deals.
    ScoreUndefinedError
        If there are fewer than five sales, or estimates or ratios are all the same.

    Notes
    -----
    A permutation distribution under independence of ratio and estimate: right for forecasts, whose
    error doesn't depend on what was forecast.

    References
    ----------
    McMillen, D. and Singh, R. (2023). Measures of vertical inequality in assessments. Journal
    of Housing Economics 61, 101950.
    """
    where = "scatter alone"
    paid, valued = price_estimate(where, price, estimate, least=5)
    if deals < 100:
        raise ScoreInputError(
            where,
            "percentiles need at least 100 deals",
            got=str(deals),
            remedy="Raise the number of deals",
        )
    ratio = valued / paid
    rising = np.argsort(valued, kind="stable")
    valued, ratio = valued[rising], ratio[rising]
    for name, values in (("estimates", valued), ("ratios", ratio)):
        if float(np.ptp(values)) <= 1e-9 * float(values.max()):
            raise ScoreUndefinedError(
                where,
                f"all {name} are the same",
                got=f"{values[0]:g}",
                remedy="Add sales of other values or leave this out",
            )
    rng = np.random.default_rng(seed)
    dealt = [_deal(valued, rng.permutation(ratio)) for _ in range(deals)]
    prd, prb, mki, vei = zip(*dealt, strict=True)
    large = paid.size >= LEAST_OF_VEI
    return ScatterOnly(
        _spread(prd), _spread(prb), _spread(mki), _spread(vei) if large else None, deals
    )


def _deal(valued: Floats, ratio: Floats) -> tuple[float, float, float, float]:
    """Return PRD, PRB, MKI and VEI of one deal, as their own functions do but unchecked."""
    paid, middle = valued / ratio, float(np.median(ratio))
    prd = float(ratio.mean() / (valued.sum() / paid.sum()))
    proxy = 0.5 * paid + 0.5 * valued / middle
    x = np.log2(proxy)
    x -= x.mean()
    prb = float(x @ ratio / (x @ x)) / middle
    # Estimates come in rising order, so that of equal prices the lower estimate stands first.
    order = np.argsort(paid, kind="stable")
    rank = np.arange(paid.size) - (paid.size - 1) / 2.0
    gini = (rank @ valued[order] / valued.sum()) / (rank @ paid[order] / paid.sum())
    return prd, prb, float(gini), _ends_apart(proxy, ratio) / middle


def _ends_apart(proxy: Floats, ratio: Floats) -> float:
    """Return by how many per cent the median of the dearest group lies above the cheapest's."""
    if ratio.size < LEAST_OF_VEI:
        return math.nan
    part = 1.0 / group_count(ratio.size)
    low, high = np.quantile(proxy, [part, 1.0 - part]) * (1.0 + 1e-9)
    return 100.0 * float(np.median(ratio[proxy > high]) - np.median(ratio[proxy <= low]))


def _spread(values: tuple[float, ...]) -> Scatter:
    found: Floats = np.quantile(np.array(values), [0.5, 0.025, 0.975])
    return Scatter(*(float(x) for x in found))
