"""How each fact about a car is settled, for those of which a car file does not say it."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

from valuation.records import OpenFact

__all__ = ["Look", "how_to_look", "look_at"]


@dataclass(frozen=True, slots=True)
class Look:
    """Where to look, with what, how, and how long it takes.

    Parameters
    ----------
    where, tool, how : str
        In words.
    minutes : float or None
        None if nobody knows.
    """

    where: str
    tool: str
    how: str
    minutes: float | None


@cache
def how_to_look() -> dict[str, Look]:
    """Return how each attribute of the contract is settled, by its name."""
    source = resources.files("valuation") / "data" / "looking.toml"
    entries = tomllib.loads(source.read_text(encoding="utf-8"))
    return {name: Look(**entry) for name, entry in entries.items()}


def look_at(fact: OpenFact) -> Look:
    """Return how to settle a fact: as its own words say, else as one does for its attribute."""
    own = Look(fact.where, fact.tool, fact.how, fact.minutes)
    if own.how:
        return own
    usual = how_to_look()[fact.attribute]
    return Look(
        own.where or usual.where,
        own.tool or usual.tool,
        usual.how,
        usual.minutes if own.minutes is None else own.minutes,
    )
