"""The variant that a title names: its words against the variants of the evidence."""

from __future__ import annotations

from dataclasses import replace

from valuation.appraisal.market import MarketModel
from valuation.features.columns import key
from valuation.reading.text import fold
from valuation.records import Car

__all__ = ["with_named_variant"]


def with_named_variant(market: MarketModel, car: Car) -> Car:
    """Return a car with the variant that its title names, where nobody stated one.

    A title that names a rare version is the first thing a seller writes; which words are a
    version, only the sales of the model line know.

    Parameters
    ----------
    market : MarketModel
        Fitted; its sales state the variants of each model line.
    car : Car
        As it was read.

    Returns
    -------
    Car
        The same, or with ``variant``, the words it rests on and a remark.
    """
    settled = {"variant"} & (car.values.keys() | {f.attribute for f in car.open})
    if settled or "variant" in car.not_looked_at | car.cannot_be_told or not car.title:
        return car
    make, model = (key(str(car.values.get(n, ""))) for n in ("make", "model"))
    words = f" {_words(car.title)} "
    named = [v for v in market.variants.get((make, model), ()) if f" {_words(v)} " in words]
    if not named:
        return car
    longest = max(named, key=lambda v: (len(v), v))
    return replace(
        car,
        values={**car.values, "variant": longest},
        statements={**car.statements, "variant": f"title: {car.title}"},
        notes=(*car.notes, f"Variant is read from the title: {longest}."),
    )


def _words(text: str) -> str:
    return " ".join("".join(c if c.isalnum() else " " for c in fold(text)).split())
