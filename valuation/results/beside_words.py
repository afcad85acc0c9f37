"""Sentences about two cars side by side, the same on page, paper and screen."""

from __future__ import annotations

from valuation.money import format_money
from valuation.results.beside_parts import (
    BesideCar,
    BesidePrice,
    DifferenceLine,
    LeftOut,
    PriceGap,
    WorthTelling,
)
from valuation.results.valuation import PriceRange
from valuation.results.words import day_words

__all__ = [
    "as_ours_words",
    "bad_words",
    "better_buy_words",
    "chance_in_hundred",
    "difference_words",
    "gap_words",
    "place_words",
    "price_words",
    "range_line",
    "rests_on_words",
    "strength_words",
    "two_values",
]


def two_values(line: DifferenceLine) -> str:
    """Say what both cars have, the other first; empty where words would say nothing.

    Examples
    --------
    >>> two_values(DifferenceLine("body", "Body", "coupe", "roadster", 9, 9.0, 1.0, 2.0, 1.0))
    'coupe, here roadster'
    """
    if line.theirs and line.ours and line.theirs != line.ours:
        return f"{line.theirs}, here {line.ours}"
    return line.ours or line.theirs


def range_line(car: BesideCar, currency: str) -> str:
    """Say the range of a car, or that there is none and why."""
    if isinstance(car.range, PriceRange):
        low, high = format_money(car.range.lower, ""), format_money(car.range.upper, currency)
        return f"{car.range.level:.0%} range {low} to {high}"
    return f"no range: {car.range.reason}"


def difference_words(difference: int, lower: int, upper: int, currency: str) -> str:
    """Say how far two cars are apart and how sure that is.

    Examples
    --------
    >>> difference_words(-1_200, -3_000, 600, "EUR")
    'This car comes to 1,200 EUR less than the other (90% interval: 3,000 less to 600 EUR more).'
    """
    if not difference:
        return "Both cars come to the same estimate."
    side = "more" if difference > 0 else "less"
    ends = [(abs(end), "more" if end >= 0 else "less") for end in (lower, upper)]
    same = ends[0][1] == ends[1][1]
    first = format_money(ends[0][0], "") + ("" if same else f" {ends[0][1]}")
    last = f"{format_money(ends[1][0], currency)} {ends[1][1]}"
    return (
        f"This car comes to {format_money(abs(difference), currency)} {side} than the other "
        f"(90% interval: {first} to {last})."
    )


def price_words(name: str, price: BesidePrice, currency: str) -> str:
    """Say what a car is offered for or was sold for, and what it comes to today.

    Examples
    --------
    >>> price_words("The other car", BesidePrice(50_000, "asking"), "EUR")
    'The other car is offered for 50,000 EUR.'
    """
    amount = format_money(price.amount, currency)
    when = f" on {day_words(price.day)}" if price.day else ""
    verb = "is offered for" if price.kind == "asking" and not price.day else "was offered for"
    said = [f"{name} {verb if price.kind == 'asking' else 'was sold for'} {amount}{when}."]
    if price.moved:
        what = "rise" if price.moved > 0 else "fall"
        said.append(
            f"The market's {what} since then brings that to "
            f"{format_money(price.amount + price.moved, currency)}."
        )
    if price.converted:
        side = "more" if price.converted > 0 else "less"
        apart = format_money(abs(price.converted), currency)
        said.append(
            f"Such a car is asked for at {apart} {side} than it sells for, so it is compared as "
            f"{format_money(price.compared, currency)}."
        )
    return " ".join(said)


def place_words(price: BesidePrice, central: int, currency: str) -> str:
    """Say how a price lies beside the central estimate of its own car; nothing if it can't be said.

    Examples
    --------
    >>> place_words(BesidePrice(50_000, "asking"), 52_000, "EUR")
    'That is 2,000 EUR below its own estimate.'
    """
    if not price.straight:
        return ""
    above = price.compared - central
    if not above:
        return "That is its own estimate."
    side = "above" if above > 0 else "below"
    return f"That is {format_money(abs(above), currency)} {side} its own estimate."


def gap_words(gap: PriceGap, currency: str) -> str:
    """Say how much of the difference between two prices the cars explain.

    Examples
    --------
    >>> gap_words(PriceGap(8_000, 6_500, 3_000, 10_000), "EUR")[:66]
    'At these prices this car is 8,000 EUR dearer. By what the two cars'
    """
    rest = gap.unexplained
    said = [
        f"At these prices this car is {_dearer(gap.apart, currency)}. By what the two cars are, "
        f"it should be {_dearer(gap.explained, currency)}."
    ]
    if not rest:
        said.append("That is the whole of it.")
    else:
        side = "dearer" if rest > 0 else "cheaper"
        left = format_money(abs(rest), currency)
        said.append(f"That leaves {left} by which this car is {side} than the cars explain.")
    return " ".join(said)


def _dearer(amount: int, currency: str) -> str:
    if not amount:
        return "as dear as the other"
    return f"{format_money(abs(amount), currency)} {'dearer' if amount > 0 else 'cheaper'}"


def chance_in_hundred(chance: float) -> str:
    """Say a chance as a count of a hundred; what is unlikely is not called impossible.

    Examples
    --------
    >>> chance_in_hundred(0.634), chance_in_hundred(0.001), chance_in_hundred(0.999)
    ('63 in 100', 'under 1 in 100', 'over 99 in 100')
    """
    if 0.005 <= chance <= 0.995:
        return f"{round(100 * chance)} in 100"
    return "under 1 in 100" if chance < 0.5 else "over 99 in 100"


def better_buy_words(told: WorthTelling) -> str:
    """Say which car is the better buy at its price, or that it can't be told.

    Examples
    --------
    >>> better_buy_words(WorthTelling("open", None, "The other car has no range."))
    "Which of the two is the better buy can't be told. The other car has no range."
    """
    if told.answer == "open":
        said = ["Which of the two is the better buy can't be told."]
        if told.reason:
            said.append(told.reason)
        if told.chance is not None:
            said.append(f"The chance that it is the other car is {chance_in_hundred(told.chance)}.")
        return " ".join(said)
    other = told.answer == "other"
    chance = told.chance if other or told.chance is None else 1.0 - told.chance
    said = [
        f"At its price {'the other' if other else 'this'} car is the better buy, as far as the "
    ]
    said[0] += "sales tell."
    if chance is not None:
        said.append(f"The chance that it is so is {chance_in_hundred(chance)}.")
    if told.reason:
        said.append(told.reason)
    return " ".join(said)


def as_ours_words(left: LeftOut, currency: str) -> str:
    """Say what a fact would make of the other car if it were as on this one."""
    as_ours = f"as on this car ({left.ours})"
    return f"If it is {as_ours}, the other car comes to {_against(left, left.as_ours, currency)}."


def bad_words(left: LeftOut, currency: str) -> str:
    """Say what a fact would make of the other car if it turns out badly; empty if nobody can."""
    if left.bad is None or left.bad_chance is None:
        return ""
    return (
        f"If it is {left.if_bad}, as {chance_in_hundred(left.bad_chance)} such cars have it, "
        f"to {_against(left, left.bad, currency)}."
    )


def _against(left: LeftOut, amount: int, currency: str) -> str:
    change = amount - left.today
    if not change:
        return f"{format_money(amount, currency)}, as it stands"
    side = "more" if change > 0 else "less"
    return f"{format_money(amount, currency)}, {format_money(abs(change), '')} {side}"


_STRENGTHS = {
    "strong": "many sales of such cars, close to this one",
    "fair": "enough sales for a range, but not many close to the car",
    "thin": "few sales of such cars; take the figures as a first orientation",
    "none": "hardly a sale of such a car is known; the figure is a guess",
}

_LEVELS = {
    "model line": "of its model",
    "make": "of its make, none of its model",
    "market": "of other makes, none of its own",
}


def strength_words(car: BesideCar) -> str:
    """Say how strong the evidence on a car is and what it is made of."""
    level = _LEVELS.get(car.level, f"of the same {car.level}")
    return f"{_STRENGTHS[car.strength]} ({car.sales:,} sales {level})."


def rests_on_words(line: DifferenceLine) -> str:
    """Say what a line rests on; nothing for a remainder.

    Examples
    --------
    >>> rests_on_words(DifferenceLine("body", "Body", "", "", 9, 9.0, 1.0, 2.0, 0.84))
    '84% sales, 16% our assumption'
    """
    if line.evidence_share is None:
        return ""
    share = round(100 * line.evidence_share)
    if share >= 100:
        return "sales alone"
    if share <= 0:
        return "our assumption alone"
    return f"{share}% sales, {100 - share}% our assumption"
