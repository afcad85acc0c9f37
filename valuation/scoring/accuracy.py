"""How close central estimates and ranges came to the prices that were paid."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import asdict, dataclass
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from valuation.scoring.checks import Floats, ScoreInputError, as_positive, as_range, same_length

__all__ = ["AccuracySummary", "accuracy_summary", "by_group"]

K = TypeVar("K", bound=Hashable)
_WHERE = "accuracy summary"


@dataclass(frozen=True, slots=True)
class AccuracySummary:
    """Accuracy over a set of tested cars; None where nothing can be said.

    Parameters
    ----------
    tested : int
        Number of cars.
    median_abs_pct_error : float or None
        Median of |central - price| / price, in per cent.
    within_10_pct, within_20_pct : float or None
        Per cent of cars whose central estimate lies within 10 and 20 % of the price,
        the bound included.
    median_ratio : float or None
        Median of central / price; 1 is unbiased.
    coverage_80 : float or None
        Per cent of the cars given a range whose price lies inside it, bounds included.
    median_width_80_pct : float or None
        Median of (upper - lower) / central over cars given a range, in per cent.
    share_priced : float or None
        Per cent of cars given a range; None if ranges were not tested at all.
    """

    tested: int
    median_abs_pct_error: float | None
    within_10_pct: float | None
    within_20_pct: float | None
    median_ratio: float | None
    coverage_80: float | None
    median_width_80_pct: float | None
    share_priced: float | None

    def to_dict(self) -> dict[str, int | float | None]:
        """Return the fields by name, in their order."""
        return asdict(self)


def accuracy_summary(
    price: npt.ArrayLike,
    central: npt.ArrayLike,
    lower: npt.ArrayLike | None = None,
    upper: npt.ArrayLike | None = None,
) -> AccuracySummary:
    """Summarise how close estimates came to prices.

    Parameters
    ----------
    price, central : array-like, shape (n,)
        Prices paid and central estimates, one currency, above zero.
    lower, upper : array-like, shape (n,), optional
        Bounds of the 80 % ranges; NaN in both where a car got no range.

    Returns
    -------
    AccuracySummary
        None, never NaN, where no car carries the measure.

    Raises
    ------
    ScoreInputError
        If lengths differ, an amount is not positive and finite, only one of the bounds
        is given, or a lower bound exceeds its upper one.

    Examples
    --------
    >>> nan = float("nan")
    >>> s = accuracy_summary([100, 200], [110, 150], [90, nan], [120, nan])
    >>> s.median_abs_pct_error, s.within_10_pct, s.coverage_80, s.share_priced
    (17.5, 50.0, 100.0, 50.0)
    """
    return _summary(*_columns(_WHERE, price, central, lower, upper))


def by_group(
    keys: Iterable[K],
    price: npt.ArrayLike,
    central: npt.ArrayLike,
    lower: npt.ArrayLike | None = None,
    upper: npt.ArrayLike | None = None,
) -> dict[K, AccuracySummary]:
    """Summarise each group of cars by itself.

    Group by what is known before the sale (make, estimate band, month), never by the
    price paid: grouped by price even a perfect method seems to overvalue the cheap and
    undervalue the dear.

    Parameters
    ----------
    keys : iterable, length n
        Group of each car; of one kind, so that they can be sorted.
    price, central, lower, upper : array-like, shape (n,)
        As in :func:`accuracy_summary`.

    Returns
    -------
    dict
        Summary by key, keys in sorted order.

    Raises
    ------
    ScoreInputError
        As in :func:`accuracy_summary`, or if a key is missing or keys can't be sorted.

    Examples
    --------
    >>> groups = by_group(["b", "a", "b"], [100, 100, 100], [90, 100, 110])
    >>> {k: s.tested for k, s in groups.items()}
    {'a': 1, 'b': 2}
    """
    where = "accuracy by group"
    columns = _columns(where, price, central, lower, upper)
    named = _key_list(where, keys)
    same_length(where, {"key": len(named), "price": columns[0].size})
    rows: dict[K, list[int]] = {}
    for i, key in enumerate(named):
        rows.setdefault(key, []).append(i)
    return {key: _summary(*_take(columns, rows[key])) for key in _sorted(where, rows)}


_Columns = tuple[Floats, Floats, Floats | None, Floats | None]


def _columns(
    where: str,
    price: npt.ArrayLike,
    central: npt.ArrayLike,
    lower: npt.ArrayLike | None,
    upper: npt.ArrayLike | None,
) -> _Columns:
    paid = as_positive(where, "price", price)
    middle = as_positive(where, "central estimate", central)
    lengths = {"price": paid.size, "central estimate": middle.size}
    if lower is None and upper is None:
        same_length(where, lengths)
        return paid, middle, None, None
    if lower is None or upper is None:
        raise ScoreInputError(
            where,
            "a range needs both bounds",
            got="only the upper one" if lower is None else "only the lower one",
            remedy="Give lower and upper, or neither",
        )
    low, high = as_range(where, lower, upper)
    same_length(where, {**lengths, "range": low.size})
    return paid, middle, low, high


def _summary(
    price: Floats, central: Floats, lower: Floats | None, upper: Floats | None
) -> AccuracySummary:
    if price.size == 0:
        return AccuracySummary(0, None, None, None, None, None, None, None)
    miss = 100.0 * np.abs(central - price)
    coverage = width = share = None
    if lower is not None and upper is not None:
        ranged = ~np.isnan(lower)
        share = _percent(ranged)
        if ranged.any():
            p, c, lo, hi = price[ranged], central[ranged], lower[ranged], upper[ranged]
            coverage = _percent((lo <= p) & (p <= hi))
            width = float(np.median(100.0 * (hi - lo) / c))
    return AccuracySummary(
        tested=int(price.size),
        median_abs_pct_error=float(np.median(miss / price)),
        # Multiplied out, so that exactly 10 % of a whole price counts as within 10 %.
        within_10_pct=_percent(miss <= 10.0 * price),
        within_20_pct=_percent(miss <= 20.0 * price),
        median_ratio=float(np.median(central / price)),
        coverage_80=coverage,
        median_width_80_pct=width,
        share_priced=share,
    )


def _percent(hits: npt.NDArray[np.bool_]) -> float:
    return 100.0 * int(hits.sum()) / hits.size


def _take(columns: _Columns, rows: list[int]) -> _Columns:
    price, central, lower, upper = columns
    if lower is None or upper is None:
        return price[rows], central[rows], None, None
    return price[rows], central[rows], lower[rows], upper[rows]


def _key_list(where: str, keys: Iterable[K]) -> list[K]:
    named: list[K] = keys.tolist() if isinstance(keys, np.ndarray) else list(keys)
    for i, key in enumerate(named):
        # A missing key is None, or unequal to itself as NaN is.
        if key is None or key != key:
            raise ScoreInputError(
                where,
                "a car has no group",
                got=f"{key} at position {i}",
                remedy="Give missing groups a name such as 'not stated'",
            )
    return named


def _sorted(where: str, keys: Iterable[K]) -> list[K]:
    listed: list[Any] = list(keys)
    try:
        return sorted(listed)
    except TypeError:
        kinds = ", ".join(sorted({type(key).__name__ for key in listed}))
        raise ScoreInputError(
            where,
            "the groups can't be put in order",
            got=f"keys of kind {kinds}",
            remedy="Make all keys text or all keys numbers",
        ) from None
