"""Comparable sales by distance in money, and what they add to the regression.

The regression that prices a car also measures how far apart two cars are: the difference in each
attribute's log effect is its adjustment, and the sum of their absolute values is the *gross
adjustment*.  What the closest sales brought beyond their attributes is a shrunken kernel mean of
their in-sample residuals, the dual form of kriging (Rasmussen and Williams 2006, section 2.7).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

__all__ = ["ComparableSales", "ComparableSettings", "Comparands", "Neighbourhood"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]


KEPT = 250
"""Sales kept around a car; the weight of those beyond is next to nothing."""

_CELLS = 500_000
"""Adjustments of cars to sales that are worked out at a time: more don't fit the cache."""


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
    gross : ndarray
        Gross adjustment of each in log units.
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
    weight: Floats
    deviation: float
    size: float
    spread: float
    nearest: float
    own: float = 0.0
    own_share: float = 0.0


@dataclass(frozen=True)
class Comparands:
    """Cars for which comparable sales are sought.

    Parameters
    ----------
    effects : ndarray, shape (n, n_attributes)
        Log effect of each attribute of each car on its day.
    line, make, version : ndarray of int, shape (n,)
        Codes of the cars, -1 for one never seen.
    day : ndarray, shape (n,)
        Days of the valuations, NaN in an undated market.
    chassis : ndarray of int, shape (n,)
        Codes of the cars' chassis, -1 for one in no sale.
    stated : ndarray of bool, shape (n, n_attributes), optional
        Which attributes are known of each car; all of them where nothing is given.
    """

    effects: Floats
    line: Ints
    make: Ints
    version: Ints
    day: Floats
    chassis: Ints
    stated: Flags = field(default_factory=lambda: np.ones((0, 0), dtype=bool))


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
    stated : ndarray of bool, shape (n, n_attributes), optional
        Which attributes were stated of each sale; all of them where nothing is given.
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
    stated: Flags = field(default_factory=lambda: np.ones((0, 0), dtype=bool))

    def __post_init__(self) -> None:
        for name in ("line", "make", "chassis"):
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

    def around(self, cars: Comparands, *, leave_out: Ints | None = None) -> list[Neighbourhood]:
        """Find the sales around some cars.

        Parameters
        ----------
        cars : Comparands
            The cars.
        leave_out : ndarray of int, optional
            Positions of sales that may not be used.

        Returns
        -------
        list of Neighbourhood
            One a car, the nearest sales first.
        """
        out: list[Neighbourhood | None] = [None] * len(cars.day)
        for rows, some in self._searches(cars, leave_out):
            theirs = self.effects[rows]
            most = max(_CELLS // max(theirs.size, 1), 1)
            for part in (some[i : i + most] for i in range(0, len(some), most)):
                for i, found in zip(
                    part.tolist(), self._nearest(cars, part, rows, theirs, leave_out), strict=True
                ):
                    out[i] = found
        return [found for found in out if found is not None]

    def _searches(self, cars: Comparands, leave_out: Ints | None) -> Iterator[tuple[Ints, Ints]]:
        """Yield sales to search together with the cars for which they are searched."""
        pairs = np.column_stack([cars.line, cars.make])
        distinct, at = np.unique(pairs, axis=0, return_inverse=True)
        for k, (line, make) in enumerate(distinct.tolist()):
            rows = self.candidates(line, make)
            if leave_out is not None and len(leave_out):
                rows = rows[~np.isin(rows, leave_out)]
            yield rows, np.flatnonzero(at.ravel() == k)

    def _nearest(
        self,
        cars: Comparands,
        some: Ints,
        rows: Ints,
        theirs: NDArray[np.float32],
        leave_out: Ints | None,
    ) -> Iterator[Neighbourhood]:
        """Yield the neighbourhood of some cars that are searched for among the same sales."""
        s = self.settings
        step = cars.effects[some].astype(np.float32)[:, None, :] - theirs
        age = np.nan_to_num(cars.day[some, None] - self.day[rows], nan=0.0)
        gross = np.abs(step, out=step).sum(2, dtype=np.float64)
        gross += s.per_year * np.abs(age) / 365.25
        version = cars.version[some, None]
        gross += s.unlike * ((self.version[rows] != version) | (version < 0))
        order = np.array([_smallest(g, KEPT) for g in gross], dtype=np.intp)
        gross = np.take_along_axis(gross, order, 1)
        age = np.take_along_axis(age, order, 1)
        near = rows[order]
        decay = np.exp2(-np.maximum(age, 0.0) / s.half_life)
        weight = np.exp(-gross / s.bandwidth) * decay * self.trust[near]
        for k, i in enumerate(some.tolist()):
            own = self._own(cars, i, leave_out)
            yield self._neighbourhood(near[k], gross[k], weight[k], own)

    def _neighbourhood(
        self, rows: Ints, gross: Floats, weight: Floats, own: tuple[float, float]
    ) -> Neighbourhood:
        size = float(weight.sum())
        deviation = float(weight @ self.residuals[rows]) / (size + self.settings.ballast)
        spread = 0.0
        if size > 1e-9:
            honest = self.honest[rows]
            centre = float(weight @ honest) / size
            spread = float(np.sqrt(weight @ (honest - centre) ** 2 / size))
        nearest = float(gross[:5].mean()) if len(gross) else np.inf
        return Neighbourhood(rows, gross, weight, deviation, size, spread, nearest, *own)

    def _own(self, cars: Comparands, car: int, leave_out: Ints | None) -> tuple[float, float]:
        """Return what earlier sales of the very car say, and how far they are believed.

        The best comparable there is: it differs by nothing but time and what was done since.
        """
        rows = self._members("chassis", int(cars.chassis[car]))
        if leave_out is not None:
            rows = rows[~np.isin(rows, leave_out)]
        if not len(rows):
            return 0.0, 0.0
        age = np.nan_to_num(float(cars.day[car]) - self.day[rows], nan=0.0)
        # A sale with a wild price is trusted as little here as in the fit.
        weight = np.exp2(-np.maximum(age, 0.0) / (2 * self.settings.half_life)) * self.trust[rows]
        total = float(weight.sum())
        share = total / (total + self.settings.own_ballast)
        beyond = self.residuals[rows] - self._learned_since(cars, car, rows)
        return (share * float(weight @ beyond) / total, share) if total else (0.0, 0.0)

    def _learned_since(self, cars: Comparands, car: int, rows: Ints) -> Floats | float:
        """Return what is explained by attributes that are known now and were not stated then.

        A car with good papers that nobody mentioned brings more than its advert explains.  Once
        the papers are known they count by themselves: counted in the earlier sale too, they would
        count twice.
        """
        if not len(self.stated) or not len(cars.stated):
            return 0.0
        since = cars.stated[car] & ~self.stated[rows]
        step = cars.effects[car] - self.effects[rows].astype(np.float64)
        return np.asarray(np.where(since, step, 0.0).sum(axis=1))
