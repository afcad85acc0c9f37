"""The level of the market day by day, for each make and model line."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.fitting import Fitted
from valuation.features.calendar import Walk
from valuation.features.encoders import Crossed

__all__ = ["LevelPart", "LevelPath", "MarketLevels"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class LevelPart:
    """One term's part of a level: straight between its days, held before and after them.

    Parameters
    ----------
    of : str
        Whose level: ``market``, ``make`` or ``line``.
    days : ndarray, shape (n,)
        Days since 1970-01-01, ascending.
    levels : ndarray, shape (n,)
        Log level on those days, zero on the last.
    """

    of: str
    days: Floats
    levels: Floats

    def at(self, day: Floats) -> Floats:
        """Return the log level on each day."""
        return np.interp(day, self.days, self.levels)

    def rate(self, until: float, span: float) -> float:
        """Return the change a day over the last `span` days up to a day that the part knows.

        A part that ends sooner is taken up to its own end: what it does not know is no calm.  A
        part that is younger than `span` is taken as a whole.
        """
        end = min(until, float(self.days[-1]))
        start = max(end - span, float(self.days[0]))
        if not end > start:
            return 0.0
        change = self.at(np.array([start, end]))
        return float(change[1] - change[0]) / (end - start)


@dataclass(frozen=True)
class LevelPath:
    """The level of one kind of car: the sum of the parts that move it.

    Parameters
    ----------
    parts : tuple of LevelPart
        The level of all cars, and what the make and the model line add to it.
    """

    parts: tuple[LevelPart, ...]

    @cached_property
    def days(self) -> Floats:
        """Days between which the level is straight, ascending."""
        return np.unique(np.concatenate([np.zeros(0), *(p.days for p in self.parts)]))

    def at(self, day: Floats) -> Floats:
        """Return the log level on each day, relative to the last sale's."""
        return np.asarray(sum((p.at(day) for p in self.parts), np.zeros(len(day))))

    def rate(self, until: float, span: float) -> float:
        """Return the change a day over the last `span` days of each part up to a day."""
        return sum(p.rate(until, span) for p in self.parts)

    def worst_change(self, until: float, span: float) -> tuple[float, float]:
        """Return the lowest change over any `span` days up to a day, and the day it ended on.

        The level is straight between its days, so the lowest change starts or ends on one of
        them.  Above zero it is what it is: a level that never fell.
        """
        first, known = float(self.days[0]), np.minimum(self.days, until)
        ends = np.clip(np.concatenate([known, known + span]), first + span, until)
        change = self.at(ends) - self.at(ends - span)
        at = int(np.argmin(change))
        return float(change[at]), float(ends[at])

    def worst_fall(self, until: float) -> tuple[float, float, float]:
        """Return the largest fall between any two days up to a day, and those two days."""
        days = np.unique(np.minimum(self.days, until))
        level = self.at(days)
        top = np.maximum.accumulate(level)
        end = int(np.argmin(level - top))
        start = int(np.argmax(level[: end + 1]))
        return float(level[end] - level[start]), float(days[start]), float(days[end])


class MarketLevels:
    """The levels of a market by make and model line, each worked out once.

    Only the terms of the market level count: neither the age of a car, nor what the sales of a
    few days share because they are a selection.

    Parameters
    ----------
    fitted : Fitted
        The market.
    """

    def __init__(self, fitted: Fitted) -> None:
        spec = fitted.spec
        self._terms: list[tuple[str, Walk, dict[str, Floats]]] = []
        self._paths: dict[tuple[str, str], LevelPath] = {}
        for term, start, stop in zip(spec.terms, spec.starts[:-1], spec.starts[1:], strict=True):
            encoder, coef = term.encoder, fitted.coef[start:stop]
            if isinstance(encoder, Walk):
                self._terms.append(("market", encoder, {"": coef}))
            elif isinstance(encoder, Crossed) and isinstance(encoder.inner, Walk):
                self._terms.append((encoder.by, encoder.inner, _own_steps(encoder, coef)))

    def of(self, make: str, line: str) -> LevelPath:
        """Return the level of one kind of car.

        Parameters
        ----------
        make, line : str
            As the feature table has them; one never seen has no part of its own.

        Returns
        -------
        LevelPath
            Without parts for an undated market, or one whose level did not move.
        """
        if (make, line) not in self._paths:
            words = {"market": "", "make": make, "line": line}
            self._paths[make, line] = LevelPath(
                tuple(
                    _part(of, walk, steps[words[of]])
                    for of, walk, steps in self._terms
                    if words[of] in steps
                )
            )
        return self._paths[make, line]


def _own_steps(crossed: Crossed, coef: Floats) -> dict[str, Floats]:
    """Return the steps of each level of the factor, zero where it has no column."""
    k = len(crossed.inner.labels)
    pairs = np.array(crossed.pairs, dtype=np.intp)
    steps: dict[str, Floats] = {}
    for group, column, step in zip(pairs // k, pairs % k, coef, strict=True):
        steps.setdefault(crossed.groups[group], np.zeros(k))[column] = step
    return steps


def _part(of: str, walk: Walk, steps: Floats) -> LevelPart:
    climbed = np.concatenate([[0.0], np.cumsum(steps)])
    return LevelPart(of, np.array(walk.nodes), climbed - climbed[-1])
