"""How much stands behind a valuation, and what must be said about it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.typical import RANGED, TypicalCars
from valuation.appraisal.wordings import open_words
from valuation.features.table import FeatureTable
from valuation.features.terms import FeatureSpec
from valuation.models.comparables import Neighbourhood
from valuation.records import Car
from valuation.results.valuation import Evidence
from valuation.schema import BY_NAME

__all__ = ["CAUTIONS", "each_outside", "judge", "outside_reasons"]

CAUTIONS = (
    "An estimate from past sales is not an appraisal by a licensed or certified appraiser; "
    "insurance, lending, estate, divorce, donation and tax uses need one under local law.",
    "It is no guarantee of roadworthiness, authenticity or title. Have brakes, steering, tyres, "
    "fuel lines and seat belts passed by a qualified mechanic before the car is driven.",
    "Odometer, title and number-stamping law differs by place: check locally, and never restamp "
    "or alter a number.",
)
"""Cautions that go with every valuation."""

YEARS_BEYOND = 3.0
"""So many years outside the years seen, a car is outside the evidence."""

SIZE_BEYOND = 1.6
"""An engine so many times larger or smaller than any seen is outside the evidence."""


def outside_reasons(
    typical: TypicalCars, row: int, level: str, table: FeatureTable, at: int = 0
) -> list[str]:
    """Return why a car lies outside what the evidence has seen, in sentences.

    Parameters
    ----------
    typical : TypicalCars
        What was seen.
    row : int
        Row of the typical car it starts from.
    level : str
        ``model line``, ``make`` or ``market``.
    table : FeatureTable
        Cars.
    at : int
        Row of the car among them.
    """
    seen = typical.seen(row)
    out = []
    if level == "market":
        out.append("No sale of this make is in the evidence")
    year, size = (float(table.numbers[name][at]) for name in RANGED)
    if year < seen.low[0] - YEARS_BEYOND or year > seen.high[0] + YEARS_BEYOND:
        out.append(
            f"The year {year:.0f} lies outside the evidence: sales of this {level} run from "
            f"{seen.low[0]:.0f} to {seen.high[0]:.0f}"
        )
    if size < seen.low[1] / SIZE_BEYOND or size > seen.high[1] * SIZE_BEYOND:
        out.append(
            f"An engine of {size:.1f} litres lies outside the evidence: sales of this {level} "
            f"run from {seen.low[1]:.1f} to {seen.high[1]:.1f}"
        )
    return out


def each_outside(typical: TypicalCars, table: FeatureTable) -> NDArray[np.bool_]:
    """Tell of each car whether it lies outside what the evidence has seen, shape (n,).

    Parameters
    ----------
    typical : TypicalCars
        What was seen.
    table : FeatureTable
        Cars.
    """
    line, make = table.factors["line"].text(), table.factors["make"].text()
    found = [typical.find(line[i], make[i]) for i in range(table.n)]
    reasons = [outside_reasons(typical, *found[i], table, i) for i in range(table.n)]
    return np.array([bool(r) for r in reasons], dtype=bool)


def _unseen(spec: FeatureSpec, table: FeatureTable, at: int) -> list[str]:
    """Return stated levels that no sale has, in sentences."""
    out = []
    for name, levels in spec.seen_levels.items():
        if name not in BY_NAME:
            continue
        word = table.factors[name].word(at)
        if word and name != "make" and word not in levels and word != BY_NAME[name].baseline:
            out.append(
                f'{BY_NAME[name].label} "{word}" is in no sale, so it moves nothing: its model '
                "line speaks for it"
            )
    return out


def judge(
    car: Car,
    *,
    spec: FeatureSpec,
    table: FeatureTable,
    at: int,
    around: Neighbourhood,
    row: int,
    level: str,
    typical: TypicalCars,
    outside: Sequence[str],
    assumed: Sequence[str],
    day: date | None,
    last_day: float,
    contradicted: Sequence[str] = (),
) -> Evidence:
    """Say how strong the evidence is, and warn.

    Returns
    -------
    Evidence
        Strength in one word, where the comparables come from, and warnings in sentences.
    """
    sales = typical.seen(row).n
    warnings = [*contradicted, *(f"{r}." for r in outside)]
    if level == "make":
        warnings.append(
            "No sale of this model is in the evidence: its make speaks for it."
            if table.factors["model"].codes[at] >= 0
            else "The model is not named: the make speaks for it."
        )
    warnings += [f"{t}." for t in _unseen(spec, table, at)]
    warnings += _gap(day, last_day)
    warnings += _assumed(assumed)
    if car.not_looked_at:
        names = ", ".join(BY_NAME[n].label.lower() for n in sorted(car.not_looked_at))
        warnings.append(
            f"Not looked at yet: {names}. The range allows for what such cars have; look before "
            "you buy."
        )
    if car.open:
        named = "; ".join(f"{BY_NAME[f.attribute].label}: {open_words(f)}" for f in car.open)
        warnings.append(
            f"Not settled: {named}. The estimate is the mean over what it can still be; settle it "
            "before you buy."
        )
    if car.cannot_be_told:
        names = ", ".join(BY_NAME[n].label.lower() for n in sorted(car.cannot_be_told))
        warnings.append(f"Can't be told any more: {names}. Priced as where sellers are silent.")
    stated = dict(car.values)
    if stated.get("title_status", "clear") != "clear":
        warnings.append(
            f"Title: {stated['title_status']}. Cure it before any money moves; some states of "
            "the title stop a purchase."
        )
    warnings += [n if n.endswith(".") else f"{n}." for n in car.notes]
    warnings += [stop for stop in car.stops if stop not in car.notes]
    return Evidence(
        _strength(around, level, sales, bool(outside)), level, sales, bool(outside), tuple(warnings)
    )


NEAR = 0.35
"""Gross adjustment (log units) up to which a sale is close enough to be shown to a customer."""


def _strength(around: Neighbourhood, level: str, sales: int, outside: bool) -> str:
    if level == "market" or not len(around.rows):
        return "none"
    near = int((around.gross <= NEAR).sum())
    if outside or level == "make" or sales < 5 or near < 3:
        return "thin"
    return "strong" if sales >= 30 and near >= 12 else "fair"


def _gap(day: date | None, last_day: float) -> list[str]:
    if day is None or np.isnan(last_day):
        return []
    gap = (np.datetime64(day, "D") - np.datetime64("1970-01-01", "D")).astype(int) - last_day
    if gap > 60:
        return [
            f"The newest sale is {gap:.0f} days older than the day of the valuation: the market "
            "is taken as unchanged since, and the range is wider for it."
        ]
    if gap < 0:
        return ["The evidence holds sales made after the day of the valuation."]
    return []


def _assumed(labels: Sequence[str]) -> list[str]:
    """Name the lines that rest on assumption more than on evidence."""
    if not labels:
        return []
    return [
        f"More assumption than evidence: {', '.join(labels)}. The sales say little "
        "about it; see the share of evidence of each line."
    ]
