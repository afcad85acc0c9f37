"""What a bid needs to know of a car, and no more: for a run list of a thousand in a second."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.batch import Batch, batches, lacking, sure_of_day
from valuation.appraisal.checks import contradictions, what_to_check
from valuation.appraisal.market import MarketModel
from valuation.appraisal.strength import judge
from valuation.appraisal.unsettled import PricedFact
from valuation.features.columns import key
from valuation.money import format_money
from valuation.records import Car
from valuation.results.valuation import Check, Evidence
from valuation.running.threads import one_thread

__all__ = ["Brief", "EarlierSale", "NoBrief", "brief_all", "brief_of"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class EarlierSale:
    """A sale of the very car in the evidence.

    Parameters
    ----------
    sale_date : datetime.date or None
        Its day, None in an undated list.
    price : float
        The amount on the record.
    currency : str
        Its currency, that of the book.
    sale_id, outcome : str
        Which sale it was, and whether the car sold.
    """

    sale_date: date | None
    price: float
    currency: str
    sale_id: str
    outcome: str


@dataclass(frozen=True)
class Brief:
    """What one car is worth and how sure that is, without the explanation.

    Parameters
    ----------
    car : Car
        The car as it was given.
    name : str
        Its name for people.
    as_of : datetime.date or None
        Day for which it is valued; None for an undated list.
    currency, basis, estimand : str
        What the amounts are, as for :class:`valuation.results.valuation.Valuation`.
    fitted : float
        Log price by its attributes alone.
    base : float
        The same with what the closest sales brought beyond their attributes.
    offsets : ndarray, shape (n_grid,)
        Quantiles of the log price around `base` at :data:`valuation.models.ranges.GRID`; empty
        if past forecasts are too few, or if the car lies outside the evidence.
    central : float
        Log of the central estimate.
    outside : tuple of str
        Why it lies outside the evidence, in sentences; empty if it doesn't.
    evidence : Evidence
        How much stands behind it.
    checks : tuple of Check
        Facts to check before bidding, the one most worth knowing first.
    facts : tuple of PricedFact
        The same facts with what each of their values does to the price.
    earlier : tuple of EarlierSale
        Sales of the very chassis in the evidence, oldest first.
    """

    car: Car
    name: str
    as_of: date | None
    currency: str
    basis: str
    estimand: str
    fitted: float
    base: float
    offsets: Floats
    central: float
    outside: tuple[str, ...]
    evidence: Evidence
    checks: tuple[Check, ...] = ()
    facts: tuple[PricedFact, ...] = ()
    earlier: tuple[EarlierSale, ...] = ()

    def summary(self) -> str:
        """Return the car, its central estimate and the evidence in one line."""
        day = f" on {self.as_of.isoformat()}" if self.as_of else ""
        central = format_money(round(float(np.exp(self.central))), self.currency)
        e = self.evidence
        behind = f"evidence {e.strength}, {e.sales} sales of the same {e.level}"
        return f"{self.name}{day}: {central} ({self.estimand}, {self.basis}); {behind}"

    def to_dict(self) -> dict[str, Any]:
        """Return plain values: amounts in whole currency units, quantiles as log offsets."""
        earlier = [
            asdict(e) | {"sale_date": e.sale_date.isoformat() if e.sale_date else None}
            for e in self.earlier
        ]
        return {
            "car": self.name,
            "as_of": self.as_of.isoformat() if self.as_of else None,
            "currency": self.currency,
            "basis": self.basis,
            "estimand": self.estimand,
            "central": round(float(np.exp(self.central))),
            "base": round(float(np.exp(self.base))),
            "offsets": self.offsets.tolist(),
            "outside": list(self.outside),
            "evidence": asdict(self.evidence) | {"warnings": list(self.evidence.warnings)},
            "checks": [asdict(c) for c in self.checks],
            "earlier": earlier,
        }


@dataclass(frozen=True, slots=True)
class NoBrief:
    """A car that can't be valued.

    Parameters
    ----------
    car : Car
        The car.
    name : str
        Its name for people.
    reason : str
        Why not and what to do, in one sentence.
    """

    car: Car
    name: str
    reason: str


def brief_all(
    market: MarketModel,
    cars: Sequence[Car],
    *,
    sale: Mapping[str, str] | None = None,
    as_of: date | None = None,
) -> list[Brief | NoBrief]:
    """Say of many cars what a bid needs to know.

    Parameters
    ----------
    market : MarketModel
        Fitted and calibrated.
    cars : sequence of Car
        The cars.
    sale : mapping of str to str, optional
        The sale all cars are valued for (``channel``, ``basis`` and so on), in place of the one
        each names; what it leaves out is as usual for its channel.
    as_of : datetime.date, optional
        Day of the valuations; the day of the model by default.

    Returns
    -------
    list of Brief or NoBrief
        In the order of the cars.  A car without year or make gives the reason and stops no other.

    Raises
    ------
    SettingsError
        If a day is given for an undated list, or `sale` names anything that is no fact of a sale.
    """
    as_of = sure_of_day(market, as_of)
    whole = [car for car in cars if not lacking(car)]
    with one_thread():
        made = (
            brief_of(batch, i)
            for batch in batches(market, whole, as_of=as_of, sale=sale)
            for i in range(len(batch.cars))
        )
        return [_no_brief(car) if lacking(car) else next(made) for car in cars]


def _no_brief(car: Car) -> NoBrief:
    missing = " and ".join(lacking(car))
    reason = (
        f"A car can't be valued without {missing}: state {missing}, or a title that holds them."
    )
    return NoBrief(car, car.name, reason)


def brief_of(batch: Batch, i: int) -> Brief:
    """Return what a bid needs to know of one car of a batch."""
    market, car, out, outside = batch.market, batch.cars[i], batch.outlooks[i], batch.outside[i]
    facts = batch.unsettled[i].facts
    evidence = judge(
        car,
        spec=market.fitted.spec,
        table=batch.table,
        at=i,
        around=batch.forecast.around[i],
        row=int(batch.starts.rows[i]),
        level=batch.starts.levels[i],
        typical=market.typical,
        outside=outside,
        assumed=batch.assumed[i],
        day=batch.as_of,
        last_day=market.fitted.last_day,
        contradicted=contradictions(facts, out.central, market.currency),
    )
    return Brief(
        car,
        car.name,
        batch.as_of,
        market.currency,
        batch.sales[i]["basis"],
        market.estimand,
        out.fitted,
        out.fitted + out.deviation,
        np.zeros(0) if outside else out.offsets,
        out.central,
        outside,
        evidence,
        what_to_check(facts, out.central),
        facts,
        _earlier(market, car.chassis),
    )


def _earlier(market: MarketModel, chassis: str) -> tuple[EarlierSale, ...]:
    """Return the sales of a chassis, oldest first."""
    code = market.fitted.codes["chassis"].get(key(chassis), -1)
    if code < 0:
        return ()
    columns, out = market.columns, []
    for row in np.flatnonzero(market.fitted.sales.chassis == code).tolist():
        day = columns["sale_date"][row].astype("datetime64[D]")
        out.append(
            EarlierSale(
                None if np.isnat(day) else day.item(),
                float(columns["price"][row]),
                market.currency,
                str(columns["sale_id"][row] or ""),
                str(columns["outcome"][row] or "unknown"),
            )
        )
    return tuple(out)
