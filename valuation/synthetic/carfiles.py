"""Cars of the invented world to be valued: one file each, from ordinary to never seen."""

from __future__ import annotations

from collections.abc import Mapping

from valuation.records import Value
from valuation.schema import BY_NAME
from valuation.schema.kinds import NOT_LOOKED_AT

__all__ = ["CAR_FILES", "car_toml", "toml_value", "true_values"]

_Cell = str | float | list[str]

_LARIANDER: dict[str, _Cell] = {
    "make": "Gorlimar",
    "model": "Lariander",
    "variant": "High Output",
    "year": 1969,
    "body": "coupe",
    "engine_layout": "V8",
    "transmission": "manual",
    "gears": 4,
    "colour": "green",
    "steering_side": "left",
    "condition_grade": 72,
    "restoration": "older restoration",
    "mileage": 61_300,
    "title_status": "clear",
}

CAR_FILES: dict[str, dict[str, _Cell]] = {
    "ordinary": {
        "label": "A driver-quality Torvane GT",
        "title": "1968 Torvane GT Coupe, 4-speed",
        "chassis": "TO68-90412",
        "make": "Torvane",
        "model": "GT",
        "generation": "Series 2",
        "variant": "Standard",
        "year": 1968,
        "body": "coupe",
        "engine_size": 3.2,
        "transmission": "manual",
        "gears": 4,
        "colour": "blue",
        "steering_side": "left",
        "condition_grade": 63,
        "originality_score": 62,
        "engine_originality": NOT_LOOKED_AT,
        "restoration": "older restoration",
        "documents": ["bills"],
        "modifications": ["brakes/reversible/later"],
        "mileage": 58_400,
        "mileage_status": "stated",
        "title_status": "clear",
    },
    "rare": {
        "label": "A genuine, documented Gorlimar Lariander High Output",
        "title": "1969 Gorlimar Lariander High Output Coupe, 4-speed, numbers-matching",
        "chassis": "644021",
        **_LARIANDER,
        "genuineness": "genuine, documented",
        "engine_size": 6.9,
        "originality_score": 84,
        "engine_originality": "numbers-matching",
        "documents": ["build record", "ownership chain", "bills"],
        "modifications": [],
        "colour_origin": "as it left the works",
    },
    "tribute": {
        "label": "A Gorlimar Lariander dressed as a High Output",
        "title": "1969 Gorlimar Lariander High Output Coupe tribute, 4-speed",
        "chassis": "651133",
        **_LARIANDER,
        "genuineness": "tribute",
        "engine_size": 5.3,
        "originality_score": 48,
        "engine_originality": "correct type",
        "documents": ["bills"],
        "modifications": ["body/reversible/later", "engine/reversible/later"],
        "colour_origin": "changed",
    },
    "unseen_model": {
        "label": "A model of a known make that never came to market",
        "title": "1966 Torvane Farthingale Sedan",
        "make": "Torvane",
        "model": "Farthingale",
        "year": 1966,
        "body": "sedan",
        "engine_size": 3.2,
        "transmission": "manual",
        "gears": 4,
        "condition_grade": 60,
        "mileage": 71_000,
    },
    "incomplete": {"title": "1967 Torvane GT High Output Convertible, 4-speed"},
    "outside": {
        "label": "A car of an era without a single sale",
        "title": "1927 Vessamir Chancel Limousine",
        "make": "Vessamir",
        "model": "Chancel",
        "year": 1927,
        "body": "limousine",
        "engine_size": 9.8,
        "engine_layout": "inline-8",
        "transmission": "manual",
        "gears": 3,
        "condition_grade": 55,
        "originality_score": 80,
    },
}
"""What each car file states, in its order."""

_SALES: dict[str, dict[str, str]] = {
    "ordinary": {"channel": "live auction", "venue": "Harbour Rooms", "basis": "hammer price"},
    "rare": {"channel": "live auction", "basis": "hammer price"},
    "tribute": {"channel": "live auction", "basis": "hammer price"},
    "unseen_model": {"channel": "dealer", "basis": "price paid"},
    "outside": {"channel": "live auction", "basis": "hammer price"},
}
_REMARKS = {
    "ordinary": "An ordinary car, well described; nobody has looked at the engine's number yet.",
    "rare": "The rare version, genuine and documented.",
    "tribute": "The same outside, but a plain car underneath.",
    "unseen_model": "The make is known, this model line was never seen.",
    "incomplete": "Only the heading of an advert.",
    "outside": "Built twenty years before the oldest car that was ever sold here.",
}


def toml_value(value: _Cell) -> str:
    """Return a value as a car file writes it.

    Examples
    --------
    >>> toml_value(["bills", "tools"]), toml_value("blue"), toml_value(1968)
    ('["bills", "tools"]', '"blue"', '1968')
    """
    if isinstance(value, list):
        return "[" + ", ".join(f'"{word}"' for word in value) + "]"
    return f'"{value}"' if isinstance(value, str) else str(value)


def car_toml(name: str) -> str:
    """Return the text of one car file.

    Parameters
    ----------
    name : str
        A key of :data:`CAR_FILES`.

    Returns
    -------
    str
        TOML: attributes by their contract name, and a table ``[sale]``.
    """
    lines = [f"# {_REMARKS[name]}  An invented car."]
    lines += [f"{key} = {toml_value(value)}" for key, value in CAR_FILES[name].items()]
    if name in _SALES:
        lines += ["", "[sale]"]
        lines += [f'{key} = "{value}"' for key, value in _SALES[name].items()]
    return "\n".join(lines) + "\n"


def true_values(name: str) -> dict[str, Value]:
    """Return the attributes a car file states, as a car record holds them.

    Examples
    --------
    >>> true_values("rare")["genuineness"], "title" in true_values("rare")
    ('genuine, documented', False)
    """
    stated: Mapping[str, _Cell] = CAR_FILES[name]
    return {
        key: tuple(sorted(value)) if isinstance(value, list) else value
        for key, value in stated.items()
        if key in BY_NAME and value != NOT_LOOKED_AT
    }
