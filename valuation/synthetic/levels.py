"""Market levels of the segments: random walks with drift, known for every day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from valuation.synthetic.effects import Array
from valuation.synthetic.settings import MarketSettings
from valuation.synthetic.world import SEGMENTS

__all__ = ["MarketLevels", "as_days", "draw_levels"]

_DRIFTS = (-0.03, 0.02, 0.0, -0.04, 0.03, 0.05, 0.01, 0.09)
_MONTHS_BEYOND = 24


@dataclass(frozen=True)
class MarketLevels:
    """Log market level of each segment, zero on the first day of sales.

    Parameters
    ----------
    days : numpy.ndarray of int, shape (n_knots,)
        First days of months, counted from 1970-01-01.
    paths : numpy.ndarray, shape (n_knots, n_segments)
        Level on those days; straight between them, held before the first and after the last.
    shift_day : int, optional
        Day of a jump of all levels.
    shift_size : float
        Size of the jump.
    """

    days: Array
    paths: Array
    shift_day: int | None = None
    shift_size: float = 0.0

    def at(self, segment: Array, day: Array) -> Array:
        """Return the level of each segment code on each day.

        Parameters
        ----------
        segment : numpy.ndarray of int, shape (n,)
            Segment codes.
        day : numpy.ndarray of int, shape (n,)
            Days since 1970-01-01.

        Returns
        -------
        numpy.ndarray, shape (n,)
            Log levels.
        """
        level = np.zeros(len(day))
        for s in range(self.paths.shape[1]):
            rows = segment == s
            level[rows] = np.interp(day[rows], self.days, self.paths[:, s])
        if self.shift_day is not None:
            level += self.shift_size * (day >= self.shift_day)
        return level


def as_days(day: date) -> int:
    """Return the days since 1970-01-01.

    Examples
    --------
    >>> as_days(date(1970, 1, 31))
    30
    """
    return (day - date(1970, 1, 1)).days


def draw_levels(settings: MarketSettings, rng: np.random.Generator) -> MarketLevels:
    """Draw one random walk with its own drift for each segment, to two years past the end.

    Parameters
    ----------
    settings : MarketSettings
        Dates, size of the steps, jump.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    MarketLevels
        The paths.
    """
    months = (settings.end.year - settings.start.year) * 12 + settings.end.month + _MONTHS_BEYOND
    firsts = [
        as_days(
            date(
                settings.start.year + (settings.start.month - 1 + m) // 12,
                (settings.start.month - 1 + m) % 12 + 1,
                1,
            )
        )
        for m in range(months)
    ]
    # Part of each step is common to all segments, as money and mood are.
    common = 0.5 * settings.level_sd * rng.standard_normal((months - 1, 1))
    own = settings.level_sd * rng.standard_normal((months - 1, len(SEGMENTS)))
    steps = np.array(_DRIFTS) / 12 + common + own
    paths = np.vstack([np.zeros((1, len(SEGMENTS))), np.cumsum(steps, axis=0)])
    shift = None if settings.regime_shift is None else as_days(settings.regime_shift)
    return MarketLevels(np.array(firsts), paths, shift, settings.regime_size if shift else 0.0)
