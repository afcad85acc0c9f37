"""The contract table of a synthetic market: what was stated, in the contract's own words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from valuation.records import empty_table
from valuation.schema import BY_NAME
from valuation.schema.sale import BASES, OUTCOMES
from valuation.synthetic.cars import State
from valuation.synthetic.catalogue import GENERATIONS, VARIANTS, Lines
from valuation.synthetic.effects import LEVELS, SETS, Array
from valuation.synthetic.words import chassis_numbers, write_titles
from valuation.synthetic.world import CHANNELS, REGIONS, VENUES

__all__ = ["actual_words", "build_table", "words_of_masks"]

_ASPIRATION = {"Pressure Charged": "supercharged", "Turbo Ice Race": "turbocharged"}
_UNKNOWN_BASIS, _UNKNOWN_OUTCOME = 0.02, 0.005


_NOTHING: Any = None


def _lookup(levels: Sequence[Any], codes: Array) -> Array:
    """Return the level of each code; -1 becomes None."""
    table = np.empty(len(levels) + 1, dtype=object)
    table[: len(levels)] = levels
    table[len(levels)] = None
    found: Array = table[codes]
    return found


def words_of_masks(name: str, masks: Array) -> Array:
    """Return the sorted words of each mask of a set, as the contract stores them.

    Parameters
    ----------
    name : str
        Name of the set.
    masks : numpy.ndarray of int, shape (n,)
        Bits in the order of ``SETS[name]``.

    Returns
    -------
    numpy.ndarray of tuple of str, shape (n,)
        The empty tuple where no bit is set.
    """
    unique, inverse = np.unique(masks, return_inverse=True)
    table = np.empty(len(unique), dtype=object)
    for i, mask in enumerate(unique.tolist()):
        table[i] = tuple(sorted(w for b, w in enumerate(SETS[name]) if mask >> b & 1))
    found: Array = table[inverse]
    return found


def actual_words(lines: Lines, state: State) -> dict[str, Array]:
    """Return all true values of cars in the contract's words.

    Parameters
    ----------
    lines : Lines
        Model lines.
    state : State
        True cars.

    Returns
    -------
    dict of str to numpy.ndarray
        One array an attribute; None where a category does not apply to the car.
    """
    line, specs = state["line"], lines.specs
    variant = _lookup(VARIANTS, state["variant"])
    charged = _lookup([_ASPIRATION.get(v, "natural") for v in VARIANTS], state["variant"])
    words = {
        "make": _lookup([s.make for s in specs], line),
        "model": _lookup([s.model for s in specs], line),
        "generation": _lookup(GENERATIONS, state["generation"]),
        "variant": variant,
        "engine_layout": _lookup([s.layout for s in specs], line),
        "aspiration": charged,
    }
    for name in BY_NAME:
        if name in words or name not in state:
            continue
        kind = BY_NAME[name].kind
        if kind == "category":
            words[name] = _lookup(LEVELS[name], state[name])
        elif kind == "set":
            words[name] = words_of_masks(name, state[name])
        else:
            words[name] = state[name].astype(float)
    return words


def build_table(
    lines: Lines,
    state: State,
    sale: Mapping[str, Array],
    stated: Mapping[str, Array],
    shown: Mapping[str, Array],
    currency: str,
    rng: np.random.Generator,
) -> pd.DataFrame:
    """Write the records of a market down as its sellers and houses would.

    Parameters
    ----------
    lines : Lines
        Model lines.
    state : State
        True cars, one a record.
    sale : mapping of str to numpy.ndarray
        Occasions with their prices, and ``car``.
    stated, shown : mapping of str to numpy.ndarray
        What is stated, and which words of sets.
    currency : str
        ISO 4217 code.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    pandas.DataFrame
        The contract's table, see :class:`valuation.records.SalesBook`.
    """
    table = empty_table(len(sale["day"]))
    actual = actual_words(lines, state)
    for name, values in actual.items():
        said = words_of_masks(name, shown[name]) if name in SETS else values
        if name in stated:
            nothing: Any = np.nan if BY_NAME[name].kind == "number" else None
            said = np.where(stated[name], said, nothing)
        table[name] = pd.Series(said, dtype=table[name].dtype)
    for name, values in _sale_columns(sale, currency, rng).items():
        table[name] = pd.Series(values, dtype=table[name].dtype)
    table["chassis"] = pd.Series(_chassis_column(sale, state, actual, rng), dtype=object)
    titles = write_titles(actual, table, rng)
    table["title"] = pd.Series(titles, dtype=object)
    table["file"] = pd.Series(["synthetic market"] * len(table), dtype=object)
    table["row"] = np.arange(2, len(table) + 2)
    return table


def _sale_columns(
    sale: Mapping[str, Array], currency: str, rng: np.random.Generator
) -> dict[str, Any]:
    n = len(sale["day"])
    basis = np.where(rng.random(n) < _UNKNOWN_BASIS, BASES.index("unknown"), sale["basis"])
    unknown = rng.random(n) < _UNKNOWN_OUTCOME
    outcome = np.where(unknown, OUTCOMES.index("unknown"), sale["outcome"])
    auction = sale["channel"] <= CHANNELS.index("online auction")
    told = np.where(rng.random(n) < 0.75, "yes", "not stated")
    reserve = np.where(np.isnan(sale["reserve_price"]), "none", told).astype(object)
    return {
        "sale_id": [f"S{i:07d}" for i in range(1, n + 1)],
        "sale_date": sale["day"].astype("datetime64[D]").astype("datetime64[s]"),
        "price": sale["price"],
        "currency": np.full(n, currency, dtype=object),
        "basis": _lookup(BASES, basis),
        "outcome": _lookup(OUTCOMES, outcome),
        "reserve": np.where(auction, reserve, _NOTHING),
        "channel": _lookup(CHANNELS, sale["channel"]),
        "venue": _lookup([v.name or None for v in VENUES], sale["venue"]),
        "region": _lookup(REGIONS, sale["region"]),
    }


def _chassis_column(
    sale: Mapping[str, Array], state: State, actual: Mapping[str, Array], rng: np.random.Generator
) -> Array:
    auction = sale["channel"] <= CHANNELS.index("online auction")
    told = rng.random(len(auction)) < np.where(auction, 0.9, 0.65)
    numbers = chassis_numbers(sale["car"], actual["make"].tolist(), state["line"], state["year"])
    column: Array = np.where(told, np.array(numbers, dtype=object), _NOTHING)
    return column
