"""Two cars side by side: why one is dearer, and whether the other is the better buy."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from valuation.money import format_money
from valuation.results.beside_parts import (
    BesideCar,
    BesidePrice,
    DifferenceLine,
    LeftOut,
    PriceGap,
    WorthTelling,
)
from valuation.results.beside_words import (
    as_ours_words,
    bad_words,
    better_buy_words,
    gap_words,
    place_words,
    price_words,
    range_line,
    two_values,
)
from valuation.results.words import day_words

__all__ = ["Beside"]

FORMAT = 1
"""Version of the machine-readable form."""


@dataclass(frozen=True)
class Beside:
    """What sets two cars apart, in money, and what their prices make of it.

    Parameters
    ----------
    as_of : datetime.date or None
        Day for which both are valued; None for an undated list.
    currency : str
        ISO 4217 code of all amounts.
    meaning : str
        What the amounts are, as the rest of a sentence that starts "What they are worth".
    ours, theirs : BesideCar
        This car and the other one.
    lines : tuple of DifferenceLine
        From the other car to this one, largest first, remainders last; their amounts add up to
        the difference of the central estimates.
    lower, upper : int
        90 % interval of that difference, from what the sales tell of the attributes.
    our_price, their_price : BesidePrice or None
        What the cars are offered for or were sold for.
    gap : PriceGap or None
        The two prices beside the two cars; None without both prices in the same terms.
    left_out : tuple of LeftOut
        What the advert of the other car leaves out, most money first.
    all_as_ours : int
        Central estimate of the other car if all of that were as on this car.
    told : WorthTelling or None
        Which is the better buy; None if not both prices are given.
    notes : tuple of str
        What must be said about these figures.
    cautions : tuple of str
        What the reader must know before relying on it.
    """

    as_of: date | None
    currency: str
    meaning: str
    ours: BesideCar
    theirs: BesideCar
    lines: tuple[DifferenceLine, ...]
    lower: int
    upper: int
    our_price: BesidePrice | None
    their_price: BesidePrice | None
    gap: PriceGap | None
    left_out: tuple[LeftOut, ...]
    all_as_ours: int
    told: WorthTelling | None
    notes: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def difference(self) -> int:
        """Central estimate of this car less that of the other, whole currency units."""
        return self.ours.central - self.theirs.central

    def summary(self) -> str:
        """Return the comparison as plain text, with the same numbers as the page."""
        return "\n".join(_text(self))

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``), as safe for customers as the page."""
        return {
            "format": FORMAT,
            "as_of": self.as_of.isoformat() if self.as_of else None,
            "currency": self.currency,
            "meaning": self.meaning,
            "ours": self.ours.to_dict(),
            "theirs": self.theirs.to_dict(),
            "difference": {"amount": self.difference, "lower": self.lower, "upper": self.upper},
            "lines": [line.to_dict() for line in self.lines],
            "our_price": self.our_price.to_dict() if self.our_price else None,
            "their_price": self.their_price.to_dict() if self.their_price else None,
            "gap": self.gap.to_dict() if self.gap else None,
            "left_out": [x.to_dict() for x in self.left_out],
            "all_as_ours": self.all_as_ours,
            "told": self.told.to_dict() if self.told else None,
            "notes": list(self.notes),
            "cautions": list(self.cautions),
        }


def _text(found: Beside) -> Iterator[str]:
    money = found.currency
    day = f" on {day_words(found.as_of)}" if found.as_of else ""
    yield f"This car:      {found.ours.heading}"
    yield f"The other car: {found.theirs.heading}"
    yield ""
    yield f"What they are worth {found.meaning}{day}"
    for name, car in (("this car", found.ours), ("the other car", found.theirs)):
        yield f"  {name:<15}{format_money(car.central, money)}, {range_line(car, money)}"
    yield ""
    yield f"From the other car to this one, {money}"
    yield f"  {'The other car':<58}{format_money(found.theirs.central, ''):>12}"
    for line in found.lines:
        text = f"{line.label}: {two_values(line)}" if two_values(line) else line.label
        yield f"  {text[:57]:<58}{format_money(line.amount, '', signed=True):>12}"
    yield f"  {'= this car':<58}{format_money(found.ours.central, ''):>12}"
    yield from _prices_text(found)
    yield from _left_out_text(found)
    yield ""
    yield from (f"  note: {text}" for text in found.notes)
    yield from (f"  caution: {text}" for text in found.cautions)


def _prices_text(found: Beside) -> Iterator[str]:
    money = found.currency
    if found.our_price or found.their_price:
        yield from ("", "The prices")
    both = (
        ("This car", found.our_price, found.ours),
        ("The other car", found.their_price, found.theirs),
    )
    for name, price, car in both:
        if price is not None:
            said = f"{price_words(name, price, money)} {place_words(price, car.central, money)}"
            yield f"  {said.rstrip()}"
    if found.gap is not None:
        yield f"  {gap_words(found.gap, money)}"
    if found.told is not None:
        yield f"  {better_buy_words(found.told)}"


def _left_out_text(found: Beside) -> Iterator[str]:
    money = found.currency
    if found.left_out:
        yield from ("", "What is not said of the other car")
    for x in found.left_out:
        said = (as_ours_words(x, money), bad_words(x, money))
        yield f"- {x.label}. {' '.join(s for s in said if s)}"
        yield f"  Ask: {x.question}"
