"""How fast an invented firm's cars find buyers: the true chance of a sale a day, and the price."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from valuation.synthetic.effects import Array

__all__ = ["TASTES", "Demand", "Taste", "days_to_sell", "sell_chance"]

_MONTH = 30.4375
_YEAR = 365.25


@dataclass(frozen=True, slots=True)
class Taste:
    """How buyers of one segment behave.

    Parameters
    ----------
    chance_a_month : float
        Chance that a car of middling condition, offered at exactly its value for some weeks
        already, is sold within a month, mean over the seasons.
    elasticity : float
        By how much the log chance a day falls as the log asking price rises, at the value: 10
        halves it for every 7 per cent.
    season : float
        Swing of the log chance a day: up by this in late spring, down by it half a year later.
    """

    chance_a_month: float
    elasticity: float
    season: float

    @property
    def rate(self) -> float:
        """Sales a day of a car offered at its value."""
        return -math.log1p(-self.chance_a_month) / _MONTH


TASTES: Mapping[str, Taste] = {
    "post-war sports": Taste(0.45, 4.0, 0.45),
    "small sports": Taste(0.65, 11.0, 0.70),
    "grand tourers": Taste(0.42, 2.0, 0.25),
    "luxury saloons": Taste(0.32, 1.5, 0.10),
    "big-engine coupes": Taste(0.50, 7.0, 0.40),
    "exotics": Taste(0.32, 1.2, 0.20),
    "everyday classics": Taste(0.80, 16.0, 0.35),
    "modern classics": Taste(0.75, 14.0, 0.20),
}
"""Buyers of each segment: some wait for the right car at almost any price, some compare prices."""


@dataclass(frozen=True)
class Demand:
    """The true chance of a sale on each day, and what is then paid.

    Parameters
    ----------
    tastes : mapping of str to Taste
        Buyers of each segment.
    peak : float
        Day of the year on which most cars are sold.
    far : float
        What lies above the value is passed over besides: this times the square of the log asking
        price over the log value comes off the log chance a day.
    per_point : float
        What a point of the condition grade over 60 adds to the log chance a day.
    steps : tuple of (int, float)
        From so many days on sale on, what is added to the log chance a day: a new car is looked
        at, one that has stood long is passed over.
    eager_sd : float
        Standard deviation over cars of what nobody can see in the log chance a day.
    haggle, haggle_share, haggle_sd, haggle_cap : float
        A buyer beats the asking price down by a share of it: `haggle`, plus `haggle_share` of
        what the log asking price lies over the log value, with `haggle_sd` of luck; never under
        zero nor over the cap.
    """

    tastes: Mapping[str, Taste] = field(default_factory=lambda: dict(TASTES))
    peak: float = 135.0
    far: float = 4.0
    per_point: float = 0.012
    steps: tuple[tuple[int, float], ...] = ((0, 0.35), (21, 0.0), (90, -0.25), (180, -0.5))
    eager_sd: float = 0.25
    haggle: float = 0.02
    haggle_share: float = 0.3
    haggle_sd: float = 0.012
    haggle_cap: float = 0.15

    def hazard(
        self,
        segment: str,
        log_ask_over_value: Array,
        *,
        day: Array,
        listed_days: Array,
        condition: float,
        eager: float = 0.0,
    ) -> Array:
        """Return the expected sales a day, on each day that a car is offered.

        Parameters
        ----------
        segment : str
            A key of `tastes`.
        log_ask_over_value : numpy.ndarray, shape (n_days,)
            Log asking price less the log value as buyers see it.  Other shapes will do that go
            together with those of the days.
        day : numpy.ndarray of int, shape (n_days,)
            Days since 1970-01-01.
        listed_days : numpy.ndarray of int, shape (n_days,)
            Days since the first listing.
        condition : float
            Condition grade, 0 to 100.
        eager : float
            What nobody can see in the log chance a day of this car.

        Returns
        -------
        numpy.ndarray, shape (n_days,)
            The chance of a sale on a day is ``1 - exp(-rate)``.
        """
        taste, over = self.tastes[segment], np.asarray(log_ask_over_value)
        turn = np.cos(2 * np.pi * (day - self.peak) / _YEAR)
        starts = np.array([start for start, _ in self.steps])
        added = np.array([size for _, size in self.steps])
        step = added[np.searchsorted(starts, listed_days, side="right") - 1]
        log_rate = (
            math.log(taste.rate)
            - taste.elasticity * over
            - self.far * np.maximum(over, 0.0) ** 2
            + taste.season * turn
            + step
            + self.per_point * (condition - 60)
            + eager
        )
        rates: Array = np.exp(log_rate)
        return rates

    def paid(self, ask: float, log_value: float, luck: float) -> float:
        """Return what a buyer pays for a car offered at `ask`.

        Parameters
        ----------
        ask : float
            Asking price.
        log_value : float
            Log value as the buyer sees it.
        luck : float
            A draw of a standard normal.
        """
        over = max(math.log(ask) - log_value, 0.0)
        off = self.haggle + self.haggle_share * over + self.haggle_sd * luck
        return ask * (1 - min(max(off, 0.0), self.haggle_cap))

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        return {
            "segments": {
                name: {
                    "chance_a_month": t.chance_a_month,
                    "elasticity": t.elasticity,
                    "season": t.season,
                }
                for name, t in self.tastes.items()
            },
            "peak_day_of_year": self.peak,
            "far_above_the_value": self.far,
            "per_point_of_condition": self.per_point,
            "days_on_sale": [{"from": start, "added": size} for start, size in self.steps],
            "unseen_sd": self.eager_sd,
            "haggle": {
                "share": self.haggle,
                "of_ask_over_value": self.haggle_share,
                "sd": self.haggle_sd,
                "cap": self.haggle_cap,
            },
        }


def sell_chance(rates: Array) -> Array:
    """Return the chance that a car is sold by the end of each day.

    Parameters
    ----------
    rates : numpy.ndarray, shape (n_days,)
        Expected sales a day, see :meth:`Demand.hazard`.

    Examples
    --------
    >>> sell_chance(np.array([0.0, np.log(2)])).round(6).tolist()
    [0.0, 0.5]
    """
    chance: Array = -np.expm1(-np.cumsum(rates))
    return chance


def days_to_sell(rates: Array, patience: float) -> int | None:
    """Return after how many days a car is sold, None if it is not within the days given.

    Parameters
    ----------
    rates : numpy.ndarray, shape (n_days,)
        Expected sales a day, see :meth:`Demand.hazard`.
    patience : float
        How much rate this car uses up before its buyer comes: a draw of a standard exponential.
        The same draw under other asking prices plays the same luck, and a lower price on any day
        never sells later.

    Examples
    --------
    >>> days_to_sell(np.full(10, 0.25), 0.7), days_to_sell(np.full(10, 0.25), 3.0)
    (2, None)
    """
    used = np.cumsum(rates)
    at = int(np.searchsorted(used, patience, side="left"))
    return at if at < len(used) else None
