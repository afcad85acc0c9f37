"""Plain words for a customer: headings, labels and values, never the words of an advert."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from valuation.appraisal.wordings import label_of, say
from valuation.features.table import SALE_FACTORS
from valuation.reading.text import compact
from valuation.schema import BY_NAME

__all__ = [
    "OFFERS",
    "SALE",
    "WORDING",
    "heading_of",
    "instead_words",
    "plain_label",
    "plain_value",
    "row_of",
    "sale_words",
    "shown_words",
    "way_words",
]

OFFERS = "asking price"
"""What a list of asking prices estimates."""

SALE = "sale"
"""Name of the row in which everything about the way of selling goes together."""

WORDING = "wording"
"""Name of the row in which all words of adverts go together; none of them is shown."""

_LABELS = {
    "market": "Market since then",
    SALE: "Way of selling",
    WORDING: "How adverts describe it",
    "model": "Which model it is",
    "earlier sale": "What this very car brought before",
    "closest sales": "What the closest sales brought beyond that",
    "correction": "What we learned from our past estimates",
    "silent": "What is not stated of this car",
    "smaller": "Smaller differences together",
    "condition_grade": "Condition",
    "originality_score": "Originality",
    "engine_originality": "Engine, original or replaced",
    "transmission_origin": "Gearbox, original or converted",
    "colour_origin": "Colour, original or changed",
    "genuineness": "Genuine version or tribute",
    "title_status": "Papers of ownership",
}

_WAYS = {
    "dealer": "by a dealer",
    "live auction": "at a live auction",
    "online auction": "at an online auction",
    "private": "privately",
}

_BASES = {
    "hammer price": "the hammer price, without buyer's premium",
    "hammer price plus buyer's premium": "the hammer price plus buyer's premium",
    "price paid": "the price paid",
    "asking price": "the price asked",
}

_OPEN = "open: "

_SHORTEST_NUMBER = 4
"""A chassis number of fewer signs may be found in any text by chance."""

_TITLE = ("year", "make", "model", "variant", "body")


def row_of(attribute: str) -> str:
    """Return the name of the row in which an attribute counts."""
    if attribute == "statements":
        return WORDING
    if any(part in SALE_FACTORS for part in attribute.split(" and ")):
        return SALE
    return "smaller" if attribute == "everything else" else attribute


def plain_label(row: str) -> str:
    """Return the label of a row for people outside the trade."""
    return _LABELS.get(row) or label_of(row)


def plain_value(attribute: str, cells: Mapping[str, Any]) -> str:
    """Return the value of a car or a sale in a row, in words of the contract.

    Parameters
    ----------
    attribute : str
        Name of the row.
    cells : mapping of str to object
        Values by column; ``chassis`` is looked for in every text and never shown.
    """
    if attribute == WORDING:
        return ""
    if attribute == SALE:
        return sale_words(cells)
    known = BY_NAME.get(attribute)
    text = shown_words(say(attribute, cells), cells)
    if known is not None and known.unit == "points":
        text = text.replace(" points", " of 100 points")
    if not text.startswith(_OPEN):
        return text
    # A set can be many things, and the papers are told one by one elsewhere.
    several = known is not None and known.kind == "set"
    return "not settled" if several else f"not settled: {text.removeprefix(_OPEN)}"


def way_words(cells: Mapping[str, Any]) -> str:
    """Say in which way a car is sold.

    Examples
    --------
    >>> way_words({"channel": "dealer"}), way_words({"channel": ""})
    ('by a dealer', '')
    """
    channel = str(cells.get("channel") or "")
    return _WAYS.get(channel, f"by way of {channel}" if channel else "")


def instead_words(cells: Mapping[str, Any], usual: Mapping[str, Any]) -> str:
    """Say how a car is sold against how the typical one is.

    Parameters
    ----------
    cells, usual : mapping of str to object
        Sale factors of the car and of the usual sale.

    Examples
    --------
    >>> instead_words({"channel": "dealer"}, {"channel": "live auction"})
    'by a dealer instead of at a live auction'
    """
    if way_words(cells) != way_words(usual):
        return f"{way_words(cells)} instead of {way_words(usual)}"
    ours, theirs = (
        _BASES.get(str(c.get("basis")), "price basis not known") for c in (cells, usual)
    )
    return f"{ours} instead of {theirs}" if ours != theirs else way_words(cells)


def sale_words(cells: Mapping[str, Any], *, offered: bool = False) -> str:
    """Say how a car was sold or offered and what the price is; the firm that sold it is not named.

    Parameters
    ----------
    cells : mapping of str to object
        Sale factors by name.
    offered : bool
        True to say "offered" where the outcome is not stated.

    Examples
    --------
    >>> sale_words({"channel": "dealer", "basis": "price paid", "outcome": "sold"})
    'sold by a dealer, the price paid'
    >>> sale_words({"channel": "", "basis": "unknown", "outcome": "offered"})
    'offered'
    """
    outcome = str(cells.get("outcome") or "")
    verb = "offered" if outcome == "offered" or (offered and outcome != "sold") else "sold"
    basis = _BASES.get(str(cells.get("basis") or ""), "")
    return ", ".join(p for p in (f"{verb} {way_words(cells)}".rstrip(), basis) if p)


def heading_of(cells: Mapping[str, Any]) -> str:
    """Return year, make, model, variant and body of a car, whatever its advert says.

    Parameters
    ----------
    cells : mapping of str to object
        Values by attribute; ``chassis`` may be among them and is never shown.
    """
    parts = [say(name, cells) for name in _TITLE if name != "model"]
    model = cells.get("model")
    parts.insert(2, str(model) if isinstance(model, str) else "")
    shown = [shown_words(p, cells) for p in parts if p and p != "not stated"]
    return " ".join(p for p in shown if p) or "A car"


def shown_words(text: str, cells: Mapping[str, Any]) -> str:
    """Return a text, or nothing if the chassis number of its car stands in it."""
    number = compact(str(cells.get("chassis") or ""))
    return "" if len(number) >= _SHORTEST_NUMBER and number in compact(text) else text
