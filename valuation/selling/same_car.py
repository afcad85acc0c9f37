"""Which sales of the evidence may be the firm's own purchase of a car.

A purchase often stands in the evidence as an ordinary sale: the firm bought at an auction whose
results it collects.  It is found by chassis number; by what is known of the purchase, where the
list gives no number or writes it otherwise; and where nothing is known of the purchase, by all that
tells cars apart.  A sale that states too little to be told from others of its model and year is
not found: nobody could tell whose it was, but its price is in the evidence.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.evidence.like_purchase import Bought, like_purchase, same_model
from valuation.importing.repeats import REOFFER_DAYS, chassis_key
from valuation.reading.text import compact, fold
from valuation.records import Car, Value
from valuation.schema.as_built import AS_BUILT
from valuation.selling.chassis_alike import chassis_alike

__all__ = ["KEPT_APART", "sales_of_car"]

Ints = NDArray[np.intp]
Columns = Mapping[str, NDArray[Any]]

KEPT_APART = REOFFER_DAYS
"""A sale of the same car so many days before a purchase is another event, and may be shown."""

SAME_MILEAGE = 0.005
"""Share by which the mileage of one car may differ between its purchase and its sale."""

FAR_MILEAGE = 0.05
"""Share from which on two mileages are those of two cars, or of another time."""

FEW_MILES = 30.0
"""The same for a car that has hardly run."""

AGREE = 5
"""Facts beside the model, the year among them, that have to agree where no mileage does."""

AGREE_WITH_MILEAGE = 4
"""The same where the mileage agrees but the chassis number is another."""

TITLE_WORDS = 5
"""A title of so many words is one car's: two adverts do not agree in it by chance."""

_NUMBERS_AGREE = 0.02

_TOLD = tuple(
    a
    for a in AS_BUILT
    if a.kind != "set" and a.name not in ("make", "model", "annual_tax", "fuel_economy")
)
"""What tells cars of one model apart, beside the mileage."""

_COLOURS = ("colour", "interior_colour")


@dataclass(frozen=True, slots=True)
class _Likeness:
    """How a sale compares to a car: what agrees, how much does not, how its number reads."""

    agree: tuple[str, ...]
    differ: int
    mileage: bool
    title: bool
    number: str

    @property
    def same(self) -> bool:
        """Whether the sale may well be of the very car."""
        if self.number == "alike":
            return True
        if self.number == "other":
            # Only a number that somebody got wrong can hide the same car.
            return self.mileage and not self.differ and len(self.agree) >= AGREE_WITH_MILEAGE
        if self.mileage or self.title:
            # One fact may have been changed in the workshop, or been stated wrongly.
            return self.differ <= 1
        coloured = any(name in self.agree for name in _COLOURS)
        return not self.differ and coloured and len(self.agree) >= AGREE


def sales_of_car(columns: Columns, car: Car, known: Sequence[tuple[date, float | None]]) -> Ints:
    """Return the sales to leave out of what a customer of a car is shown.

    Parameters
    ----------
    columns : mapping of str to ndarray, shape (n_sales,)
        Sales in the contract's columns, with ``own`` if the firm's own are marked.
    car : Car
        The car.
    known : sequence of (datetime.date, float or None)
        Day and price of purchases by the firm that are known beside those marked in `columns`.

    Returns
    -------
    ndarray of int
        Positions, ascending.  In all cases the sales of the very chassis and of the same car with
        an own mark ``bought``; if a purchase is known, less those of the chassis at least
        :data:`KEPT_APART` days before the last purchase and that far from every other, and with
        every sale that matches a purchase
        (:func:`valuation.evidence.like_purchase.like_purchase`) or is the same car by what tells
        cars apart and less than :data:`KEPT_APART` days from one; if none is known, with every
        sale that is the same car by what tells cars apart.
    """
    values = car.values
    keys = _keys(columns)
    mine = chassis_key(car.chassis, values.get("make"))
    named = np.array([bool(mine) and key == mine for key in keys], dtype=bool)
    bought = _marked(columns)
    alike = _alike(columns, car, keys)
    ours = bought & (named | _same_line(columns, car, keys, mine))
    # A purchase of the model that names no chassis is left out, but it may be of another car:
    # that this one was bought then is not known.
    purchases = [*known, *_purchases(columns, bought & named)]
    out = named | ours
    if not purchases:
        out |= alike
        return np.flatnonzero(out)
    apart = _apart(columns["sale_date"], [day for day, _ in purchases])
    out &= ~apart | ours
    out |= alike & ~apart & _close(columns["sale_date"], [day for day, _ in purchases])
    for day, price in purchases:
        out[_like(columns, values, day, price)] = True
    sold = _own(columns) == "sold"
    return np.flatnonzero(out & ~(sold & ~named))


def _own(columns: Columns) -> NDArray[Any]:
    none = np.full(len(columns["price"]), None, dtype=object)
    return np.asarray(columns.get("own", none))


def _marked(columns: Columns) -> NDArray[np.bool_]:
    return np.asarray(_own(columns) == "bought", dtype=bool)


def _keys(columns: Columns) -> list[str]:
    """Return the key of each chassis number, empty where there is none."""
    pairs = zip(columns["chassis"].tolist(), columns["make"].tolist(), strict=True)
    return [chassis_key(chassis, make) if chassis else "" for chassis, make in pairs]


def _purchases(columns: Columns, rows: NDArray[np.bool_]) -> list[tuple[date, float | None]]:
    """Return day and price of purchases that are marked in the evidence."""
    days = columns["sale_date"].astype("datetime64[D]")
    return [
        (days[i].item(), float(columns["price"][i]))
        for i in np.flatnonzero(rows & ~np.isnat(days)).tolist()
    ]


def _same_line(columns: Columns, car: Car, keys: Sequence[str], mine: str) -> NDArray[np.bool_]:
    """Mark sales of about the car's year and of its model that name no other chassis."""
    out = np.zeros(len(keys), dtype=bool)
    for i in _of_line(columns, car.values):
        out[i] = _number(keys[i], mine) != "other"
    return out


def _of_line(columns: Columns, values: Mapping[str, Value]) -> list[int]:
    """Return the sales of the make and model and of about the year of a car."""
    year, make = values.get("year"), compact(str(values.get("make", "")))
    near = np.ones(len(columns["price"]), dtype=bool)
    if isinstance(year, float | int):
        years = columns["year"].astype(np.float64)
        near = np.isnan(years) | (np.abs(years - year) <= 1)
    model = str(values.get("model", ""))
    return [
        i
        for i in np.flatnonzero(near).tolist()
        if compact(str(columns["make"][i])) == make
        and same_model(str(columns["model"][i] or ""), model)
    ]


def _apart(days: NDArray[Any], purchases: Sequence[date]) -> NDArray[np.bool_]:
    """Mark sales long enough before the last purchase and away from all others."""
    at = days.astype("datetime64[D]")
    gap = np.timedelta64(KEPT_APART, "D")
    out = at <= np.datetime64(max(purchases), "D") - gap
    for day in purchases:
        out &= np.abs(at - np.datetime64(day, "D")) >= gap
    return np.asarray(out)


def _close(days: NDArray[Any], purchases: Sequence[date]) -> NDArray[np.bool_]:
    """Mark sales near a purchase."""
    at = days.astype("datetime64[D]")
    gap = np.timedelta64(KEPT_APART, "D")
    near = [np.abs(at - np.datetime64(day, "D")) < gap for day in purchases]
    return np.asarray(np.any(near, axis=0) | np.isnat(at))


def _like(columns: Columns, values: Mapping[str, Value], day: date, price: float | None) -> Ints:
    year = values.get("year")
    known = Bought(
        str(values.get("make", "")),
        str(values.get("model", "")),
        float(year) if isinstance(year, float | int) else float("nan"),
        day,
        price,
    )
    return like_purchase(columns, known)


def _alike(columns: Columns, car: Car, keys: Sequence[str]) -> NDArray[np.bool_]:
    """Mark sales that are the same car by all that tells cars apart."""
    out = np.zeros(len(keys), dtype=bool)
    mine = chassis_key(car.chassis, car.values.get("make"))
    for i in _of_line(columns, car.values):
        sale = {name: columns[name][i] for name in (*(a.name for a in _TOLD), "mileage", "title")}
        out[i] = _likeness(sale, car, _number(keys[i], mine)).same
    return out


def _number(theirs: str, mine: str) -> str:
    """Say how the chassis number of a sale reads beside that of the car."""
    if not theirs or not mine:
        return ""
    if chassis_alike(theirs, mine):
        return "alike"
    one, other = (key.rpartition(":")[2] for key in (theirs, mine))
    # A few signs of a number are some of its figures, and tell neither way.
    return "" if one in other or other in one else "other"


def _likeness(sale: Mapping[str, Any], car: Car, number: str) -> _Likeness:
    agree, differ = [], 0
    for attribute in _TOLD:
        ours, theirs = car.values.get(attribute.name), sale[attribute.name]
        if ours is None or theirs is None or theirs != theirs:
            continue
        if _agrees(attribute.name, ours, theirs):
            agree.append(attribute.name)
        else:
            differ += 1
    title = _same_title(car, sale["title"])
    run = _run_apart(car.values.get("mileage"), sale["mileage"])
    differ += run == "far"
    return _Likeness(tuple(agree), differ, run == "same", title, number)


def _agrees(name: str, ours: Any, theirs: Any) -> bool:
    if name == "year":
        return bool(ours == theirs)
    if isinstance(ours, float | int):
        return abs(float(theirs) - ours) <= _NUMBERS_AGREE * abs(ours)
    one, other = compact(str(ours)), compact(str(theirs))
    return one == other or fold(str(ours)) == fold(str(theirs))


def _run_apart(ours: Any, theirs: Any) -> str:
    """Say how far two mileages are apart: ``same``, ``far``, or empty where that tells nothing."""
    if not isinstance(ours, float | int) or theirs is None or theirs != theirs:
        return ""
    apart = abs(float(theirs) - ours)
    if apart <= max(SAME_MILEAGE * ours, FEW_MILES):
        return "same"
    # A rounded mileage is not far.
    return "far" if apart > max(FAR_MILEAGE * ours, 1000.0) else ""


def _same_title(car: Car, theirs: Any) -> bool:
    if not isinstance(theirs, str) or len(fold(theirs).split()) < TITLE_WORDS:
        return False
    return compact(theirs) == compact(car.title)
