"""Walking forward: fit on what was known then, forecast what came, keep the errors."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.data import MarketData
from valuation.appraisal.foreseen import Basis, Foreseen, Origin, foresee_all, start_at
from valuation.appraisal.settings import ModelSettings, Progress
from valuation.features.assumptions import Assumptions
from valuation.models.ranges import DIFFICULTY, PastErrors, Revisions
from valuation.running.kept import Kept
from valuation.running.runner import Runner

__all__ = ["join_errors", "origins", "past_errors", "unseen_chassis"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

LEAST_BEFORE = 60
"""Fewest sales from which the market is forecast."""

FARTHEST = 270.0
"""Most days between two forecasts of a sale that are compared."""

REVISED = 1500
"""About so many earlier forecasts of sales are compared with later ones."""


@dataclass(frozen=True)
class Split:
    """Sales to fit on and sales to forecast; `day` is NaN in an undated list."""

    before: Ints
    after: Ints
    day: float


def unseen_chassis(data: MarketData, before: Ints, after: Ints) -> Ints:
    """Return those of `after` whose chassis is not among `before`."""
    chassis = data.table.factors["chassis"].codes
    seen = np.unique(chassis[before])
    return after[(chassis[after] < 0) | ~np.isin(chassis[after], seen)]


def origins(day: Floats, settings: ModelSettings) -> list[tuple[float, float]]:
    """Return the past stretches (from, to) that are forecast from what was known before them.

    Stretches of ``step_days`` are laid backwards from the last sale over at most the last two
    fifths of the sales; a short file is cut into fortnights.
    """
    last, early = float(np.max(day)) + 1.0, float(np.quantile(day, 0.6, method="lower"))
    span = last - float(np.min(day))
    step = settings.step_days if span > 540 else min(settings.step_days, 14.0)
    count = int(np.clip((last - early) // step, 1, settings.origins))
    edges = [last - step * i for i in range(count, -1, -1)]
    return [
        (a, b)
        for a, b in pairwise(edges)
        if (day < a).sum() >= LEAST_BEFORE and ((day >= a) & (day < b)).any()
    ]


def _splits(data: MarketData, settings: ModelSettings) -> Iterator[Split]:
    if data.dated:
        for a, b in origins(data.day, settings):
            before = np.flatnonzero(data.day < a)
            after = np.flatnonzero((data.day >= a) & (data.day < b))
            yield Split(before, unseen_chassis(data, before, after), a)
        return
    # An undated list has no forward direction: folds, all sales of a chassis on one side.
    chassis = data.table.factors["chassis"].codes
    rng = np.random.default_rng(settings.seed)
    fold = rng.integers(0, 5, len(data))
    known = chassis >= 0
    fold[known] = rng.integers(0, 5, chassis.max(initial=0) + 1)[chassis[known]]
    for k in range(5):
        yield Split(np.flatnonzero(fold != k), np.flatnonzero(fold == k), float("nan"))


def join_errors(parts: list[PastErrors]) -> PastErrors:
    """Join errors of several forecasts."""
    if not parts:
        nothing = np.zeros(0)
        return PastErrors(nothing, nothing, np.zeros((0, len(DIFFICULTY))), nothing)
    return PastErrors(
        np.concatenate([p.error for p in parts]),
        np.concatenate([p.deviation for p in parts]),
        np.concatenate([p.difficulty for p in parts]),
        np.concatenate([p.day for p in parts]),
        Revisions.joined([p.revisions for p in parts]),
    )


class _Panel:
    """A few sales of each stretch, forecast from all dates before it as well as from its start.

    The fits are there; only forecasts are added.
    """

    def __init__(self, data: MarketData, splits: list[Split]) -> None:
        self.day = np.array([s.day for s in splits])
        apart = self.day - self.day[:, None]
        self.pairs = (apart > 0) & (apart <= FARTHEST)
        size = -(-REVISED // max(int(self.pairs.sum()), 1))
        sold = [s.after[~data.bound[s.after]] for s in splits]
        self.rows = [r[np.linspace(0, len(r) - 1, min(size, len(r))).astype(int)] for r in sold]
        self.seen: dict[tuple[int, int], Floats] = {}

    def _stretches(self, i: int) -> Ints:
        """Return the later stretches of which some sales are forecast from the start of one."""
        return np.flatnonzero(self.pairs[i])

    def later(self, i: int) -> Ints:
        """Return the sales of later stretches to be forecast from the start of a stretch."""
        none = np.zeros(0, dtype=np.intp)
        return np.concatenate([none, *(self.rows[j] for j in self._stretches(i))])

    def keep(self, i: int, rows: Ints, later: Ints, seen: Foreseen) -> None:
        """Keep what was forecast from the start of a stretch: its own sales, then later ones."""
        both = np.column_stack([seen.log_price, seen.deviation])
        self.seen[i, i] = both[np.searchsorted(rows, self.rows[i])]
        at = len(rows)
        for j in self._stretches(i):
            self.seen[i, int(j)] = both[at : at + len(self.rows[j])]
            at += len(self.rows[j])

    def revisions(self) -> Revisions:
        """Return how the forecasts of each sale changed up to the start of its own stretch."""
        made = []
        for (i, j), early in self.seen.items():
            if i != j:
                moved, n = self.seen[j, j] - early, len(early)
                days = np.full(n, self.day[j] - self.day[i])
                made.append(Revisions(moved[:, 0], moved[:, 1], days, np.full(n, self.day[j])))
        return Revisions.joined(made)


def past_errors(
    data: MarketData,
    penalties: Mapping[str, float],
    *,
    settings: ModelSettings,
    assumptions: Assumptions,
    run: Runner | None = None,
    kept: Kept | None = None,
    progress: Progress | None = None,
) -> PastErrors:
    """Forecast the recent past from what was known before it.

    Parameters
    ----------
    data : MarketData
        All sales.
    penalties : mapping of str to float
        Penalties of the full fit, kept.
    settings : ModelSettings
        How models are built.
    assumptions : Assumptions
        Effects that are assumed.
    run : Runner, optional
        How the forecasts are run; in this process if not given.
    kept : Kept, optional
        Where finished forecasts are kept, and taken from.
    progress : callable, optional
        Told after each origin.

    Returns
    -------
    PastErrors
        Every error with its difficulty and its day.
    """
    splits = [s for s in _splits(data, settings) if len(s.before) >= LEAST_BEFORE and len(s.after)]
    panel = _Panel(data, splits)
    sold = [s.after[~data.bound[s.after]] for s in splits]
    asked = [np.concatenate([rows, panel.later(i)]) for i, rows in enumerate(sold)]
    starts = [Origin(s.before, rows) for s, rows in zip(splits, asked, strict=True)]
    basis = Basis.of(
        data, penalties, settings=settings, assumptions=assumptions, asks_outside=False
    )
    what, seen = "forecasting the past", []
    if data.dated and starts:
        # Folds of an undated list hold each other's sales: they start afresh.
        basis, first = start_at(basis, starts[0], kept)
        seen = [first]
    seen += foresee_all(
        basis,
        starts[len(seen) :],
        run=run or Runner(),
        kept=kept,
        progress=progress,
        what=what,
        done=len(seen),
    )
    parts = []
    for i, (rows, one) in enumerate(zip(sold, seen, strict=True)):
        panel.keep(i, rows, asked[i][len(rows) :], one)
        parts.append(one.take(np.arange(len(rows))).errors(data, rows))
    return replace(join_errors(parts), revisions=panel.revisions())
