"""Ratio study of forecasts: estimates against prices, over all sales and stratum by stratum."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.results.ratio_parts import OutlyingSale, StrataKind, Stratum
from valuation.results.ratio_strata import RatioReport
from valuation.scoring.accuracy import accuracy_summary
from valuation.scoring.checks import ScoreUndefinedError
from valuation.scoring.equity import value_proxy
from valuation.scoring.ratio_study import ratio_study
from valuation.scoring.screens import outlier_mask
from valuation.study.coverage import held_ranges
from valuation.study.ranges import LEVELS, bound_columns
from valuation.study.ratio_measures import Draws, judged
from valuation.study.strata import Cut, Group, bands, check_columns, column_cuts, pooled_groups
from valuation.study.tested import days_of, kept_apart, sales_of, tested_frame

__all__ = ["LEAST_SALES", "study_ratios"]

Floats = NDArray[np.float64]

LEAST_SALES = 20
"""Fewest sales of a stratum that stands by itself: the least that can be cut by value."""

SHOWN_OUTLIERS = 10
"""Most outlying sales that are named."""

_WITHIN_BAND = ("median_ratio", "cod")
"""What says something inside one band of value: the other measures compare cheap and dear cars."""

_VALUE = "value"


def study_ratios(
    frame: pd.DataFrame,
    *,
    seed: int,
    currency: str = "",
    least: int = LEAST_SALES,
    by: Sequence[str] = (),
    replications: int = 1000,
    notes: Sequence[str] = (),
) -> RatioReport:
    """Study the ratios of estimates to prices, over all sales and stratum by stratum.

    Parameters
    ----------
    frame : pandas.DataFrame
        One row a tested sale, as :func:`valuation.study.tested.tested_frame` takes it.
    seed : int
        Seed of everything that is drawn.
    currency : str
        Of all amounts, empty if not stated.
    least : int
        Fewest sales of a stratum that stands by itself; thinner ones are pooled in one row.
    by : sequence of str
        Further columns to group by.
    replications : int
        Redrawn samples of each bootstrap interval.
    notes : sequence of str
        Where the estimates come from, in sentences, to stand before all other notes.

    Returns
    -------
    RatioReport
        All sales, all without the outlying ones, and strata by make, era, band of value, channel,
        basis, evidence, month and months ahead, as far as the columns tell.

    Raises
    ------
    ScoreInputError, SettingsError, TooFewSalesError
        As :func:`valuation.study.tested.tested_frame` and
        :func:`valuation.study.strata.check_columns` do.

    Notes
    -----
    Bands of value are those of half the price and half the estimate, never of the price alone.

    References
    ----------
    IAAO (2013). Standard on Ratio Studies; exposure draft (2025).
    """
    check_columns(frame, by)
    draws = Draws(seed, replications)
    whole = tested_frame(frame)
    sales = whole[sales_of(whole)].reset_index(drop=True)
    everything = Group("all sales", (), np.ones(len(sales), dtype=bool))
    outlying = _outlying(sales)
    cuts = _with_values(list(column_cuts(sales, by)), sales, currency, least)
    first, last = days_of(sales)
    return RatioReport(
        currency,
        first,
        last,
        len(whole),
        tuple(kept_apart(whole)),
        _stratum(sales, everything, "", 1, draws),
        _trimmed(sales, outlying, draws),
        _named_outliers(sales[outlying]),
        draws.scatter(*_amounts(sales)),
        tuple(_kind(sales, cut, least, draws) for cut in cuts),
        least,
        seed,
        (*notes, *_notes(sales, cuts, least)),
    )


def _kind(sales: pd.DataFrame, cut: Cut, least: int, draws: Draws) -> StrataKind:
    groups = pooled_groups(cut, least=least)
    strata = (_stratum(sales, group, cut.by, len(groups), draws) for group in groups)
    return StrataKind(cut.by, cut.label, tuple(strata))


def _stratum(
    sales: pd.DataFrame, group: Group, by: str, tests: int, draws: Draws, *, trim: bool = False
) -> Stratum:
    """Measure the sales of a group; `tests` is how many groups its kind has."""
    part = sales[group.rows]
    price, estimate = _amounts(part)
    priced = int(part[bound_columns(LEVELS[0])[0]].notna().sum())
    held = held_ranges(part)
    if not len(price):
        return Stratum(by, group.name, group.pooled, len(part), None, (), None, None, priced, held)
    near = accuracy_summary(price, estimate)
    study = ratio_study(
        price,
        estimate,
        seed=draws.seed,
        trim_outliers=trim,
        replications=draws.replications,
    )
    names = _WITHIN_BAND if by == _VALUE else None
    return Stratum(
        by,
        group.name,
        group.pooled,
        len(part),
        study,
        judged(price, estimate, study, tests=tests, draws=draws, names=names),
        near.within_10_pct,
        near.within_20_pct,
        priced,
        held,
    )


def _amounts(part: pd.DataFrame) -> tuple[Floats, Floats]:
    """Return price and estimate of the sales that have an estimate."""
    known = part[part["central"].notna()]
    return known["price"].to_numpy(dtype=np.float64), known["central"].to_numpy(dtype=np.float64)


def _outlying(sales: pd.DataFrame) -> NDArray[np.bool_]:
    """Mark the sales with outlying ratios."""
    known = sales["central"].notna().to_numpy(dtype=bool)
    mask = np.zeros(len(sales), dtype=bool)
    try:
        mask[known] = outlier_mask(*_amounts(sales))
    except ScoreUndefinedError:
        return mask
    return mask


def _trimmed(sales: pd.DataFrame, outlying: NDArray[np.bool_], draws: Draws) -> Stratum | None:
    if not outlying.any():
        return None
    return _stratum(sales, Group("without outlying sales", (), ~outlying), "", 1, draws)


def _named_outliers(part: pd.DataFrame) -> tuple[OutlyingSale, ...]:
    """Name outlying sales, the furthest from an even ratio first."""
    named = part["sale_id"].fillna("").astype(str) if "sale_id" in part else [""] * len(part)
    price, estimate = _amounts(part)
    found = [
        OutlyingSale(name, float(p), float(e))
        for name, p, e in zip(named, price, estimate, strict=True)
    ]
    return tuple(sorted(found, key=lambda x: (-abs(np.log(x.ratio)), x.sale)))


def _with_values(cuts: list[Cut], sales: pd.DataFrame, currency: str, least: int) -> list[Cut]:
    """Put the bands of value behind the eras."""
    proxy = np.full(len(sales), np.nan)
    known = sales["central"].notna().to_numpy(dtype=bool)
    if known.any():
        proxy[known] = value_proxy(*_amounts(sales))
    value = bands(proxy, by=_VALUE, label="By band of value", currency=currency, least=least)
    at = next((i + 1 for i, cut in enumerate(cuts) if cut.by == "era"), min(1, len(cuts)))
    return [*cuts[:at], *([value] if len(value.order) > 1 else []), *cuts[at:]]


def _notes(sales: pd.DataFrame, cuts: Sequence[Cut], least: int) -> Iterator[str]:
    counted = sales["basis"].value_counts(sort=False).sort_index()
    if set(counted.index) != {"unknown"}:
        said = ", ".join(f"{basis} ({n:,})" for basis, n in counted.items())
        yield f"What the prices are: {said}. Each estimate is one of the basis of its own row."
    unknown = int((sales["outcome"] == "unknown").sum())
    if unknown:
        yield f"Of {unknown:,} rows it is not stated whether they were sold; they count as sales."
    blank = int(sales["central"].isna().sum())
    if blank:
        yield f"{blank:,} sales have no estimate; they count in the share given a range."
    yield f"Groups of fewer than {least} sales are pooled in one row that names them."
    if any(cut.by == _VALUE for cut in cuts):
        yield (
            "Bands of value are those of half the price and half the estimate, brought to one "
            "level: by price alone cheap cars always look overvalued. Inside one band only level "
            "and scatter are measured."
        )
    yield (
        "A group is said to lie beyond a band only if the whole interval does, widened so that "
        "over all groups of a kind one such finding in twenty is chance (Bonferroni), and, where "
        "cheap and dear cars are compared, if it shows more than the scatter of prices alone."
    )
    yield (
        "The bands are those of the standard for valuing property; there is none for cars. They "
        "say where to look and certify nothing."
    )
