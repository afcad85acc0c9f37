"""The true expected log price of one car that may never have been sold."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import numpy as np

from valuation.errors import SettingsError
from valuation.records import Value
from valuation.schema import BY_NAME
from valuation.schema.sale import BASES
from valuation.synthetic.catalogue import GENERATIONS, VARIANTS, Lines
from valuation.synthetic.effects import LEVELS, SETS
from valuation.synthetic.levels import as_days
from valuation.synthetic.pricing import World, basis_part, contributions

__all__ = ["true_parts"]

_DESCRIBED_BY_OTHERS = ("make", "engine_layout", "aspiration")
_OCCASION = ("channel", "venue", "region")
# What follows from the model line and the year where nobody states it.
_NEVER_SILENT = ("model", "year", "generation", "variant", "engine_size")


def true_parts(
    world: World,
    silent: Mapping[str, float],
    values: Mapping[str, Value],
    day: date,
    occasion: Mapping[str, str],
) -> dict[str, float]:
    """Return the parts of the true expected log price of one car.

    Parameters
    ----------
    world : World
        What makes prices.
    silent : mapping of str to float
        Mean contribution of an attribute that is not stated.
    values : mapping of str to Value
        Stated attributes by name; ``make``, ``model`` and ``year`` are needed.
    day : datetime.date
        Day of the sale.
    occasion : mapping of str to str
        ``channel``, ``venue``, ``region``, ``basis``.

    Returns
    -------
    dict of str to float
        One number a part; their sum is the expected log price.

    Raises
    ------
    SettingsError
        If the world has no such make, model, level or basis.
    """
    line = _line_of(world.lines, values)
    state = _state(world.lines, line, values)
    sale = {name: _code(name, LEVELS[name], occasion[name]) for name in _OCCASION}
    basis = _basis(occasion)
    arrays = {k: np.array([v]) for k, v in {**sale, "day": as_days(day)}.items()}
    cars = {name: np.array([value]) for name, value in state.items()}
    parts = {k: float(v[0]) for k, v in contributions(world, cars, arrays).items()}
    for name in parts:
        if name in BY_NAME and name not in values and name not in _NEVER_SILENT:
            applies = name != "genuineness" or state["genuineness"] >= 0
            parts[name] = silent[name] if applies else 0.0
    log_price = np.array([sum(parts.values())])
    parts["basis"] = float(basis_part(world, log_price, arrays["venue"], np.array([basis]))[0])
    return parts


def _basis(occasion: Mapping[str, str]) -> int:
    """Return the code of the basis, if a price on that basis is defined for this occasion."""
    basis = _code("basis", BASES[:-1], occasion["basis"])
    if occasion["basis"] == "hammer price plus buyer's premium" and not occasion["venue"]:
        raise SettingsError(
            "synthetic market",
            "a price with the buyer's premium needs a venue, since each has its own",
            remedy="Name the venue",
        )
    return basis


def _code(name: str, levels: Sequence[str], word: str) -> int:
    """Return the code of a word; the empty word is -1 and has no effect."""
    if word in levels:
        return levels.index(word)
    if not word:
        return -1
    raise SettingsError(
        "synthetic market", f"no such {name}", got=word, remedy=f"Use one of {', '.join(levels)}"
    )


def _line_of(lines: Lines, values: Mapping[str, Value]) -> int:
    if "year" not in values:
        raise SettingsError("synthetic market", "the car has no year", remedy="State its year")
    for i, spec in enumerate(lines.specs):
        if (spec.make, spec.model) == (values.get("make"), values.get("model")):
            return i
    raise SettingsError(
        "synthetic market",
        "no such make and model",
        got=f"{values.get('make')} {values.get('model')}",
        remedy="Use a make and model of this market's lines_table",
    )


def _state(lines: Lines, line: int, values: Mapping[str, Value]) -> dict[str, Any]:
    """Return the codes of one car; what is not stated gets a harmless stand-in."""
    spec = lines.specs[line]
    year = float(values["year"])  # type: ignore[arg-type]
    state: dict[str, Any] = {"line": line, "year": year}
    generation = str(values.get("generation") or _generation(lines, line, year))
    variant = str(values.get("variant") or spec.variants[0].name)
    state["generation"] = _code("generation", GENERATIONS, generation)
    _code("variant", [v.name for v in spec.variants], variant)
    state["variant"] = VARIANTS.index(variant)
    pretended = values.get("genuineness") in ("tribute", "replica")
    multiple = 1.0 if pretended else lines.variant_size[line, state["variant"]]
    state["engine_size"] = values.get("engine_size", round(spec.size * multiple, 1))
    for name, attribute in BY_NAME.items():
        if name in state or name in _DESCRIBED_BY_OTHERS:
            continue
        value = values.get(name)
        if attribute.kind == "number":
            state[name] = attribute.typical if value is None else value
        elif attribute.kind == "set":
            state[name] = _mask(name, value) if name in SETS else 0
        elif name in LEVELS:
            state[name] = _code(name, LEVELS[name], str(value or ""))
    if not values.get("body"):
        state["body"] = 0
    if not values.get("colour"):
        state["colour"] = 0
    rare = bool(lines.variant_rare[line, state["variant"]])
    if rare and state["genuineness"] < 0:
        state["genuineness"] = 0
    return state


def _generation(lines: Lines, line: int, year: float) -> str:
    code = int((lines.generation_start[line] <= year).sum()) - 1
    return GENERATIONS[max(code, 0)]


def _mask(name: str, value: Value | None) -> int:
    words = value if isinstance(value, tuple) else ()
    return sum(1 << _code(name, SETS[name], word) for word in words)
