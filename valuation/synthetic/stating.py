"""What sellers state: what helps is stated more often, so that silence is information."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from valuation.synthetic.cars import State
from valuation.synthetic.effects import LEVELS, SETS, Array, Effects
from valuation.synthetic.settings import MarketSettings

__all__ = ["Statements", "draw_statements"]

# Attribute: (logit of the usual share of statements, pull of a good value on it).
_HABITS: dict[str, tuple[float, float]] = {
    "generation": (0.9, 0.0),
    "variant": (2.6, 0.0),
    "body": (3.0, 0.0),
    "engine_size": (1.7, 0.0),
    "engine_layout": (0.5, 0.0),
    "aspiration": (0.2, 0.0),
    "transmission": (2.2, 0.0),
    "gears": (0.8, 0.2),
    "steering_side": (1.2, 0.2),
    "original_market": (-0.4, 0.2),
    "colour": (2.4, 0.0),
    "interior_colour": (0.2, 0.0),
    "genuineness": (1.0, 0.9),
    "transmission_origin": (-0.3, 0.6),
    "originality_score": (-0.2, 1.0),
    "engine_originality": (-0.1, 1.0),
    "condition_grade": (1.3, 1.1),
    "documents": (-0.2, 1.1),
    "restoration": (0.3, 0.9),
    "restorer": (0.4, 0.9),
    "modifications": (0.1, 0.8),
    "re_engineered": (-2.0, 0.0),
    "mileage": (1.8, 0.6),
    "mileage_status": (0.8, 0.8),
    "colour_origin": (-0.4, 0.8),
    "title_status": (0.3, 0.7),
    "equipment": (0.8, 0.0),
    "history": (0.8, 0.0),
}
_DILIGENCE = 0.7
_WEIGHED = ("originality_score", "engine_originality", "condition_grade", "documents", "mileage")


@dataclass(frozen=True)
class Statements:
    """What was stated about each car.

    Parameters
    ----------
    stated : mapping of str to numpy.ndarray of bool
        Whether the attribute was stated.
    shown : mapping of str to numpy.ndarray of int
        Masks of the words that were stated, for sets.
    thinness : numpy.ndarray, shape (n,)
        Factor of the noise: above 1 where little was stated.
    """

    stated: Mapping[str, Array]
    shown: Mapping[str, Array]
    thinness: Array


def draw_statements(
    settings: MarketSettings,
    effects: Effects,
    state: State,
    parts: Mapping[str, Array],
    rng: np.random.Generator,
) -> Statements:
    """Draw what each seller states.

    Parameters
    ----------
    settings : MarketSettings
        Strength of silence, openness.
    effects : Effects
        Tell which words of a car's history help.
    state : State
        True cars.
    parts : mapping of str to numpy.ndarray
        True contribution of each attribute: what helps is stated more often.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    Statements
        One entry a car.
    """
    diligence = _DILIGENCE * rng.standard_normal(len(state["line"]))
    stated = {}
    for name, (usual, pull) in _HABITS.items():
        logit = usual + settings.openness + diligence
        if name in parts and pull:
            logit = logit + settings.silence_strength * pull * _standard(parts[name])
        stated[name] = _happens(logit, rng)
    shown = {name: state[name] for name in SETS}
    shown["history"] = _shown_history(settings, effects, state["history"], diligence, rng)
    _settle(settings, state, stated, shown, rng)
    share = np.mean([stated[name] for name in _WEIGHED], axis=0)
    # A re-engineered car is a market of its own: its price follows its builder, not the table.
    alone = 1 + 1.5 * (state["re_engineered"] > 0)
    return Statements(stated, shown, (1.2 - 0.4 * share) * alone)


def _happens(logit: Array, rng: np.random.Generator) -> Array:
    happens: Array = rng.random(len(logit)) < 1 / (1 + np.exp(-np.clip(logit, -40, 40)))
    return happens


def _standard(part: Array) -> Array:
    sd = float(np.std(part))
    centred: Array = part - np.mean(part)
    return np.clip(centred / sd, -2.5, 2.5) if sd > 0 else centred


def _shown_history(
    settings: MarketSettings,
    effects: Effects,
    masks: Array,
    diligence: Array,
    rng: np.random.Generator,
) -> Array:
    shown = np.zeros_like(masks)
    for bit, effect in enumerate(effects.items["history"].values()):
        pull = 1.1 * settings.silence_strength * np.sign(effect)
        told = _happens(0.5 + settings.openness + diligence + pull, rng)
        shown |= masks & (told.astype(np.int64) << bit)
    return shown


def _settle(
    settings: MarketSettings,
    state: State,
    stated: dict[str, Array],
    shown: dict[str, Array],
    rng: np.random.Generator,
) -> None:
    """Bring statements into line with what can be said of a car at all."""
    for name in ("genuineness", "restorer"):
        stated[name] &= state[name] >= 0
    # Nobody writes "no history" or "no equipment": an empty list is silence.
    for name in ("history", "equipment"):
        stated[name] &= shown[name] != 0
    open_seller = _happens(np.full(len(state["line"]), settings.openness - 1.0), rng)
    stated["documents"] &= (shown["documents"] != 0) | open_seller
    stated["re_engineered"] |= state["re_engineered"] > 0
    doubtful = state["mileage_status"] >= LEVELS["mileage_status"].index("unknown")
    stated["mileage"] &= ~doubtful | open_seller
