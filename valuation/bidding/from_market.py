"""From a fitted market to what a car may bring when it is sold again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.brief import Brief, NoBrief, brief_all
from valuation.appraisal.courses import Course as MarketCourse
from valuation.appraisal.courses import market_courses_all
from valuation.appraisal.market import MarketModel
from valuation.appraisal.named_variant import with_named_variant
from valuation.bidding.costs import Costs
from valuation.bidding.prospect import Course, FactAtStake, Prospect
from valuation.bidding.sheet import Preparation
from valuation.bidding.spread import Spread
from valuation.errors import CarFileError, CostsError
from valuation.inspection.after_work import AfterWork, WorkLine, after_work
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.settings_file import default_inspection_settings
from valuation.inspection.title_states import stops_of, title_note
from valuation.inspection.work_lines import Held
from valuation.models.ranges import GRID
from valuation.records import Car, Cure
from valuation.results.bid_parts import Stop, WorkStep
from valuation.results.valuation import Check

__all__ = ["Candidate", "market_prospects", "selling_sale"]

Floats = NDArray[np.float64]

POINTS = 200
"""Points of equal weight at which a resale is kept: none lies beyond what past errors show."""


@dataclass(frozen=True)
class Candidate:
    """A car that may be bought: what it may bring, and what has to be done to it.

    Parameters
    ----------
    car : Car
        As it stands.
    prospect : Prospect
        Its resale after the work.
    preparation : Preparation
        Work and cures.
    brief : Brief or None
        The valuation behind it, None if it can't be valued.
    """

    car: Car
    prospect: Prospect
    preparation: Preparation
    brief: Brief | None


def selling_sale(costs: Costs) -> dict[str, str]:
    """Return the sale for which a car is valued: channel, venue and basis of the settings."""
    s = costs.selling
    stated = {"channel": s.channel, "venue": s.venue, "basis": s.basis, "outcome": "sold"}
    return {name: word for name, word in stated.items() if word}


def market_prospects(
    market: MarketModel,
    cars: Sequence[Car],
    costs: Costs,
    *,
    as_of: date | None = None,
    inspection: InspectionSettings | None = None,
) -> list[Candidate]:
    """Return what cars may bring in the selling channel on the expected day of the sale.

    Parameters
    ----------
    market : MarketModel
        Fitted and calibrated.
    cars : sequence of Car
        As they stand; each is valued as it will be after the work it lists.
    costs : Costs
        How and how soon they are sold.
    as_of : datetime.date, optional
        Day of the purchase; the day of the model by default.
    inspection : InspectionSettings, optional
        What zone marks count; those that come with the package without it.

    Returns
    -------
    list of Candidate
        In the order of the cars; one that can't be valued says why in its prospect.

    Raises
    ------
    CostsError
        If the costs are in another currency than the market.
    """
    if market.currency != costs.currency:
        raise CostsError(
            costs.where,
            f"the resale is in another currency than the market model, {market.currency}",
            got=costs.currency,
            remedy=f"State the costs in {market.currency}, or fit the sales in {costs.currency}",
        )
    held = inspection or default_inspection_settings()
    cars = [with_named_variant(market, car) for car in cars]
    done = [after_work(car, held) for car in cars]
    day = (as_of or market.as_of) if market.dated else None
    ahead = (costs.holding.days_low + costs.holding.days_high) / 2
    sale_on = day + timedelta(days=round(ahead)) if day else None
    sold = [work.car for work in done]
    sale = selling_sale(costs)
    briefs = brief_all(market, sold, sale=sale, as_of=sale_on)
    courses = market_courses_all(market, sold, as_of=day, days_ahead=ahead)
    channel = market.sale_of(sale)["channel"]
    return [
        _candidate(car, work, brief, course, costs, (sale_on, channel))
        for car, work, brief, course in zip(cars, done, briefs, courses, strict=True)
    ]


def _candidate(
    car: Car,
    work: AfterWork,
    brief: Brief | NoBrief,
    courses: Sequence[MarketCourse],
    costs: Costs,
    sale: tuple[date | None, str],
) -> Candidate:
    preparation = _preparation(car, work, costs)
    if isinstance(brief, NoBrief):
        nothing = Prospect(Spread.certain(0), 0.0, thin=brief.reason)
        return Candidate(car, nothing, preparation, None)
    notes = tuple(n for n in (title_note(car), *work.notes) if n)
    if not len(brief.offsets):
        empty = Prospect(
            Spread.certain(0), 0.0, evidence=brief.evidence, thin=_thin(brief), warnings=notes
        )
        return Candidate(car, empty, preparation, brief)
    asking = brief.basis == "asking price"
    if asking and not costs.selling.below_asking:
        notes = (*notes, ASKED)
    less = float(np.log1p(-float(costs.selling.below_asking) / 100)) if asking else 0.0
    points = brief.base + less + np.interp(_SHARES, GRID, brief.offsets)
    cents = np.floor(100 * np.exp(points) + 0.5)
    low, high = np.interp([0.16, 0.84], GRID, brief.offsets)
    prospect = Prospect(
        Spread.weighed(cents.astype(np.int64), np.ones(POINTS, dtype=np.int64)),
        float(high - low) / 2,
        *sale,
        brief.basis,
        tuple(Course(c.name, c.explanation, c.log_change) for c in courses),
        tuple(_at_stake(check, brief) for check in brief.checks),
        brief.evidence,
        "",
        notes,
    )
    return Candidate(car, prospect, preparation, brief)


_SHARES: Floats = (np.arange(POINTS) + 0.5) / POINTS

ASKED = (
    "The resale is an asking price: customers may pay less. State below_asking_percent in the "
    "cost settings."
)


def _thin(brief: Brief) -> str:
    """Say why no bid can rest on the evidence."""
    if brief.outside:
        return f"Evidence too thin to bid on: {'. '.join(brief.outside)}."
    return (
        "Evidence too thin to bid on: too few past forecasts can be checked to say how far the "
        "resale may be off."
    )


def _at_stake(check: Check, brief: Brief) -> FactAtStake:
    """Return a fact to check as what it does to the resale, on the log scale."""
    today = round(float(np.exp(brief.central)))
    bad, good = (float(np.log(max(x, 1) / today)) for x in (check.bad, check.good))
    place = f" Where: {check.where}." if check.where else ""
    tool = f" With: {check.tool}." if check.tool else ""
    return FactAtStake(
        check.label,
        check.state,
        check.if_bad,
        check.if_good,
        min(bad, 0.0),
        max(good, 0.0),
        check.bad_chance,
        check.good_chance,
        check.contradiction,
        f"{check.how}{place}{tool}",
        check.minutes,
    )


def _preparation(car: Car, work: AfterWork, costs: Costs) -> Preparation:
    """Return work and cures; what the car file leaves open of a cure the cost settings say."""
    for line in car.work:
        if line.currency not in ("", costs.currency):
            raise CarFileError(
                car.name,
                f"work is paid in another currency than the resale: {line.what}",
                got=line.currency,
                remedy=f"State its cost in {costs.currency}",
            )
    usual = costs.cures.get(str(car.values.get("title_status", "")))
    stops = tuple(_cured(stop, usual, costs) for stop in stops_of(car))
    return Preparation(car.work, tuple(_step(line) for line in work.lines), stops)


def _cured(stop: Stop, usual: Cure | None, costs: Costs) -> Stop:
    if usual is None or stop.days is not None or stop.low is not None:
        return stop if stop.currency else replace(stop, currency=costs.currency)
    return Stop(stop.reason, usual.days, usual.low, usual.high, usual.currency or costs.currency)


def _step(line: WorkLine) -> WorkStep:
    restores = f"from {_said(line.before)} to {_said(line.after)}" if line.counts else line.note
    return WorkStep(
        line.what, line.label or line.zone, restores, line.low, line.high, line.currency
    )


def _said(held: Held | None) -> str:
    if held is None:
        return "open"
    if isinstance(held, tuple):
        return " to ".join(f"{x:g}" if isinstance(x, float | int) else str(x) for x in held)
    return f"{held:g}" if isinstance(held, float | int) else str(held)
