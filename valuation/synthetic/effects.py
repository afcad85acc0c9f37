"""True effects of the synthetic market: sizes of the trade, drawn anew for each seed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.schema import BY_NAME, MODIFICATION_KINDS
from valuation.synthetic.world import BODIES, CHANNELS, REGIONS, RESTORERS, VENUES

__all__ = ["CURVES", "LEVELS", "SETS", "Array", "Effects", "draw_effects"]

Array = NDArray[Any]

_COLOURS = {
    "red": 0.06,
    "green": 0.05,
    "silver": 0.03,
    "blue": 0.02,
    "black": 0.03,
    "white": -0.02,
    "cream": 0.0,
    "yellow": -0.01,
    "orange": 0.02,
    "grey": 0.0,
    "beige": -0.07,
    "brown": -0.08,
}

_CATEGORIES: dict[str, dict[str, float]] = {
    "body": dict(zip(BODIES, (0.0, 0.12, 0.35, 0.38, 0.03, -0.02, 0.06), strict=True)),
    # An automatic gearbox belongs to the line: a loss in sporting cars, a gain in luxury ones.
    "transmission": {"manual": 0.0, "automatic": 0.0, "semi-automatic": -0.05},
    "transmission_origin": {"as it left the works": 0.0, "converted later": -0.07},
    "steering_side": {"left": 0.0, "right": -0.06},
    "original_market": {"home": 0.0, "export": 0.04},
    "colour": _COLOURS,
    "interior_colour": {"black": 0.0, "red": 0.03, "tan": 0.03, "grey": -0.02, "green": -0.03},
    "genuineness": {
        "genuine, documented": 0.0,
        "claimed, not documented": -0.3,
        "tribute": -0.6,
        "replica": -0.85,
    },
    "engine_originality": {
        "numbers-matching": 0.1,
        "date-correct": 0.04,
        "correct type": 0.0,
        "maker's service replacement": -0.03,
        "period replacement": -0.08,
        "later replacement": -0.13,
    },
    "restoration": {
        "unrestored, preserved": 0.09,
        "unrestored, worn": -0.1,
        "partly restored": -0.06,
        "older restoration": 0.0,
        "fresh restoration": 0.06,
        "fresh restoration, documented": 0.13,
    },
    "restorer": dict(zip(RESTORERS, (0.12, 0.05, 0.0, -0.04), strict=True)),
    "re_engineered": {"no": 0.0, "yes": 0.2},
    "mileage_status": {"proven": 0.06, "stated": 0.0, "unknown": -0.05, "exempt": -0.03},
    "colour_origin": {"as it left the works": 0.0, "changed": -0.07, "special order": 0.09},
    "title_status": {
        "clear": 0.0,
        "not in the seller's name": -0.04,
        "lien": -0.02,
        "missing": -0.16,
        "bill of sale only": -0.13,
        "foreign, duty unpaid": -0.1,
        "branded": -0.3,
        "number differs": -0.38,
    },
    "channel": dict(zip(CHANNELS, (0.0, -0.03, 0.09, -0.07), strict=True)),
}

_SETS: dict[str, dict[str, float]] = {
    "equipment": {
        "hard top": 0.03,
        "books": 0.015,
        "tools": 0.015,
        "air conditioning": 0.02,
        "limited-slip axle": 0.03,
        "wire wheels": 0.02,
    },
    "documents": {
        "build record": 0.07,
        "first bill of sale": 0.03,
        "ownership chain": 0.05,
        "restoration photographs": 0.03,
        "bills": 0.03,
    },
    "history": {
        "accident": -0.15,
        "fire": -0.3,
        "flood": -0.35,
        "racing": 0.12,
        "well-known owner": 0.18,
        "long stored": -0.08,
        "running and maintained": 0.04,
        "major service due": -0.06,
        "major service done": 0.05,
    },
}

_KIND_WEIGHTS = (0.1, 0.04, 0.05, 0.03, 0.04, 0.04, 0.04, 0.12, 0.06, 0.05, 0.02, 0.03)
_CHANGES = {
    "reversible/period": 0.3,
    "reversible/later": -0.4,
    "permanent/period": -0.8,
    "permanent/later": -1.4,
}


def _modifications() -> dict[str, float]:
    weights = dict(zip(MODIFICATION_KINDS, _KIND_WEIGHTS, strict=True))
    effects = {}
    for level in BY_NAME["modifications"].levels:
        kind, change = level.split("/", 1)
        effects[level] = weights[kind] * _CHANGES[change]
    # Better brakes that can be taken off again are what careful owners fit.
    effects["brakes/reversible/later"] = 0.015
    return effects


_SETS["modifications"] = _modifications()

LEVELS: dict[str, tuple[str, ...]] = {
    **{name: tuple(levels) for name, levels in _CATEGORIES.items()},
    "venue": tuple(v.name for v in VENUES),
    "region": REGIONS,
}
"""Levels of each category by name, in the order of their codes."""

SETS: dict[str, tuple[str, ...]] = {name: tuple(items) for name, items in _SETS.items()}
"""Words of each set by name, in the order of their bits."""

CURVES: dict[str, float] = {
    "condition_grade, straight": 0.75,
    "condition_grade, curve": 0.25,
    "originality_score, curve": 0.004,
    "engine_size, straight": 0.3,
    "engine_size, curve": 0.08,
    "gears, each": 0.05,
    "age under 25 years, straight": 0.018,
    "age under 25 years, curve": 0.0006,
    "genuineness, share of the premium lost by a claim": 0.45,
    "genuineness, share of the premium lost by a tribute": 0.93,
    "genuineness, share of the premium lost by a replica": 1.25,
    "asking price over price paid": 0.08,
}
"""Numbers of the curves before each seed's own departure."""


@dataclass(frozen=True)
class Effects:
    """Effects on the log price that all model lines share.

    Parameters
    ----------
    levels : mapping of str to mapping of str to float
        Effect of each level of each category, ``venue`` and ``region`` included.
    items : mapping of str to mapping of str to float
        Effect of each word of each set.
    curves : mapping of str to float
        Numbers of the curves, see :data:`CURVES`.
    """

    levels: Mapping[str, Mapping[str, float]]
    items: Mapping[str, Mapping[str, float]]
    curves: Mapping[str, float]

    def of_codes(self, name: str, codes: Array) -> Array:
        """Return the effect of each code of a category; code -1 (does not apply) has none."""
        table = np.array([*self.levels[name].values(), 0.0])
        return table[codes]

    def of_masks(self, name: str, masks: Array) -> Array:
        """Return the summed effects of the words whose bits are set."""
        total = np.zeros(len(masks))
        for bit, effect in enumerate(self.items[name].values()):
            total += effect * ((masks >> bit) & 1)
        return total


def draw_effects(rng: np.random.Generator) -> Effects:
    """Draw the effects of one market: the trade's sizes, each off by a fifth or so.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    Effects
        Zero effects stay zero and no effect changes its sign.
    """

    def around(sizes: Mapping[str, float], sd: float) -> dict[str, float]:
        factors = np.clip(1 + sd * rng.standard_normal(len(sizes)), 0.4, 1.6)
        return {k: float(v * f) for (k, v), f in zip(sizes.items(), factors, strict=True)}

    levels = {name: around(sizes, 0.2) for name, sizes in _CATEGORIES.items()}
    levels["venue"] = {
        v.name: float(e) * (v.channel != "private")
        for v, e in zip(VENUES, 0.035 * rng.standard_normal(len(VENUES)), strict=True)
    }
    levels["region"] = dict(
        zip(REGIONS, (float(e) for e in 0.025 * rng.standard_normal(len(REGIONS))), strict=True)
    )
    items = {name: around(sizes, 0.2) for name, sizes in _SETS.items()}
    return Effects(levels, items, around(CURVES, 0.1))
