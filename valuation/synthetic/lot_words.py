"""The text of a catalogue entry: what is stated of a car, as a house writes it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

__all__ = ["entry_text"]

_ENGINE = {
    "numbers-matching": "Matching-numbers engine.",
    "date-correct": "A date-correct engine.",
    "correct type": "An engine of the correct type.",
    "maker's service replacement": "Works replacement engine.",
    "later replacement": "A replacement engine.",
}
_RESTORATION = {
    "unrestored, preserved": "Unrestored and well preserved.",
    "unrestored, worn": "Unrestored, with rust in the sills.",
    "partly restored": "Partly restored.",
    "older restoration": "An older restoration.",
    "fresh restoration": "A fresh restoration.",
    "fresh restoration, documented": "A fresh restoration, documented with photographs.",
}
_GENUINE = {
    "genuine, documented": "A genuine {variant}, confirmed by its build record.",
    "claimed, not documented": "Said to be a genuine {variant}.",
    "tribute": "A tribute, not a genuine {variant}.",
    "replica": "A replica.",
}
_PAPERS = {
    "clear": "Clear title.",
    "not in the seller's name": "The title is not in the seller's name.",
    "lien": "A lien on the title.",
    "missing": "The title is missing.",
    "bill of sale only": "Sold on a bill of sale only.",
    "foreign, duty unpaid": "Foreign title, duty unpaid.",
    "branded": "A branded title.",
    "number differs": "The number on the title differs from that of the car.",
}
_DOCUMENTS = {
    "build record": "Build record on file.",
    "first bill of sale": "First bill of sale on file.",
    "ownership chain": "Complete chain of ownership.",
    "restoration photographs": "Photographs of the restoration.",
    "bills": "Bills on file.",
}
_HISTORY = {
    "accident": "Repaired after an accident.",
    "fire": "Damaged by fire.",
    "flood": "Damaged by flood.",
    "racing": "Raced in period.",
    "well-known owner": "Well-known first owner.",
    "long stored": "Stored for many years.",
    "running and maintained": "Driven regularly and well maintained.",
    "major service due": "Major service due.",
    "major service done": "Major service just done.",
}
_COLOUR = {
    "as it left the works": "In the colour it left the works in.",
    "changed": "Colour changed.",
}


def entry_text(row: Mapping[str, Any]) -> str:
    """Return the text of the catalogue entry of one car.

    Parameters
    ----------
    row : mapping
        A row of the contract's table; None or NaN where nothing is stated.

    Returns
    -------
    str
        Short sentences; what houses leave to the viewing is not among them.
    """
    said = [
        _GENUINE.get(row["genuineness"], "").format(variant=row["variant"] or ""),
        _ENGINE.get(row["engine_originality"], ""),
        "Converted to another gearbox." if row["transmission_origin"] == "converted later" else "",
        _RESTORATION.get(row["restoration"], ""),
        _COLOUR.get(row["colour_origin"], ""),
        *(_HISTORY[word] for word in row["history"] or ()),
        *(_DOCUMENTS[word] for word in row["documents"] or ()),
        _PAPERS.get(row["title_status"], ""),
    ]
    return " ".join(sentence for sentence in said if sentence)
