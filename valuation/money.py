"""Exact amounts of money in a named currency, and the split of a difference into lines."""

from __future__ import annotations

import math
from collections.abc import Sequence

__all__ = ["format_money", "log_mean", "split_in_money", "whole_units"]


def log_mean(p0: float, p1: float) -> float:
    """Return the logarithmic mean of two positive amounts.

    ``L = (p1 - p0) / ln(p1 / p0)``, and ``p0`` when they are equal.  A log effect times ``L`` is
    its share of ``p1 - p0``: exact, symmetric and independent of order (logarithmic-mean Divisia
    decomposition, Ang 2004).

    Parameters
    ----------
    p0, p1 : float
        Positive amounts.

    Returns
    -------
    float
        The logarithmic mean, between ``p0`` and ``p1``.

    Examples
    --------
    >>> round(log_mean(40_000, 49_680), 2)
    44665.31
    """
    if not (p0 > 0 and p1 > 0):
        raise ValueError(f"log_mean: both amounts must be positive (got: {p0!r}, {p1!r})")
    t = math.log(p1 / p0)
    # sinh(t/2)/(t/2) is exact where the direct quotient would cancel.
    return math.sqrt(p0 * p1) * (math.sinh(t / 2) / (t / 2) if abs(t) > 1e-8 else 1.0)


def split_in_money(p0: float, effects: Sequence[float]) -> list[float]:
    """Split ``p0 * exp(sum(effects)) - p0`` into one amount for each log effect.

    Parameters
    ----------
    p0 : float
        Start amount, positive.
    effects : sequence of float
        Log effects.

    Returns
    -------
    list of float
        Amounts in the order of `effects`; they add up to the whole difference.

    Examples
    --------
    >>> import math
    >>> [round(x, 2) for x in split_in_money(40_000, [math.log(f) for f in (1.2, 1.25, 0.9, 0.92)])]
    [8143.45, 9966.78, -4705.96, -3724.27]
    """
    factor = log_mean(p0, p0 * math.exp(math.fsum(effects)))
    return [factor * e for e in effects]


def whole_units(amounts: Sequence[float], *, total: int | None = None) -> list[int]:
    """Round amounts to whole units so that they still add up to the rounded sum.

    The largest-remainder method: everything is rounded down, and the units that are missing from
    the rounded total go to the largest remainders (ties to the earlier line).

    Parameters
    ----------
    amounts : sequence of float
        Amounts of any sign.
    total : int, optional
        What they have to add up to, within one unit of their sum; that sum rounded by default.

    Returns
    -------
    list of int
        Whole amounts, each within one unit of its origin; their sum is ``round(sum(amounts))``.

    Examples
    --------
    >>> whole_units([0.4, 0.4, 0.4])
    [1, 0, 0]
    """
    floors = [math.floor(a) for a in amounts]
    whole = math.floor(math.fsum(amounts) + 0.5) if total is None else total
    missing = whole - sum(floors)
    order = sorted(range(len(floors)), key=lambda i: (floors[i] - amounts[i], i))
    for i in order[:missing]:
        floors[i] += 1
    return floors


def format_money(amount: float, currency: str, *, signed: bool = False) -> str:
    """Write an amount in whole units with its currency.

    Examples
    --------
    >>> format_money(-1234.4, "EUR", signed=True)
    '-1,234 EUR'
    >>> format_money(1234.6, "EUR", signed=True)
    '+1,235 EUR'
    """
    whole = math.floor(abs(amount) + 0.5)
    if whole == 0:
        return f"0 {currency}".strip()
    sign = "-" if amount < 0 else "+" if signed else ""
    return f"{sign}{whole:,} {currency}".strip()
