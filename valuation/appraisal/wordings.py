"""Values of a car or a sale in words, and labels for people."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from functools import cache
from typing import Any

from valuation.reading.evidence import unexpressed
from valuation.records import Car, OpenFact
from valuation.schema import BY_FIELD, BY_NAME
from valuation.schema.kinds import CANNOT_BE_TOLD, NOT_LOOKED_AT

__all__ = ["EXTRA_LABELS", "car_cells", "label_of", "open_words", "sale_title", "say"]

EXTRA_LABELS = {
    "market": "Market",
    "model": "Model line",
    "wording": "Words of the advert",
    "statements": "Statements of the advert",
    "specification": "Engine, fuel and gearbox together",
    "earlier sale": "This car's earlier sale",
    "closest sales": "Closest sales",
    "correction": "Forecast correction",
    "everything else": "Everything else",
}
"""Labels of the lines that are not attributes of the contract."""


@cache
def label_of(attribute: str) -> str:
    """Return the label of a line of the explanation."""
    if attribute in EXTRA_LABELS:
        return EXTRA_LABELS[attribute]
    if " and " in attribute:
        return " and ".join(label_of(a) for a in attribute.split(" and "))
    known: Any = BY_NAME.get(attribute) or BY_FIELD.get(attribute)
    return known.label if known is not None else attribute


def car_cells(car: Car, day: date | None, sale: Mapping[str, str]) -> dict[str, Any]:
    """Return everything that is known of a car under the names of a sale's columns."""
    cells: dict[str, Any] = dict(car.values)
    cells |= dict.fromkeys(car.not_looked_at, NOT_LOOKED_AT)
    cells |= dict.fromkeys(car.cannot_be_told, CANNOT_BE_TOLD)
    cells |= {f.attribute: f"open: {open_words(f)}" for f in car.open}
    cells |= {k: v for k, v in sale.items() if v}
    cells["sale_date"] = day
    cells["title"] = car.title
    cells["statements"] = unexpressed(car.said, cells)
    return cells


def open_words(fact: OpenFact) -> str:
    """Return what an open fact can still be, in words.

    Examples
    --------
    >>> open_words(OpenFact("condition_grade", low=55.0, high=71.5))
    '55 to 71.5 points'
    >>> open_words(OpenFact("transmission", ("manual", "automatic")))
    'manual or automatic'
    """
    if fact.low is not None and fact.high is not None:
        high = say(fact.attribute, {fact.attribute: fact.high})
        low = say(fact.attribute, {fact.attribute: fact.low})
        unit = BY_NAME[fact.attribute].unit
        return high if low == high else f"{low.removesuffix(f' {unit}')} to {high}"
    if not fact.levels:
        return "anything"
    *most, last = fact.levels
    return f"{', '.join(most)} or {last}" if most else last


def say(attribute: str, cells: Mapping[str, Any]) -> str:
    """Return the value of an attribute in words, empty where there is nothing to say.

    Parameters
    ----------
    attribute : str
        Line of the explanation.
    cells : mapping of str to object
        A sale or a car: values by column.
    """
    if " and " in attribute:
        return ", ".join(t for a in attribute.split(" and ") if (t := say(a, cells)))
    if attribute == "market":
        day = cells.get("sale_date")
        return day.isoformat()[:10] if isinstance(day, date) and day == day else ""
    if attribute == "model":
        return " ".join(str(cells[k]) for k in ("make", "model", "generation") if _stated(cells, k))
    if attribute == "wording":
        return str(cells.get("title") or "")
    if attribute == "specification":
        names = ("engine_size", "fuel", "transmission")
        return ", ".join(t for n in names if (t := say(n, cells)) and t != "not stated")
    if attribute == "statements":
        said = cells.get("statements")
        return "; ".join(said) if isinstance(said, tuple | list) else ""
    known = BY_NAME.get(attribute)
    if not _stated(cells, attribute):
        return "not stated" if known is not None else ""
    value = cells[attribute]
    if known is not None and known.kind == "number" and not isinstance(value, str):
        return _number(float(value), known.unit)
    if isinstance(value, tuple | list):
        return "; ".join(map(_word, value)) if value else "none"
    return str(value)


def _word(word: str) -> str:
    """Write a word of a set for people: ``brakes/reversible/later`` has its manner in brackets."""
    what, *manner = word.split("/")
    return f"{what} ({', '.join(manner)})" if manner else what


def _number(value: float, unit: str) -> str:
    if unit == "year":
        return f"{value:.0f}"
    text = f"{value:,.0f}" if abs(value) >= 100 or value == int(value) else f"{value:,.1f}"
    return f"{text} {unit}".strip()


def _stated(cells: Mapping[str, Any], name: str) -> bool:
    value = cells.get(name)
    return value is not None and value == value and value != ""


def sale_title(cells: Mapping[str, Any]) -> str:
    """Return a heading for a sale: its title, or year, make, model and variant."""
    if _stated(cells, "title"):
        return str(cells["title"])
    parts: Sequence[str] = [
        say(n, cells) for n in ("year", "make", "model", "variant", "body") if _stated(cells, n)
    ]
    return (
        " ".join(p for p in (say("year", cells), say("model", cells)) if p)
        + (f" {cells['variant']}" if _stated(cells, "variant") else "")
        if parts
        else "sale"
    )
