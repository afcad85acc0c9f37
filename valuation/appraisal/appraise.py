"""One car's valuation: range, explanation, comparable sales, evidence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from valuation.appraisal.checks import contradictions, what_to_check
from valuation.appraisal.data import cars_table
from valuation.appraisal.fitting import Forecast
from valuation.appraisal.grid import adjustment_grid, choose
from valuation.appraisal.lines import Line, contributions, explain_lines
from valuation.appraisal.market import MarketModel
from valuation.appraisal.outlook import Outlook, outlook
from valuation.appraisal.strength import CAUTIONS, judge, outside_reasons
from valuation.appraisal.unsettled import Unsettled, unsettle
from valuation.appraisal.wordings import car_cells, label_of
from valuation.errors import CarFileError, SettingsError
from valuation.features.table import FeatureTable, day_number
from valuation.features.terms import Design
from valuation.models.threads import one_thread
from valuation.records import Car
from valuation.results.valuation import NoRange, PriceRange, Valuation

__all__ = ["appraise", "appraise_all"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

LEVELS = (0.5, 0.8, 0.95)
"""Levels of the ranges that go with a valuation."""

FEWEST_FOR = {0.5: 20, 0.8: 20, 0.95: 39}
"""Fewest past errors that can carry a two-sided range at a level."""


def _ranges(market: MarketModel, out: Outlook, levels: tuple[float, ...]) -> list[PriceRange]:
    made = []
    for level in levels:
        if len(out.offsets) and market.calibration.n >= FEWEST_FOR.get(level, 39):
            low, high = market.calibration.interval(out.offsets, level)
            base = out.fitted + out.deviation
            made.append(PriceRange(level, float(np.exp(base + low)), float(np.exp(base + high))))
    return made


def _no_range(market: MarketModel, outside: list[str]) -> str:
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
        _check(market, car, as_of)
    as_of = (as_of or market.as_of) if market.dated else None
    with one_thread():
        return [
            _appraise(market, batch, i, as_of)
            for start in range(0, len(cars), _TOGETHER)
            if (batch := _batch(market, cars[start : start + _TOGETHER], as_of))
            for i in range(len(batch.cars))
        ]


_TOGETHER = 500
"""Cars that are encoded and forecast in one go."""


@dataclass(frozen=True)
class _Batch:
    """Cars as they are sold, encoded and forecast; and their columns in the usual sale."""

    cars: Sequence[Car]
    unsettled: Sequence[Unsettled]
    sales: Sequence[dict[str, str]]
    table: FeatureTable
    forecast: Forecast
    usual: sparse.csr_array


def _batch(market: MarketModel, cars: Sequence[Car], as_of: date | None) -> _Batch:
    day = day_number(as_of) if as_of else float("nan")
    sales = [market.sale_of(car.sale) for car in cars]
    sold = [replace(c, sale=s) for c, s in zip(cars, sales, strict=True)]
    unsettled = unsettle(market, sold, day)
    table = cars_table([u.car for u in unsettled], day)
    design = _mixed(market.fitted.spec.transform(table), unsettled)
    forecast = market.fitted.forecast(table, design=design)
    usual = forecast.design.X
    if any(sale != market.usual for sale in sales):
        ordinary = cars_table([replace(u.car, sale=market.usual) for u in unsettled], day)
        usual = market.fitted.spec.transform(ordinary).X
    return _Batch(cars, unsettled, sales, table, forecast, usual)


def _mixed(design: Design, unsettled: Sequence[Unsettled]) -> Design:
    """Put the columns of mixtures in place of those of the cars that stand for them."""
    if all(u.row is None for u in unsettled):
        return design
    rows = [design.X[[i]] if u.row is None else u.row for i, u in enumerate(unsettled)]
    return Design(sparse.csr_array(sparse.vstack(rows, format="csr")), design.line)


def _appraise(market: MarketModel, batch: _Batch, i: int, as_of: date | None) -> Valuation:
    car, sale, table, forecast = batch.cars[i], batch.sales[i], batch.table, batch.forecast
    day = day_number(as_of) if as_of else float("nan")
    fitted, spec = market.fitted, market.fitted.spec
    row, level = market.typical.find(table.factors["line"].word(i), table.factors["make"].word(i))
    effects = forecast.effects[i]
    unsettled = batch.unsettled[i]
    out = outlook(fitted, market.calibration, forecast, day=day, extra=unsettled.variance, row=i)
    cells = car_cells(car, as_of, sale)
    start, lines = explain_lines(
        fitted,
        market.typical,
        start_row=row,
        own=_cells(forecast.design.X, i),
        usual=_cells(batch.usual, i),
        line=int(forecast.design.line[i]),
        cells=cells,
    )
    around = forecast.around[i]
    speaking = int((around.weight > 0.01 * around.weight.sum()).sum())
    lines += _last_lines(market, out, speaking)
    p0, p1, made = contributions(start, lines, _statements(car))
    outside = outside_reasons(market.typical, row, level, table, i)
    adjusted = market_adjusted(market, around.rows, effects)
    shown = choose(around, adjusted, out.central)
    ranges = [] if outside else _ranges(market, out, LEVELS)
    default = next((r for r in ranges if r.level == market.settings.level), None)
    return Valuation(
        car.name,
        as_of,
        market.currency,
        sale["basis"],
        market.estimand,
        p1,
        default if default is not None else NoRange(_no_range(market, outside)),
        tuple(ranges),
        _start_label(market, row, level, cells),
        p0,
        made,
        adjustment_grid(
            around,
            shown,
            effects=effects,
            theirs=fitted.sales.effects,
            attributes=spec.attributes,
            columns=market.columns,
            cells=cells,
        ),
        judge(
            car,
            spec=spec,
            table=table,
            at=i,
            around=around,
            row=row,
            level=level,
            typical=market.typical,
            outside=outside,
            lines=lines,
            day=as_of,
            last_day=fitted.last_day,
            contradicted=contradictions(unsettled.facts, out.central, market.currency),
        ),
        CAUTIONS,
        what_to_check(unsettled.facts, out.central),
    )


def _check(market: MarketModel, car: Car, as_of: date | None) -> None:
    narrowed = {f.attribute for f in car.open if f.low is not None}
    missing = [n for n in ("year", "make") if n not in car.values and n not in narrowed]
    if missing:
        raise CarFileError(
            car.name,
            "a car can't be valued without " + " and ".join(missing),
            got="nothing",
            remedy=f"State {' and '.join(missing)}, or a title that holds them",
        )
    if as_of is not None and not market.dated:
        raise SettingsError(
            "as_of", "an undated list has no day", got=as_of.isoformat(), remedy="Leave it out"
        )


def _cells(X: sparse.csr_array, row: int) -> tuple[Ints, Floats]:
    """Return columns and values of a row."""
    start, stop = X.indptr[row], X.indptr[row + 1]
    return X.indices[start:stop].astype(np.intp), X.data[start:stop]


def market_adjusted(market: MarketModel, rows: Ints, effects: Floats) -> Floats:
    """Return the log price of some sales adjusted to a car with the given effects."""
    theirs = market.fitted.sales.effects[rows].astype(np.float64).sum(1)
    price = np.log(market.frame["price"].to_numpy(dtype=np.float64)[rows])
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
