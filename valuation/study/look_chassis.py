"""Two sales of one chassis that can't both be right."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.appraisal.wordings import say
from valuation.importing.repeats import chassis_key
from valuation.schema import BY_NAME
from valuation.study.look_settings import LookSettings

__all__ = ["contradictions", "same_chassis"]

Floats = NDArray[np.float64]

_FIXED = ("model", "body", "engine_layout", "steering_side")
"""Categories that a car keeps, or whose change a listing would tell."""

_NEEDED = ("sale_date", "price", "mileage_status", "year", "engine_size", "mileage")

_FEWEST_PAIRS = 20
"""Fewest pairs of sales that tell how far two sales of one car usually lie apart."""


def same_chassis(frame: pd.DataFrame, *, most: int) -> list[list[int]]:
    """Return the positions of the sales of each chassis that was sold more than once.

    Parameters
    ----------
    frame : pandas.DataFrame
        Sales, oldest first.
    most : int
        A number at more sales than this is no chassis.
    """
    groups: dict[str, list[int]] = {}
    for i, (number, make) in enumerate(zip(frame["chassis"], frame["make"], strict=True)):
        if key := chassis_key(number, make):
            groups.setdefault(key, []).append(i)
    return [rows for rows in groups.values() if 1 < len(rows) <= most]


def contradictions(
    frame: pd.DataFrame, errors: Floats, spread: Floats, settings: LookSettings
) -> dict[int, list[str]]:
    """Return for each sale what another sale of its chassis says against it.

    Parameters
    ----------
    frame : pandas.DataFrame
        Sales, oldest first.
    errors, spread : ndarray, shape (n,)
        Log price less what the other sales say, and its usual spread.
    settings : LookSettings
        Limits.

    Returns
    -------
    dict of int to list of str
        Sentences by position.
    """
    names = [*_NEEDED, *_FIXED, "engine_originality", "genuineness"]
    columns = {name: frame[name].to_numpy() for name in names}
    pairs = [p for rows in same_chassis(frame, most=settings.one_chassis) for p in pairwise(rows)]
    usual = _usual_gap(pairs, errors, spread)
    out: dict[int, list[str]] = {}
    for a, b in pairs:
        before, after = ({n: v[i] for n, v in columns.items()} for i in (a, b))
        said = [*_told(before, after, settings)]
        gap = errors[b] - errors[a]
        scale = usual * float(np.hypot(spread[a], spread[b]))
        said += _apart(before, after, float(gap), scale, settings)
        for i, other in ((a, after), (b, before)):
            if said:
                out.setdefault(i, []).extend(f"{_when(other)}: {s}" for s in said)
    return out


def _usual_gap(pairs: list[tuple[int, int]], errors: Floats, spread: Floats) -> float:
    """Return how far two sales of one car lie apart, over what two different cars would."""
    if len(pairs) < _FEWEST_PAIRS:
        return 1.0
    a, b = np.array(pairs).T
    size = np.abs(errors[b] - errors[a]) / np.hypot(spread[a], spread[b])
    return float(np.clip(1.4826 * np.median(size), 0.3, 1.0))


def _when(cells: Mapping[str, Any]) -> str:
    day = cells["sale_date"]
    when = f" on {day.astype('datetime64[D]')}" if not np.isnat(day) else ""
    return f"The same chassis sold{when}"


def _told(
    before: Mapping[str, Any], after: Mapping[str, Any], settings: LookSettings
) -> Iterator[str]:
    """Yield what two sales of one chassis tell differently, the earlier first."""
    if abs(before["year"] - after["year"]) > settings.years:
        yield _two("year", before, after)
    sizes = before["engine_size"], after["engine_size"]
    if abs(np.log(sizes[0] / sizes[1])) > settings.sizes:
        yield _two("engine_size", before, after)
    for name in _FIXED:
        if _words_differ(before[name], after[name]):
            yield _two(name, before, after)
    for name in ("engine_originality", "genuineness"):
        if _rises(name, before[name], after[name]):
            yield f"{_two(name, before, after)}, which no car becomes"
    if after["mileage"] < (1.0 - settings.miles) * before["mileage"]:
        yield f"{_two('mileage', before, after)}, which goes backwards"


def _two(name: str, before: Mapping[str, Any], after: Mapping[str, Any]) -> str:
    label = BY_NAME[name].label.lower()
    return f"{label} first {say(name, before)}, then {say(name, after)}"


def _words_differ(one: object, other: object) -> bool:
    if not (isinstance(one, str) and isinstance(other, str)):
        return False
    return one.casefold().split() != other.casefold().split()


def _rises(name: str, before: object, after: object) -> bool:
    """Tell whether a claim became better with time; levels are listed from the best on."""
    levels = BY_NAME[name].levels
    return before in levels and after in levels and levels.index(after) < levels.index(before)


def _apart(
    before: Mapping[str, Any],
    after: Mapping[str, Any],
    gap: float,
    scale: float,
    settings: LookSettings,
) -> Iterator[str]:
    """Say that two sales within a short time brought prices too far apart."""
    days = (after["sale_date"] - before["sale_date"]) / np.timedelta64(1, "D")
    if not days <= settings.days or abs(gap) <= settings.apart * scale:
        return
    yield (
        f"price first {before['price']:,.0f}, then {after['price']:,.0f} {days:.0f} days later, "
        f"{100 * np.expm1(gap):+.0f}% beyond what the market and the car explain "
        f"({abs(gap) / scale:.1f} times the usual spread of two such sales)"
    )
