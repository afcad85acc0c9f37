"""Measures of a ratio study against their bands, and whether chance explains what lies beyond."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from valuation.results.ratio_parts import Measure
from valuation.scoring.checks import ScoreUndefinedError
from valuation.scoring.equity import LEAST_OF_VEI, prb, prd_interval
from valuation.scoring.ratio_study import BANDS, RatioStudy
from valuation.scoring.ratios import Interval, cod_interval, median_interval
from valuation.scoring.scatter import ScatterOnly, scatter_only

__all__ = ["Draws", "judged"]

Floats = NDArray[np.float64]

ALPHA = 0.05
"""How often something beyond a band may be called proven by chance, over all strata of a kind."""

_LEVEL = 0.95
"""Level of the intervals that are shown; what is proven lies beyond its band at it at least."""

_COMPARES = frozenset(("prd", "prb", "vei"))
"""Measures of cheap against dear cars, which scatter of the prices alone moves."""


@dataclass(frozen=True, slots=True)
class Draws:
    """How intervals are drawn.

    Parameters
    ----------
    seed : int
        Seed of the draws.
    replications : int
        Redrawn samples of each bootstrap interval.
    """

    seed: int
    replications: int

    def deals(self, sales: int) -> int:
        """Return how often ratios are dealt out to see what scatter alone shows.

        Fewer for many sales, so that a study of many takes no longer than its intervals do.
        """
        return max(100, min(2 * self.replications // 5, 1_000_000 // max(sales, 1)))

    def scatter(self, price: Floats, estimate: Floats) -> ScatterOnly | None:
        """Return what scatter alone shows of sales, None where that is not defined."""
        try:
            return scatter_only(price, estimate, seed=self.seed, deals=self.deals(price.size))
        except ScoreUndefinedError:
            return None


def judged(
    price: Floats,
    estimate: Floats,
    study: RatioStudy,
    *,
    tests: int,
    draws: Draws,
    names: Collection[str] | None = None,
) -> tuple[Measure, ...]:
    """Hold the measures of a set of sales against their bands.

    Parameters
    ----------
    price, estimate : ndarray, shape (n,)
        The sales.
    study : RatioStudy
        Their measures, none trimmed.
    tests : int
        Strata that are looked at together: what is called proven is corrected for them.
    draws : Draws
        How intervals are drawn.
    names : collection of str, optional
        Measures that say something here; all if not given.

    Returns
    -------
    tuple of Measure
        In the order of the bands; undefined ones are left out.

    Notes
    -----
    Beyond a band by more than chance: the interval lies beyond it, at one-sided 5 % over all
    strata (Bonferroni) and at two-sided 5 % for each by itself.  Of the VEI the rule of the
    standard is kept, a gap of more than 10 % between the intervals of two groups.  PRD, PRB and
    VEI have to lie outside what scatter of the prices alone shows as well, and need twenty sales:
    one odd sale among fewer decides them.
    """
    level = max(_LEVEL, 1.0 - 2.0 * ALPHA / tests)
    verdicts, intervals = study.verdicts(), _intervals(study)
    values = {k: v for k, v in _values(study).items() if names is None or k in names}

    def lies_beyond(name: str) -> bool:
        if verdicts[name] == "inside" or name == "vei":
            return verdicts[name] != "inside"
        few = name in _COMPARES and study.sales < LEAST_OF_VEI
        if few or not _lies_beyond(name, intervals.get(name)):
            return False
        wide = _interval(name, price, estimate, level, draws) if level > _LEVEL else None
        return level <= _LEVEL or _lies_beyond(name, wide)

    beyond = {name for name in values if lies_beyond(name)}
    alone = draws.scatter(price, estimate) if beyond & _COMPARES else None
    apart = study.vei.significance if study.vei else None
    return tuple(
        Measure(
            name,
            value,
            intervals.get(name),
            verdicts[name],
            name in beyond and not _explained(name, value, alone),
            apart if name == "vei" else None,
        )
        for name, value in values.items()
    )


def _explained(name: str, value: float, alone: ScatterOnly | None) -> bool:
    """Tell whether scatter of the prices alone would put a value as far off."""
    spread = alone.of(name) if alone else None
    return spread is not None and spread.explains(value, below=value < BANDS[name].lower)


def _values(study: RatioStudy) -> dict[str, float]:
    """Return the defined measures in the order of the bands."""
    values = {
        "median_ratio": study.median_ratio,
        "cod": study.cod,
        "prd": study.prd,
        "prb": study.prb.value if study.prb else None,
        "mki": study.mki,
        "vei": study.vei.value if study.vei else None,
    }
    return {name: value for name, value in values.items() if value is not None}


def _intervals(study: RatioStudy) -> dict[str, Interval | None]:
    return {
        "median_ratio": study.median_interval,
        "cod": study.cod_interval,
        "prd": study.prd_interval,
        "prb": study.prb.interval if study.prb else None,
    }


def _lies_beyond(name: str, interval: Interval | None) -> bool:
    band = BANDS[name]
    return interval is not None and (interval.upper < band.lower or interval.lower > band.upper)


def _interval(
    name: str, price: Floats, estimate: Floats, level: float, draws: Draws
) -> Interval | None:
    """Return the interval of a measure at another level, None where there are too few sales."""
    try:
        if name == "median_ratio":
            return median_interval(price, estimate, level=level)
        if name == "prb":
            return prb(price, estimate, level=level).interval
        drawn = cod_interval if name == "cod" else prd_interval
        return drawn(price, estimate, seed=draws.seed, level=level, replications=draws.replications)
    except ScoreUndefinedError:
        return None
