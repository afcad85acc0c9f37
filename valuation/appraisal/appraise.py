"""One car's valuation: range, explanation, comparable sales, evidence."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.batch import Batch, batches, lacking, sure_of_day
from valuation.appraisal.brief import Brief, brief_of
from valuation.appraisal.grid import adjustment_grid, choose
from valuation.appraisal.lines import Line, contributions, explain_lines
from valuation.appraisal.market import MarketModel
from valuation.appraisal.outlook import Outlook
from valuation.appraisal.strength import CAUTIONS
from valuation.appraisal.wordings import car_cells, label_of
from valuation.errors import CarFileError
from valuation.records import Car
from valuation.results.valuation import NoRange, PriceRange, Valuation
from valuation.running.threads import one_thread

__all__ = ["appraise", "appraise_all"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

LEVELS = (0.5, 0.8, 0.95)
"""Levels of the ranges that go with a valuation."""

FEWEST_FOR = {0.5: 20, 0.8: 20, 0.95: 39}
"""Fewest past errors that can carry a two-sided range at a level."""


def _ranges(market: MarketModel, brief: Brief, levels: tuple[float, ...]) -> list[PriceRange]:
    made = []
    for level in levels:
        if len(brief.offsets) and market.calibration.n >= FEWEST_FOR.get(level, 39):
            low, high = market.calibration.interval(brief.offsets, level)
            lower, upper = (float(np.exp(brief.base + end)) for end in (low, high))
            made.append(PriceRange(level, lower, upper))
    return made


def _no_range(market: MarketModel, outside: Sequence[str]) -> str:
    if outside:
        return f"{'. '.join(outside)}. A range would pretend to know."
    return (
        f"Only {market.calibration.n} past forecasts can be checked, too few for a range "
        "(20 are needed). Add dated sales."
    )


def appraise(market: MarketModel, car: Car, *, as_of: date | None = None) -> Valuation:
    """Value one car.

    Parameters
    ----------
    market : MarketModel
        Fitted and calibrated.
    car : Car
        The car; ``year`` and ``make`` must be known.
    as_of : datetime.date, optional
        Day of the valuation; the day of the model by default.

    Returns
    -------
    Valuation
        Range or the reason why there is none, explanation, comparable sales, evidence.

    Raises
    ------
    CarFileError
        If year or make is missing.
    SettingsError
        If a day is given for an undated list.
    """
    return appraise_all(market, [car], as_of=as_of)[0]


def appraise_all(
    market: MarketModel, cars: Sequence[Car], *, as_of: date | None = None
) -> list[Valuation]:
    """Value many cars, each as :func:`appraise` would, in less time.

    Parameters
    ----------
    market : MarketModel
        Fitted and calibrated.
    cars : sequence of Car
        The cars; ``year`` and ``make`` of each must be known.
    as_of : datetime.date, optional
        Day of the valuations; the day of the model by default.

    Returns
    -------
    list of Valuation
        In the order of the cars.

    Raises
    ------
    CarFileError
        If year or make of a car is missing.
    SettingsError
        If a day is given for an undated list.
    """
    for car in cars:
        _check(car)
    as_of = sure_of_day(market, as_of)
    with one_thread():
        return [
            _appraise(batch, i)
            for batch in batches(market, cars, as_of=as_of)
            for i in range(len(batch.cars))
        ]


def _appraise(batch: Batch, i: int) -> Valuation:
    """Add to what a bid needs the explanation, the ranges and the comparable sales."""
    market, forecast, brief = batch.market, batch.forecast, brief_of(batch, i)
    fitted, out, moved = market.fitted, batch.outlooks[i], batch.starts.moved(i)
    cells = car_cells(brief.car, batch.as_of, batch.sales[i])
    around, effects = forecast.around[i], forecast.effects[i]
    lines = explain_lines(fitted, market.typical, moved, cells)
    speaking = int((around.weight > 0.01 * around.weight.sum()).sum())
    lines += _last_lines(market, out, speaking)
    start = batch.starts.log_price(fitted, i)
    p0, p1, made = contributions(start, lines, _statements(brief.car))
    shown = choose(around, market_adjusted(market, around.rows, effects), out.central)
    ranges = _ranges(market, brief, LEVELS)
    default = next((r for r in ranges if r.level == market.settings.level), None)
    return Valuation(
        brief.name,
        brief.as_of,
        brief.currency,
        brief.basis,
        brief.estimand,
        p1,
        default if default is not None else NoRange(_no_range(market, brief.outside)),
        tuple(ranges),
        _start_label(market, int(batch.starts.rows[i]), batch.starts.levels[i], cells),
        p0,
        made,
        adjustment_grid(
            around,
            shown,
            effects=effects,
            theirs=fitted.sales.effects,
            attributes=fitted.spec.attributes,
            columns=market.columns,
            cells=cells,
        ),
        brief.evidence,
        CAUTIONS,
        brief.checks,
    )


def _check(car: Car) -> None:
    missing = lacking(car)
    if missing:
        raise CarFileError(
            car.name,
            "a car can't be valued without " + " and ".join(missing),
            got="nothing",
            remedy=f"State {' and '.join(missing)}, or a title that holds them",
        )


def market_adjusted(market: MarketModel, rows: Ints, effects: Floats) -> Floats:
    """Return the log price of some sales adjusted to a car with the given effects."""
    theirs = market.fitted.sales.effects[rows].astype(np.float64).sum(1)
    price = np.log(market.columns["price"][rows].astype(np.float64))
    return np.asarray(price + effects.sum() - theirs)


def _statements(car: Car) -> dict[str, str]:
    """Return the words that led to each line, by the name of the line."""
    out = dict(car.statements)
    named = [out[n] for n in ("model", "make") if n in out]
    if named:
        out["model"] = named[0]
    if car.title:
        out["wording"] = f"title: {car.title}"
    return out


def _last_lines(market: MarketModel, out: Outlook, n: int) -> list[Line]:
    around = out.deviation - out.own
    more = "more" if around > 0 else "less"
    lines = [
        _plain("closest sales", f"brought {more} than their attributes explain", around, n),
        _plain("correction", "from forecasts of past sales", out.correction, market.calibration.n),
    ]
    if out.own:
        more = "more" if out.own > 0 else "less"
        said = f"brought {more} than its attributes explain"
        lines.insert(0, _plain("earlier sale", said, out.own, 1))
    return lines


def _plain(attribute: str, value: str, effect: float, n: int) -> Line:
    return Line(attribute, label_of(attribute), value, effect, 0.0, n, 1.0)


def _start_label(market: MarketModel, row: int, level: str, cells: dict[str, Any]) -> str:
    n = market.typical.seen(row).n
    if level == "model line":
        names = [str(cells[k]) for k in ("make", "model", "generation") if cells.get(k)]
        return f"Typical {' '.join(names)} ({n} sales)"
    if level == "make":
        return f"Typical {cells.get('make')} of any model ({n} sales)"
    return f"Typical car of this market ({n} sales)"
