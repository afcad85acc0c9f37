"""A fixed panel of cars priced by two models for one day, line by line and cause by cause."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import sparse

from valuation.appraisal.appraise import appraise_all
from valuation.appraisal.batch import batches
from valuation.appraisal.market import MarketModel
from valuation.appraisal.outlook import Outlook
from valuation.appraisal.wordings import sale_title
from valuation.features.columns import key
from valuation.money import log_mean
from valuation.records import Car, Value
from valuation.results.change import CarChange, Cause, LineChange
from valuation.results.valuation import Valuation
from valuation.schema import ATTRIBUTES
from valuation.study.change_causes import Moves, contributions_to

__all__ = ["car_changes", "typical_panel"]

Floats = NDArray[np.float64]

SHOWN = 5
"""Sales that are named as causes, each way."""

_CLOSEST = ("closest sales", "earlier sale")


def typical_panel(frame: pd.DataFrame, *, most: int = 6) -> tuple[Car, ...]:
    """Return typical cars of the model lines with most sales.

    Parameters
    ----------
    frame : pandas.DataFrame
        Sales in the contract's columns.
    most : int
        How many model lines.

    Returns
    -------
    tuple of Car
        Each states what at least half of the sales of its line state: the median of a number, the
        most frequent word of a category.
    """
    named = frame[frame["make"].notna() & frame["model"].notna()]
    line = named["make"].map(key) + " | " + named["model"].map(key)
    counts = sorted((-int(n), str(name)) for name, n in line.value_counts().items())
    return tuple(_typical(named[line == name]) for _, name in counts[:most])


def _typical(sales: pd.DataFrame) -> Car:
    values: dict[str, Value] = {}
    for a in ATTRIBUTES:
        stated = sales[a.name].dropna()
        if a.kind == "set" or not len(stated) or 2 * len(stated) < len(sales):
            continue
        if a.kind == "number":
            middle = float(stated.median())
            values[a.name] = round(middle) if a.name == "year" else middle
        else:
            values[a.name] = sorted(stated.mode())[0]
    return Car(values, label=f"Typical {values['make']} {values['model']}")


def car_changes(
    old: MarketModel,
    new: MarketModel,
    moves: Moves,
    *,
    typical: Sequence[Car],
    named: Sequence[Car],
    as_of: date | None,
) -> tuple[CarChange, ...]:
    """Price a panel of cars by two models and say what moved each.

    Parameters
    ----------
    old, new : MarketModel
        Models of one market.
    moves : Moves
        The sales in which they differ.
    typical, named : sequence of Car
        Typical cars of model lines, and cars of the firm.
    as_of : datetime.date or None
        Day for which both models price; None for undated lists.

    Returns
    -------
    tuple of CarChange
        In the order of the cars, typical ones first.
    """
    cars = [*typical, *named]
    if not cars:
        return ()
    valued = [appraise_all(market, cars, as_of=as_of) for market in (old, new)]
    before, _ = _outlooks(old, cars, as_of)
    after, X = _outlooks(new, cars, as_of)
    shares = contributions_to(new.fitted, moves, X)
    return tuple(
        _car_change(
            valued[0][i],
            valued[1][i],
            before[i],
            after[i],
            shares[i],
            moves,
            typical=i < len(typical),
        )
        for i in range(len(cars))
    )


def _outlooks(
    market: MarketModel, cars: Sequence[Car], as_of: date | None
) -> tuple[list[Outlook], sparse.csr_array]:
    """Return outlooks and columns of cars as they are priced."""
    made = list(batches(market, cars, as_of=as_of))
    X = sparse.csr_array(sparse.vstack([b.forecast.design.X for b in made]))
    return [out for b in made for out in b.outlooks], X


def _car_change(
    old: Valuation,
    new: Valuation,
    before: Outlook,
    after: Outlook,
    shares: Floats,
    moves: Moves,
    *,
    typical: bool,
) -> CarChange:
    # All steps are in money of the logarithmic mean of the two prices, so they add up.
    factor = log_mean(float(old.central), float(new.central))
    from_sales = round(factor * float(shares.sum()))
    closest = round(factor * (after.deviation - before.deviation))
    order = np.argsort(shares, kind="stable")
    down = [_cause(moves, int(k), shares, factor) for k in order[:SHOWN] if shares[k] < 0]
    up = [_cause(moves, int(k), shares, factor) for k in order[::-1][:SHOWN] if shares[k] > 0]
    return CarChange(
        car=new.car,
        typical=typical,
        old=old.central,
        new=new.central,
        lines=_lines(old, new),
        from_sales=from_sales,
        closest_sales=closest,
        rest=new.central - old.central - from_sales - closest,
        up=tuple(up),
        down=tuple(down),
        sales=int((shares != 0).sum()),
    )


def _lines(old: Valuation, new: Valuation) -> tuple[LineChange, ...]:
    """Set the lines of two explanations side by side, the start first."""
    lines = [LineChange("start", new.start_label, "", old.start, new.start)]
    amounts = [_by_attribute(v) for v in (old, new)]
    names = dict.fromkeys([*amounts[1], *amounts[0]])
    for name in names:
        label, value, after = amounts[1].get(name, ("", "", 0))
        was, worded, before = amounts[0].get(name, ("", "", 0))
        lines.append(LineChange(name, label or was, value or worded, before, after))
    return tuple(lines)


def _by_attribute(valuation: Valuation) -> dict[str, tuple[str, str, int]]:
    """Return label, value and amount of each attribute, the words of an advert as one."""
    out: dict[str, tuple[str, str, int]] = {}
    for c in valuation.contributions:
        _, value, amount = out.get(c.attribute, ("", "", 0))
        joined = f"{value}, {c.value}" if value and c.value else value or c.value
        out[c.attribute] = (c.label, joined, amount + c.amount)
    return out


def _cause(moves: Moves, at: int, shares: Floats, factor: float) -> Cause:
    row = {str(name): value for name, value in moves.frame.iloc[at].items()}
    day = row["sale_date"]
    effect = float(shares[at])
    return Cause(
        kind=moves.kinds[at],
        title=sale_title(row),
        sale_key=_text(row.get("sale_key")),
        sale_id=_text(row.get("sale_id")),
        file=_text(row.get("file")),
        row=int(row.get("row") or 0),
        sale_date=None if pd.isna(day) else day.date(),
        price=float(row["price"]),
        expected=float(np.exp(moves.expected[at])),
        percent=100.0 * float(np.expm1(effect)),
        amount=factor * effect,
    )


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""
