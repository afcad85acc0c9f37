"""Comparable sales by distance in money, and what they add to the regression.

The regression that prices a car also measures how far apart two cars are: the difference in each
attribute's log effect is its adjustment.  The *gross adjustment* is the sum of absolute
adjustments, the *net adjustment* their signed sum.  What the closest sales brought beyond their
attributes is a shrunken kernel mean of their in-sample residuals, the dual form of kriging
(Rasmussen and Williams 2006, section 2.7).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

__all__ = ["ComparableSales", "ComparableSettings", "Neighbourhood"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


KEPT = 250
"""Sales kept around a car; the weight of those beyond is next to nothing."""


def _smallest(x: Floats, most: int) -> Ints:
    """Return the positions of the smallest values, ascending, ties in order of position."""
    if len(x) > most:
        edge = np.partition(x, most - 1)[most - 1]
        rows = np.flatnonzero(x <= edge)
        return rows[np.argsort(x[rows], kind="stable")][:most]
    return np.argsort(x, kind="stable")


@dataclass(frozen=True)
class ComparableSettings:
    """How comparables are weighed.

    Parameters
    ----------
    bandwidth : float
        Gross adjustment (log units) over which a weight falls by the factor e.
    half_life : float
        Age of a sale, in days, at which its weight has halved.
    ballast : float
        Weight of "no deviation": how many sales it takes to be half believed.
    pool : int
        A model line with at least so many sales is searched alone; else its whole make.
    per_year : float
        Gross adjustment of a year of difference between the sales' dates.
    unlike : float
        Gross adjustment of another version (another set of title words).
    own_ballast : float
        How many earlier sales of the very car it takes to be half believed.
    """

    bandwidth: float = 0.15
    half_life: float = 730.0
    ballast: float = 1.0
    pool: int = 400
    per_year: float = 0.03
    unlike: float = 0.03
    own_ballast: float = 0.4


@dataclass(frozen=True)
class Neighbourhood:
    """The sales around one car.

    Attributes
    ----------
    rows : ndarray of int
        Positions of the sales, nearest first.
    gross, net : ndarray
        Gross and net adjustment of each in log units, net towards the car.
    weight : ndarray
        Weight of each in the local deviation.
    deviation : float
        What the closest sales brought beyond their attributes, log units.
    size : float
        Sum of weights: the effective number of comparables.
    spread : float
        Weighted spread of their leave-one-out residuals.
    nearest : float
        Mean gross adjustment of the five nearest.
    own : float
        What earlier sales of the very car brought beyond its attributes, log units, shrunk.
    own_share : float
        How far they are believed, 0 without any, below 1.
    """

    rows: Ints
    gross: Floats
    net: Floats
    weight: Floats
    deviation: float
    size: float
    spread: float
    nearest: float
    own: float = 0.0
    own_share: float = 0.0


@dataclass(frozen=True)
class ComparableSales:
    """Sales with their effects by attribute, ready to be searched.

    Parameters
    ----------
    effects : ndarray, shape (n, n_attributes)
        Fitted log effect of each attribute for each sale.
    residuals, honest : ndarray, shape (n,)
        In-sample and leave-one-out residuals.
    trust : ndarray, shape (n,)
        Weight of each sale in the robust fit, at most about 1.
    line, make, version : ndarray of int, shape (n,)
        Codes, -1 for not known.
    day : ndarray, shape (n,)
        Sale day, NaN in an undated list.
    settings : ComparableSettings
        How they are weighed.
    chassis : ndarray of int, shape (n,), optional
        Code of each chassis, -1 for not known; empty where none is known.
    """

    effects: NDArray[np.float32]
    residuals: Floats
    honest: Floats
    trust: Floats
    line: Ints
    make: Ints
    version: Ints
    day: Floats
    settings: ComparableSettings = ComparableSettings()
    chassis: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.intp))

    def __post_init__(self) -> None:
        for name in ("line", "make"):
            codes = getattr(self, name)
            order = np.argsort(codes, kind="stable")
            cuts = np.searchsorted(codes[order], np.arange(codes.max(initial=-1) + 2))
            object.__setattr__(self, f"_{name}_index", (order, cuts))

    def _members(self, name: str, code: int) -> Ints:
        order, cuts = getattr(self, f"_{name}_index")
        if code < 0 or code >= len(cuts) - 1:
            return np.zeros(0, dtype=np.intp)
        return np.asarray(order[cuts[code] : cuts[code + 1]], dtype=np.intp)

    def candidates(self, line: int, make: int) -> Ints:
        """Return the sales that are searched: the model line, its make, or all."""
        rows = self._members("line", line)
        if len(rows) >= self.settings.pool:
            return rows
        rows = self._members("make", make)
        return rows if len(rows) >= 5 else np.arange(len(self.residuals))

    def around(
        self,
        effects: Floats,
        *,
        line: int,
        make: int,
        version: int,
        day: float,
        chassis: int = -1,
        leave_out: Ints | None = None,
    ) -> Neighbourhood:
        """Find the sales around one car.

        Parameters
        ----------
        effects : ndarray, shape (n_attributes,)
            Log effect of each attribute of the car on the day.
        line, make, version : int
            Codes of the car, -1 for one never seen.
        day : float
            Day of the valuation.
        chassis : int
            Code of the car's chassis, -1 if it is in no sale.
        leave_out : ndarray of int, optional
            Positions of sales that may not be used.

        Returns
        -------
        Neighbourhood
            Nearest first.
        """
        s = self.settings
        rows = self.candidates(line, make)
        if leave_out is not None and len(leave_out):
            rows = rows[~np.isin(rows, leave_out)]
        step = effects.astype(np.float32) - self.effects[rows]
        age = np.nan_to_num(day - self.day[rows], nan=0.0)
        gross = np.abs(step).sum(1, dtype=np.float64)
        gross += s.per_year * np.abs(age) / 365.25
        gross += s.unlike * ((self.version[rows] != version) | (version < 0))
        order = _smallest(gross, KEPT)
        rows, gross = rows[order], gross[order]
        decay = np.exp2(-np.maximum(age[order], 0.0) / s.half_life)
        weight = np.exp(-gross / s.bandwidth) * decay * self.trust[rows]
        size = float(weight.sum())
        deviation = float(weight @ self.residuals[rows]) / (size + s.ballast)
        spread = 0.0
        if size > 1e-9:
            honest = self.honest[rows]
            centre = float(weight @ honest) / size
            spread = float(np.sqrt(weight @ (honest - centre) ** 2 / size))
        net = step[order].sum(1, dtype=np.float64)
        near = float(gross[:5].mean()) if len(gross) else np.inf
        own, own_share = self._own(chassis, day, leave_out)
        return Neighbourhood(
            rows, gross, net, weight, deviation, size, spread, near, own, own_share
        )

    def _own(self, chassis: int, day: float, leave_out: Ints | None) -> tuple[float, float]:
        """Return what earlier sales of the very car say, and how far they are believed.

        The best comparable there is: it differs by nothing but time and what was done since.
        """
        if chassis < 0 or not len(self.chassis):
            return 0.0, 0.0
        rows = np.flatnonzero(self.chassis == chassis)
        if leave_out is not None:
            rows = rows[~np.isin(rows, leave_out)]
        age = np.nan_to_num(day - self.day[rows], nan=0.0)
        # A sale with a wild price is trusted as little here as in the fit.
        weight = np.exp2(-np.maximum(age, 0.0) / (2 * self.settings.half_life)) * self.trust[rows]
        total = float(weight.sum())
        share = total / (total + self.settings.own_ballast)
        return (
            (share * float(weight @ self.residuals[rows]) / total, share) if total else (0.0, 0.0)
        )
