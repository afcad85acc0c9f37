"""The adjustment grid: what each comparable sale would have brought as this car, today."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.wordings import label_of, sale_title, say
from valuation.models.comparables import Neighbourhood
from valuation.money import log_mean, whole_units
from valuation.results.valuation import Adjustment, Comparable

__all__ = ["adjustment_grid", "choose"]

Floats = NDArray[np.float64]

SHOWN = 0.001
"""Adjustments smaller than this log effect are joined."""


def choose(around: Neighbourhood, adjusted: Floats, central: float, *, most: int = 6) -> list[int]:
    """Choose the sales to show: those with most weight, one on each side of the estimate.

    Parameters
    ----------
    around : Neighbourhood
        Sales around the car.
    adjusted : ndarray
        Log adjusted price of each.
    central : float
        Log central value.
    most : int
        Largest number shown.

    Returns
    -------
    list of int
        Positions within `around`, most weight first.
    """
    order = np.argsort(-around.weight, kind="stable")
    shown = order[:most].tolist()
    above = adjusted > central
    for side in (above, ~above):
        others = [i for i in order.tolist() if side[i]]
        if others and not side[shown].any() and len(shown) > 1:
            shown[-1] = others[0]
    return [int(i) for i in shown]


def adjustment_grid(
    around: Neighbourhood,
    shown: list[int],
    *,
    effects: Floats,
    theirs: NDArray[np.float32],
    attributes: tuple[str, ...],
    columns: Mapping[str, NDArray[Any]],
    cells: Mapping[str, Any],
) -> tuple[Comparable, ...]:
    """Return comparable sales with every adjustment in money.

    Parameters
    ----------
    around : Neighbourhood
        Sales around the car.
    shown : list of int
        Positions within it to show.
    effects : ndarray, shape (n_attributes,)
        Log effects of the car.
    theirs : ndarray, shape (n_sales, n_attributes)
        Log effects of all sales.
    attributes : tuple of str
        Names of the attributes.
    columns : mapping of str to ndarray, shape (n_sales,)
        The sales as they were read, by column.
    cells : mapping of str to object
        The car's values.
    """
    total = float(around.weight.sum()) or 1.0
    ours: dict[str, str] = {name: say(name, cells) for name in attributes}
    out = []
    for i in shown:
        row = int(around.rows[i])
        sale: dict[str, Any] = {k: v[row] for k, v in columns.items()}
        day = sale["sale_date"].astype("datetime64[D]")
        sale["sale_date"] = None if np.isnat(day) else day.item()
        step = effects - theirs[row].astype(np.float64)
        out.append(_comparable(sale, step, ours, float(around.weight[i]) / total))
    return tuple(out)


def _comparable(
    sale: Mapping[str, Any], step: Floats, ours: Mapping[str, str], weight: float
) -> Comparable:
    # A price converted from another currency has a fraction: what is shown is what is adjusted,
    # so that a reader who takes it up by the percentage gets the adjusted price.
    price = float(math.floor(float(sale["price"]) + 0.5))
    net = float(step.sum())
    factor = log_mean(price, price * float(np.exp(net)))
    effects, attributes = step.tolist(), list(ours)
    order = sorted(
        (k for k, effect in enumerate(effects) if abs(effect) >= SHOWN),
        key=lambda k: (attributes[k] != "market", -abs(effects[k])),
    )
    rest = net - float(step[order].sum())
    named = [(attributes[k], effects[k]) for k in order]
    if named and abs(rest) < SHOWN:
        named[-1] = (named[-1][0], named[-1][1] + rest)
    elif rest:
        named.append(("everything else", rest))
    whole = whole_units([price, *[factor * e for _, e in named]])
    steps = tuple(
        Adjustment(
            name, label_of(name), say(name, sale), ours.get(name, ""), amount, 100.0 * effect
        )
        for (name, effect), amount in zip(named, whole[1:], strict=True)
    )
    day = sale["sale_date"]
    return Comparable(
        str(sale.get("sale_id") or ""),
        sale_title(sale),
        day if isinstance(day, date) else None,
        whole[0],
        sum(whole),
        100.0 * net,
        100.0 * float(np.abs(step).sum()),
        weight,
        str(sale.get("basis") or "unknown"),
        str(sale.get("outcome") or "unknown"),
        str(sale.get("channel") or ""),
        steps,
    )
