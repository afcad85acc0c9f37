"""The whole ratio study of a set of sales, with the bands of the standard.

The measures and bands come from mass appraisal of property, which has an open standard;
there is none for cars.  The bands tell where to look; they certify nothing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any, Literal, TypeVar

import numpy.typing as npt

from valuation.scoring import equity, ratios, screens
from valuation.scoring.checks import ScoreUndefinedError
from valuation.scoring.equity import Slope, Vei
from valuation.scoring.ratios import Interval
from valuation.scoring.screens import SalesChasing

__all__ = ["BANDS", "Band", "RatioStudy", "Verdict", "ratio_study"]

T = TypeVar("T")
Verdict = Literal["inside", "outside", "far outside", "suspect"]
"""Where a value lies against its band."""


@dataclass(frozen=True, slots=True)
class Band:
    """The values the standard accepts for one measure.

    Parameters
    ----------
    lower, upper : float
        Accepted values, bounds included.
    outer_lower, outer_upper : float or None
        Beyond these a value is far outside.
    low_is_suspect : bool
        True if a value below the band is too good to be true.
    """

    lower: float
    upper: float
    outer_lower: float | None = None
    outer_upper: float | None = None
    low_is_suspect: bool = False

    def verdict(self, value: float) -> Verdict:
        """Return where `value` lies against the band."""
        if self.lower <= value <= self.upper:
            return "inside"
        if value < self.lower and self.low_is_suspect:
            return "suspect"
        low, high = self.outer_lower, self.outer_upper
        far = (low is not None and value < low) or (high is not None and value > high)
        return "far outside" if far else "outside"


BANDS: dict[str, Band] = {
    "median_ratio": Band(0.90, 1.10),
    "cod": Band(5.0, 15.0, low_is_suspect=True),
    "prd": Band(0.98, 1.03),
    "prb": Band(-0.05, 0.05, -0.10, 0.10),
    "mki": Band(0.95, 1.05, 0.90, 1.10),
    "vei": Band(-10.0, 10.0),
}
"""Bands by measure: IAAO (2013), Standard on Ratio Studies, and exposure draft (2025)."""


@dataclass(frozen=True, slots=True)
class RatioStudy:
    """All measures of one set of sales; None where a measure is not defined.

    Parameters
    ----------
    sales : int
        Number of sales the measures rest on.
    outliers, trimmed : int
        Number of outlying ratios among the sales given, and how many were left out.
    median_ratio : float
        Median of estimate / price.
    median_interval : Interval or None
        Its 95 % interval by ranks.
    mean_ratio, weighted_mean_ratio : float
        Mean of the ratios; sum of estimates over sum of prices.
    cod : float
        Coefficient of dispersion in per cent.
    cod_interval : Interval or None
        Its 95 % bootstrap interval.
    cov : float or None
        Coefficient of variation in per cent.
    prd : float
        Price-related differential.
    prd_interval : Interval or None
        Its 95 % bootstrap interval.
    prb : Slope or None
        Price-related bias.
    mki : float or None
        Modified Kakwani index.
    vei : Vei or None
        Vertical equity indicator.
    chasing : SalesChasing or None
        Check for estimates fitted to the tested sales.
    notes : tuple of str
        Why a measure is None, and what else to know, in sentences.
    """

    sales: int
    outliers: int
    trimmed: int
    median_ratio: float
    median_interval: Interval | None
    mean_ratio: float
    weighted_mean_ratio: float
    cod: float
    cod_interval: Interval | None
    cov: float | None
    prd: float
    prd_interval: Interval | None
    prb: Slope | None
    mki: float | None
    vei: Vei | None
    chasing: SalesChasing | None
    notes: tuple[str, ...]

    def verdicts(self) -> dict[str, Verdict]:
        """Return where each defined measure lies against its band.

        A VEI beyond its band counts as inside while the intervals of the lowest and the
        highest group lie no more than 10 % apart: the difference may be chance.
        """
        values = {
            "median_ratio": self.median_ratio,
            "cod": self.cod,
            "prd": self.prd,
            "prb": self.prb.value if self.prb else None,
            "mki": self.mki,
            "vei": self.vei.value if self.vei else None,
        }
        found = {k: BANDS[k].verdict(v) for k, v in values.items() if v is not None}
        if self.vei and self.vei.significance <= BANDS["vei"].upper:
            found["vei"] = "inside"
        return found

    def to_dict(self) -> dict[str, Any]:
        """Return all fields and the verdicts as plain values."""
        return {**asdict(self), "notes": list(self.notes), "verdicts": self.verdicts()}


def ratio_study(
    price: npt.ArrayLike,
    estimate: npt.ArrayLike,
    *,
    seed: int,
    trim_outliers: bool = False,
    replications: int = 1000,
) -> RatioStudy:
    """Measure level, spread and vertical equity of estimates against prices.

    Parameters
    ----------
    price, estimate : array-like, shape (n,)
        Prices paid and estimates made without knowing them, one currency, above zero.
    seed : int
        Seed of the bootstrap.
    trim_outliers : bool, default False
        Leave out ratios beyond three interquartile ranges; say so wherever the study is
        shown.
    replications : int, default 1000
        Redrawn samples of the bootstrap.

    Returns
    -------
    RatioStudy
        All measures; those that too few sales can't carry are None with a note.

    Raises
    ------
    ScoreInputError
        If there is no sale, an amount is not positive and finite, or lengths differ.

    References
    ----------
    IAAO (2013). Standard on Ratio Studies; exposure draft (2025).

    Examples
    --------
    >>> study = ratio_study([100, 200, 400], [90, 200, 440], seed=1)
    >>> study.median_ratio, study.vei, study.verdicts()["cod"]
    (1.0, None, 'inside')
    """
    paid, valued = ratios.price_estimate("ratio study", price, estimate)
    notes: list[str] = []
    marked = _defined(notes, lambda: screens.outlier_mask(paid, valued))
    outliers = 0 if marked is None else int(marked.sum())
    if outliers and paid.size < 30:
        notes.append(f"Outliers among {paid.size} sales are shaky: quartiles need thirty or more.")
    trimmed = outliers if trim_outliers else 0
    if marked is not None and trimmed:
        paid, valued = paid[~marked], valued[~marked]
        notes.append(f"{trimmed} outlying sales were left out of all measures.")
    return RatioStudy(
        sales=int(paid.size),
        outliers=outliers,
        trimmed=trimmed,
        median_ratio=ratios.median_ratio(paid, valued),
        median_interval=_defined(notes, lambda: ratios.median_interval(paid, valued)),
        mean_ratio=ratios.mean_ratio(paid, valued),
        weighted_mean_ratio=ratios.weighted_mean_ratio(paid, valued),
        cod=ratios.cod(paid, valued),
        cod_interval=_defined(
            notes,
            lambda: ratios.cod_interval(paid, valued, seed=seed, replications=replications),
        ),
        cov=_defined(notes, lambda: ratios.cov(paid, valued)),
        prd=equity.prd(paid, valued),
        prd_interval=_defined(
            notes,
            lambda: equity.prd_interval(paid, valued, seed=seed, replications=replications),
        ),
        prb=_defined(notes, lambda: equity.prb(paid, valued)),
        mki=_defined(notes, lambda: equity.mki(paid, valued)),
        vei=_defined(notes, lambda: equity.vei(paid, valued)),
        chasing=_defined(notes, lambda: screens.sales_chasing(paid, valued)),
        notes=tuple(notes),
    )


def _defined(notes: list[str], measure: Callable[[], T]) -> T | None:
    try:
        return measure()
    except ScoreUndefinedError as error:
        notes.append(error.sentence())
        return None
