"""What was foreseen of sales from one day of the past: a fit's forecast without the fit.

A fit of some ten thousand sales takes hundreds of megabytes, its forecast of a month some
kilobytes: this is what comes home from a worker, and what is kept.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any, Self

import joblib
import numpy as np
from numpy.typing import NDArray

from valuation import __version__
from valuation.appraisal.data import MarketData
from valuation.appraisal.fitting import Fitted, Forecast, fit_market_data
from valuation.appraisal.outlook import level_variance, outlook_of
from valuation.appraisal.settings import ModelSettings
from valuation.appraisal.strength import each_outside
from valuation.appraisal.typical import typical_cars
from valuation.features.assumptions import Assumptions
from valuation.models.evidence import weights_of
from valuation.models.ranges import Calibration, PastErrors
from valuation.running.kept import Kept
from valuation.running.runner import Progress, Runner

__all__ = [
    "Basis",
    "Foreseen",
    "Origin",
    "fit_and_foresee",
    "fit_start",
    "foresee",
    "foresee_all",
    "outlooks",
    "start_at",
]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Foreseen:
    """The forecast of some sales, made from what was known before them.

    Parameters
    ----------
    log_price : ndarray, shape (n,)
        Fitted log price without the local deviation.
    deviation, own, own_share : ndarray, shape (n,)
        Local deviation; the part of it that rests on earlier sales of the very car; how far these
        are believed.
    difficulty : ndarray, shape (n, 9)
        Columns of the difficulty estimate.
    gap : ndarray, shape (n,)
        Days from the last sale that was known; NaN in an undated list.
    level_variance : ndarray, shape (n,)
        Variance of the market level over these days.
    outside : ndarray of bool, shape (n,)
        Whether the car lies outside what had been seen; False where nobody asked.
    """

    log_price: Floats
    deviation: Floats
    own: Floats
    own_share: Floats
    difficulty: Floats
    gap: Floats
    level_variance: Floats
    outside: Flags

    def __len__(self) -> int:
        return len(self.log_price)

    @classmethod
    def of(cls, fitted: Fitted, forecast: Forecast, day: Floats, outside: Flags) -> Self:
        """Return what of a forecast is needed once the fit is gone.

        Parameters
        ----------
        fitted : Fitted
            The market.
        forecast : Forecast
            What it says of some cars.
        day : ndarray, shape (n,)
            Day of each.
        outside : ndarray of bool, shape (n,)
            Whether each lies outside what had been seen.
        """
        return cls(
            forecast.log_price,
            forecast.deviation,
            np.array([a.own for a in forecast.around], dtype=np.float64),
            np.array([a.own_share for a in forecast.around], dtype=np.float64),
            forecast.difficulty,
            day - fitted.last_day,
            np.array([level_variance(fitted, d) for d in day], dtype=np.float64),
            outside,
        )

    def take(self, rows: Any) -> Foreseen:
        """Return what was foreseen of the chosen sales (mask or positions)."""
        return Foreseen(*(getattr(self, f.name)[rows] for f in fields(self)))

    def errors(self, data: MarketData, rows: Ints) -> PastErrors:
        """Return the errors, once the prices of the sales are known."""
        return PastErrors(
            data.log_price[rows] - self.log_price, self.deviation, self.difficulty, data.day[rows]
        )

    def arrays(self) -> dict[str, NDArray[Any]]:
        """Return the fields by name."""
        return {f.name: getattr(self, f.name) for f in fields(self)}


@dataclass(frozen=True)
class Origin:
    """A day of the past: what was known then, and what is forecast from it.

    Parameters
    ----------
    before, rows : ndarray of int
        Positions of the sales that were known, and of those that are forecast.
    """

    before: Ints
    rows: Ints


@dataclass(frozen=True)
class Basis:
    """What all forecasts of a stretch of the past share.

    Parameters
    ----------
    data : MarketData
        All sales.
    settings : ModelSettings
        How models are built.
    assumptions : Assumptions
        Effects that are assumed.
    penalties : mapping of str to float or None
        Penalties of every fit; None if the earliest is to estimate them for all.
    asks_outside : bool
        Whether it is told which cars lie outside what had been seen.
    weights : ndarray, shape (n,), optional
        Weights of the sales from which fits start: of the first fit, and 1 for sales after it, so
        that nothing later enters.
    scale : float, optional
        Scale of the noise from which they start.
    """

    data: MarketData
    settings: ModelSettings
    assumptions: Assumptions
    penalties: Mapping[str, float] | None
    asks_outside: bool = True
    weights: Floats | None = None
    scale: float | None = None

    @classmethod
    def of(
        cls,
        data: MarketData,
        penalties: Mapping[str, float] | None,
        *,
        settings: ModelSettings,
        assumptions: Assumptions,
        asks_outside: bool = True,
    ) -> Self:
        """Return the basis of forecasts; the sales as they were read stay behind, no fit asks."""
        lean = replace(data, frame=data.frame.iloc[:, :0])
        return cls(lean, settings, assumptions, penalties, asks_outside)

    def started(self, before: Ints, fitted: Fitted) -> Basis:
        """Return the same basis whose fits start where that of the earliest day ended.

        That spares half of the solves.
        """
        weights = np.ones(len(self.data))
        scale = fitted.sigma
        weights[before] = weights_of(fitted.sales.residuals, scale**2, self.settings.robust_df)
        return replace(self, penalties=dict(fitted.penalties), weights=weights, scale=scale)

    def known(self, origin: Origin) -> MarketData:
        """Return the sales that were known."""
        return self.data.take(origin.before)

    def fit(self, origin: Origin) -> Fitted:
        """Return the market as it was known."""
        return fit_market_data(
            self.known(origin),
            settings=self.settings,
            assumptions=self.assumptions,
            penalties=self.penalties,
            weights=None if self.weights is None else self.weights[origin.before],
            scale=self.scale,
        )

    def foreseen(self, fitted: Fitted, origin: Origin) -> Foreseen:
        """Return what a fit of the known sales says of those to be forecast."""
        table = self.data.table.take(origin.rows)
        outside = np.zeros(len(origin.rows), dtype=bool)
        if self.asks_outside:
            outside = each_outside(typical_cars(fitted, self.known(origin)), table)
        return Foreseen.of(fitted, fitted.forecast(table), self.data.day[origin.rows], outside)

    def key(self, name: str, *parts: object) -> str:
        """Return a key that changes with everything from which a forecast is worked out."""
        told: str = joblib.hash((self._digest, name, parts), hash_name="sha1")
        return told

    @cached_property
    def _digest(self) -> str:
        told: str = joblib.hash(
            (__version__, [getattr(self, f.name) for f in fields(self)]), hash_name="sha1"
        )
        return told


def foresee(basis: Basis, origin: Origin) -> Foreseen:
    """Fit what was known and forecast what came."""
    return basis.foreseen(basis.fit(origin), origin)


def fit_and_foresee(basis: Basis, origin: Origin) -> tuple[Fitted, Foreseen]:
    """Fit what was known and forecast what came; the fit comes too."""
    fitted = basis.fit(origin)
    return fitted, basis.foreseen(fitted, origin)


def start_at(basis: Basis, origin: Origin, kept: Kept | None) -> tuple[Basis, Foreseen]:
    """Forecast from the earliest day, and let all other fits start where its fit ended.

    Parameters
    ----------
    basis : Basis
        What the forecasts share.
    origin : Origin
        The earliest day: nothing of its fit is later than what the others know.
    kept : Kept or None
        Where it is kept, and taken from.
    """
    key = "" if kept is None else basis.key("start", origin.before, origin.rows)
    arrays = None if kept is None else kept.load(key)
    if arrays is not None:
        return _start_again(basis, arrays)
    _, started, seen = fit_start(basis, origin)
    if kept is not None:
        kept.save(key, {**seen.arrays(), **_start_arrays(started)})
    return started, seen


def fit_start(basis: Basis, origin: Origin) -> tuple[Fitted, Basis, Foreseen]:
    """Fit at the earliest day; return the fit, the basis that starts there, and the forecast."""
    fitted = basis.fit(origin)
    return fitted, basis.started(origin.before, fitted), basis.foreseen(fitted, origin)


def _start_arrays(started: Basis) -> dict[str, NDArray[Any]]:
    penalties = started.penalties or {}
    return {
        "weights": np.asarray(started.weights),
        "scale": np.asarray(started.scale),
        "blocks": np.array(list(penalties)),
        "penalties": np.array(list(penalties.values())),
    }


def _start_again(basis: Basis, arrays: dict[str, NDArray[Any]]) -> tuple[Basis, Foreseen]:
    weights, scale, blocks, penalties = (
        arrays.pop(name) for name in ("weights", "scale", "blocks", "penalties")
    )
    known = dict(zip(blocks.tolist(), penalties.tolist(), strict=True))
    started = replace(basis, penalties=known, weights=weights, scale=float(scale))
    return started, Foreseen(**arrays)


def foresee_all(
    basis: Basis,
    origins: Sequence[Origin],
    *,
    run: Runner,
    kept: Kept | None = None,
    progress: Progress | None = None,
    what: str,
    done: int = 0,
) -> list[Foreseen]:
    """Forecast from several days of the past, each by itself.

    Parameters
    ----------
    basis : Basis
        What they share.
    origins : sequence of Origin
        The days.
    run : Runner
        How they are run.
    kept : Kept, optional
        Where finished forecasts are kept, and taken from if nothing has changed.
    progress : callable, optional
        Told as they finish.
    what : str
        What is being done, for `progress`.
    done : int
        Forecasts of the same work that are there already, for `progress`.
    """
    keys = ["" if kept is None else basis.key("forecast", o.before, o.rows) for o in origins]
    found = {i: _load(kept, key) for i, key in enumerate(keys)}
    missing = [i for i, seen in found.items() if seen is None]
    ready, total = done + len(origins) - len(missing), done + len(origins)
    if progress is not None and ready:
        progress(ready, total, what)

    def told(more: int, _: int, doing: str) -> None:
        if progress is not None:
            progress(ready + more, total, doing)

    todo = [origins[i] for i in missing]
    made = run.each(foresee, todo, common=basis, progress=told, what=what)
    for i, seen in zip(missing, made, strict=True):
        found[i] = seen
        if kept is not None:
            kept.save(keys[i], seen.arrays())
    return [seen for seen in found.values() if seen is not None]


def _load(kept: Kept | None, key: str) -> Foreseen | None:
    arrays = None if kept is None else kept.load(key)
    return None if arrays is None else Foreseen(**arrays)


def outlooks(
    calibration: Calibration, seen: Foreseen, levels: Sequence[float] = (0.8,)
) -> tuple[Floats, Floats, Floats]:
    """Return central value and bounds of the ranges of every car of a forecast, in money.

    Parameters
    ----------
    calibration : Calibration
        What past errors teach.
    seen : Foreseen
        The forecast.
    levels : sequence of float
        Levels of the ranges.

    Returns
    -------
    central : ndarray, shape (n,)
        Central values.
    lower, upper : ndarray, shape (n, n_levels)
        Bounds, NaN where there are too few past errors.
    """
    n = len(seen)
    central = np.full(n, np.nan)
    bounds = np.full((2, n, len(levels)), np.nan)
    for i in range(n):
        ahead = 0.0
        if seen.gap[i] > 0:
            ahead = max(float(seen.level_variance[i]), calibration.ahead_variance(seen.gap[i]))
        out = outlook_of(
            calibration,
            float(seen.log_price[i]),
            float(seen.deviation[i]),
            (float(seen.own[i]), float(seen.own_share[i])),
            seen.difficulty[i],
            ahead,
        )
        central[i] = np.exp(out.central)
        if len(out.offsets):
            base = out.fitted + out.deviation
            for k, level in enumerate(levels):
                bounds[:, i, k] = np.exp(base + np.array(calibration.interval(out.offsets, level)))
    return central, bounds[0], bounds[1]
