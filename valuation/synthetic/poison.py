"""Sale files that must not move a model: prices in other amounts, and prices that are estimates."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

__all__ = ["chased", "doubled", "in_other_currency"]


def in_other_currency(
    table: pd.DataFrame, *, per_unit: float, named: str | None = None
) -> pd.DataFrame:
    """Return the same sales with amounts in another currency.

    Parameters
    ----------
    table : pandas.DataFrame
        The contract's table.
    per_unit : float
        What one unit of its own currency is in the other one.
    named : str, optional
        ISO 4217 code that the file then names; without it the old one stands there, and is wrong.

    Returns
    -------
    pandas.DataFrame
        A copy, amounts rounded to whole units.
    """
    out = table.assign(price=(table["price"] * per_unit).round())
    return out if named is None else out.assign(currency=named)


def doubled(table: pd.DataFrame) -> pd.DataFrame:
    """Return the same sales with every amount counted twice."""
    return table.assign(price=2 * table["price"])


def chased(
    table: pd.DataFrame, estimates: Mapping[str, float], *, share: float, seed: int
) -> pd.DataFrame:
    """Return the same sales, many of them with the estimate in place of the price.

    Parameters
    ----------
    table : pandas.DataFrame
        The contract's table.
    estimates : mapping of str to float
        What a model says of a sale, by ``sale_id``; a sale without one keeps its price.
    share : float
        Share of the sales whose price is replaced, 0 to 1.
    seed : int
        Seed of which ones.

    Returns
    -------
    pandas.DataFrame
        A copy; what replaces a price lies within a per cent of the estimate, as people round.
    """
    rng = np.random.default_rng(seed)
    repeats = rng.random(len(table)) < share
    slips = 1 + 0.01 * rng.uniform(-1, 1, len(table))
    said = table["sale_id"].map(lambda name: estimates.get(name, np.nan)).to_numpy(np.float64)
    price = np.where(repeats & np.isfinite(said), np.round(said * slips), table["price"])
    return table.assign(price=price)
