"""What must be said of two cars side by side, and of the figures about them."""

from __future__ import annotations

from collections.abc import Iterator

from valuation.appraisal.batch import Batch
from valuation.records import Car
from valuation.results.beside_parts import BesidePrice, WorthTelling
from valuation.selling.beside_prices import ASKED, Brought
from valuation.selling.beside_silence import Silence

__all__ = ["notes_on", "stopped_words"]

ALIKE = (
    "Both cars are valued for the same day and in the same kind of sale, so neither of these sets "
    "them apart."
)
CHANCE = (
    "The chance is counted from how far past forecasts were off, for each car by itself. What the "
    "market as a whole does moves both alike and is left out; what remains is taken as independent "
    "between them."
)
SILENT = (
    "Where the advert says nothing, the estimate of the other car is that of cars whose sellers "
    "say nothing of it. What it may turn out to be widens what is known of that car, and counts in "
    "the chance."
)
BOTH_ASKED = (
    "The estimates are of prices paid, and both prices are asked: what a car is asked for above "
    "what it sells for is taken to be alike for both."
)
ASKED_FOR_PAID = (
    "The estimates are of prices paid; a price that is asked is mostly somewhat above what is paid "
    "in the end."
)


def stopped_words(name: str, car: Car) -> str:
    """Say why the purchase of a car has to wait; empty if nothing is known that stops it."""
    title = str(car.values.get("title_status", "clear"))
    if title != "clear":
        return f"The title of {name} has to be looked into before any money moves: {title}."
    return f"Something about {name} stops its purchase until it is put right." if car.stops else ""


def notes_on(
    batch: Batch,
    ours: BesidePrice | None,
    theirs: Brought | None,
    told: WorthTelling | None,
    silence: Silence,
) -> Iterator[str]:
    """Yield what must be said about the figures.

    Parameters
    ----------
    batch : Batch
        Both cars.
    ours, theirs : BesidePrice or Brought or None
        Their prices.
    told : WorthTelling or None
        Which is the better buy.
    silence : Silence
        What the other advert leaves out.
    """
    yield ALIKE
    for i, name in enumerate(("this car", "the other car")):
        if batch.forecast.design.line[i] < 0:
            yield (
                f"No sale of the model of {name} is in the evidence: its make speaks for it, and "
                "the intervals leave out what such a model may differ by."
            )
    if silence.left_out:
        yield SILENT
    if batch.sales[0]["basis"] != ASKED:
        asked = [p for p in (ours, theirs.price if theirs else None) if p and p.kind == "asking"]
        if asked:
            yield BOTH_ASKED if len(asked) == 2 else ASKED_FOR_PAID
    if told is not None and told.chance is not None:
        yield CHANCE
