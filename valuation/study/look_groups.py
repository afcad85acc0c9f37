"""Sources whose sales are off by a common factor: another basis, another currency."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.features.encoders import Crossed, Encoder
from valuation.results.look import LookPattern
from valuation.study.group_shift import group_shift
from valuation.study.leave_out import FittedSales
from valuation.study.look_settings import LookSettings

__all__ = ["off_words", "source_names", "sources_off"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_LEAST_BETWEEN = 0.02
"""Least standard deviation, in log price, of what honest sources differ by."""

_MOST_PATTERNS = 12


@dataclass(frozen=True)
class _Group:
    """Sales of one source; empty where it is of all venues or all sources."""

    venue: str
    source: str
    rows: Ints

    @property
    def kind(self) -> tuple[bool, bool]:
        return bool(self.venue), bool(self.source)


@dataclass(frozen=True)
class _Off:
    group: _Group
    middle: float
    error: float
    surely: float


def source_names(frame: pd.DataFrame) -> list[str]:
    """Return the batch of each sale, or its file where there are no batches."""
    named = frame["batch"] if "batch" in frame else frame["file"]
    return [v if isinstance(v, str) else "" for v in named]


def sources_off(
    sales: FittedSales, errors: Floats, spread: Floats, settings: LookSettings
) -> list[tuple[LookPattern, Ints]]:
    """Find the sources whose prices are off by a common factor, the surest first.

    What the fit has put down to a venue is put back first: a venue that is off as a whole has
    taught the fit that it is dear.  The surest source is found, its factor taken out, and the
    others are judged anew, so that one wrong file does not make its venues suspect.

    Parameters
    ----------
    sales : FittedSales
        The sales of a market.
    errors, spread : ndarray, shape (n,)
        Log price less what the other sales say, and its usual spread.
    settings : LookSettings
        Limits.

    Returns
    -------
    list of (LookPattern, ndarray of int)
        Each pattern with the positions of its sales.
    """
    groups = list(_groups(sales.data.frame, settings.group))
    left = errors + _put_down_to(sales, {"venue"})
    left = left - float(np.median(left)) if len(left) else left
    spikes = _spikes(sales, groups, errors, spread, settings)
    out = list(spikes)
    for off in spikes:
        groups = [g for g in groups if g.source != off.group.source]
    while groups and len(out) < _MOST_PATTERNS:
        judged = _judged(groups, left, spread)
        sure = [off for off in judged if off.surely >= settings.surely]
        if not sure:
            break
        # Of a venue and its part in one file, the one on which most evidence lies.
        worst = max(sure, key=lambda off: abs(off.middle) / _deviation(spread, off.group))
        out.append(worst)
        left = left.copy()
        left[worst.group.rows] -= worst.middle
        groups = [g for g in groups if g is not worst.group]
    least = float(np.log(settings.basis[0]))
    told = [(off, off.group.rows) for off in out if abs(off.middle) >= least]
    return [(_pattern(_measured(sales, off), settings), rows) for off, rows in told]


def _measured(sales: FittedSales, off: _Off) -> _Off:
    """Return what an indicator of the group says: it undoes what the fit has learned of it.

    What finds a group sees only the part of its factor that the fit has not put down to anything.
    """
    middle, error = group_shift(sales, off.group.rows)
    if np.sign(middle) != np.sign(off.middle) or not abs(middle) > abs(off.middle):
        return off
    return _Off(off.group, middle, error, abs(middle) / error)


def _put_down_to(sales: FittedSales, what: set[str]) -> Floats:
    """Return what the fit has put down to some columns of the table, shape (n,)."""
    spec, coef = sales.market.fitted.spec, sales.market.fitted.coef
    columns = np.zeros(spec.n_columns, dtype=bool)
    for term, start, stop in zip(spec.terms, spec.starts[:-1], spec.starts[1:], strict=True):
        columns[start:stop] = not what.isdisjoint(_read(term.encoder))
    return np.asarray(sales.design.X @ (coef * columns), dtype=np.float64)


def _spikes(
    sales: FittedSales,
    groups: list[_Group],
    errors: Floats,
    spread: Floats,
    settings: LookSettings,
) -> list[_Off]:
    """Find sources, one after the other in time, whose level stands out from both neighbours.

    A whole month in another currency teaches the fit that the market rose and fell back.
    """
    whole = [g for g in groups if g.kind == (False, True)]
    if not sales.market.dated or len(whole) < 3:
        return []
    level = errors + _put_down_to(sales, {"day"})
    whole.sort(key=lambda g: float(np.median(sales.data.day[g.rows])))
    middle = np.array([float(np.median(level[g.rows])) for g in whole])
    deviation = np.array([_deviation(spread, g) for g in whole])
    out = []
    for k in range(1, len(whole) - 1):
        gaps = middle[k] - middle[[k - 1, k + 1]]
        error = float(np.sqrt(deviation[k] ** 2 + np.max(deviation[[k - 1, k + 1]]) ** 2))
        least = max(float(np.log(settings.spike)), settings.surely * error)
        if min(gaps) > least or max(gaps) < -least:
            gap = float(gaps[np.argmin(np.abs(gaps))])
            out.append(_Off(whole[k], gap, error, abs(gap) / error))
    return out


def _deviation(spread: Floats, group: _Group) -> float:
    """Return the standard error of the median error of a group."""
    typical = float(np.sqrt(np.mean(spread[group.rows] ** 2)))
    return 1.2533 * typical / float(np.sqrt(len(group.rows)))


def _read(encoder: Encoder) -> set[str]:
    if isinstance(encoder, Crossed):
        return {encoder.by} | _read(encoder.inner)
    return {encoder.source}


def _groups(frame: pd.DataFrame, least: int) -> Iterator[_Group]:
    """Yield each venue, each source, and each venue within a source, with enough sales."""
    venue = np.array([v if isinstance(v, str) else "" for v in frame["venue"]], dtype=object)
    source = np.array(source_names(frame), dtype=object)
    several = len(set(source.tolist())) > 1
    seen: dict[tuple[str, str], list[int]] = {}
    for i, (v, s) in enumerate(zip(venue.tolist(), source.tolist(), strict=True)):
        for name in {(v, ""), ("", s) if several else ("", ""), (v, s) if several else ("", "")}:
            if name != ("", ""):
                seen.setdefault(name, []).append(i)
    for (v, s), rows in sorted(seen.items()):
        if len(rows) >= least:
            yield _Group(v, s, np.array(rows, dtype=np.intp))


def _judged(groups: list[_Group], errors: Floats, spread: Floats) -> list[_Off]:
    """Say of each group how far and how surely it is off, beside the others of its kind."""
    middles = [float(np.median(errors[g.rows])) for g in groups]
    deviations = [_deviation(spread, g) for g in groups]
    out = []
    for g, middle, deviation in zip(groups, middles, deviations, strict=True):
        others = [
            (m, d)
            for h, m, d in zip(groups, middles, deviations, strict=True)
            if h.kind == g.kind and h is not g
        ]
        error = float(np.hypot(deviation, _between(others)))
        out.append(_Off(g, middle, error, abs(middle) / error))
    return out


def _between(others: list[tuple[float, float]]) -> float:
    """Return what honest groups differ by beyond chance: the robust variance less its noise."""
    if len(others) < 3:
        return _LEAST_BETWEEN
    m, d = np.array(others).T
    total = 1.4826 * float(np.median(np.abs(m - np.median(m))))
    return max(float(np.sqrt(max(total**2 - float(np.median(d**2)), 0.0))), _LEAST_BETWEEN)


def _pattern(off: _Off, settings: LookSettings) -> LookPattern:
    size = float(np.exp(abs(off.middle)))
    kind = "wrong basis" if size <= settings.basis[1] else "wrong currency"
    low, high = (float(np.exp(off.middle + k * 1.96 * off.error)) for k in (-1.0, 1.0))
    factor, n = float(np.exp(off.middle)), len(off.group.rows)
    return LookPattern(
        kind,
        _who(off.group),
        off.group.venue,
        off.group.source,
        factor,
        low,
        high,
        n,
        f"its {n:,} sales lie {off_words(off.middle)} what the others say of them "
        f"(95% interval {_span(low, high)}), {_as_if(kind, off.middle)}.",
    )


def off_words(error: float) -> str:
    """Say how far a price is from another, on the log scale.

    Examples
    --------
    >>> off_words(0.1), off_words(-0.1), off_words(2.0)
    ('11% above', '10% below', 'at 7.4 times')
    """
    if abs(error) > np.log(4):
        return f"at {np.exp(error):.2g} times"
    return f"{abs(100 * float(np.expm1(error))):.0f}% {'above' if error > 0 else 'below'}"


def _span(low: float, high: float) -> str:
    if low > 3 or high < 1 / 3:
        return f"a factor of {low:.3g} to {high:.3g}"
    return f"{100 * (low - 1):+.0f} to {100 * (high - 1):+.0f}%"


def _as_if(kind: str, middle: float) -> str:
    if kind == "wrong currency":
        return "as if the amounts were in another currency or unit than stated"
    held = "held" if middle > 0 else "lacked"
    return (
        f"as if the amounts {held} a buyer's premium or a tax, or were in another currency, "
        "against what is stated"
    )


def _who(group: _Group) -> str:
    if group.venue and group.source:
        return f"{group.venue} in {group.source}"
    return group.venue or group.source
