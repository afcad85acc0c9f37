"""Sentences of the customer's sheet, the same on page, paper and screen."""

from __future__ import annotations

from valuation.money import format_money
from valuation.results.customer_sheet_parts import (
    AskingPrice,
    OpenQuestion,
    PriceLine,
    SheetEvidence,
)

__all__ = [
    "asking_words",
    "counted",
    "evidence_words",
    "question_words",
    "rank_words",
    "rest_words",
]

_STRENGTHS = {
    "strong": "Strong: many sales of such cars, close to this one.",
    "fair": "Fair: enough sales for a range, but not many close to this car.",
    "thin": "Thin: few sales of such cars. Take the figures as a first orientation.",
    "none": "Missing: hardly a sale of such a car is known. The figure is a guess.",
}

_LEVELS = {
    "variant": "of this variant",
    "model line": "of this model",
    "make": "of this make; no sale of this model is known",
    "market": "of other makes; no sale of this make is known",
}


def counted(count: int, noun: str) -> str:
    """Write a count with its noun.

    Examples
    --------
    >>> counted(1, "sale"), counted(1200, "sale")
    ('1 sale', '1,200 sales')
    """
    return f"{count:,} {noun}" if count == 1 else f"{count:,} {noun}s"


def evidence_words(evidence: SheetEvidence) -> str:
    """Say how strong the evidence is and what it is made of."""
    said = _STRENGTHS[evidence.strength]
    behind = f"{counted(evidence.sales, 'sale')} {_LEVELS[evidence.level]}"
    if evidence.level == "market":
        return f"{said} It rests on {behind}."
    return f"{said} It rests on {behind}, out of {counted(evidence.all_sales, 'sale')} in all."


def asking_words(asking: AskingPrice, currency: str) -> str:
    """Say where an asking price stands against the estimate and the range.

    Examples
    --------
    >>> asking_words(AskingPrice(45_000, 2_100, True, 21, 13, 0), "EUR")
    'The asking price of 45,000 EUR is 2,100 EUR above the central estimate and inside the range.'
    """
    price = f"The asking price of {format_money(asking.amount, currency)}"
    if asking.above:
        side = "above" if asking.above > 0 else "below"
        said = f"is {format_money(abs(asking.above), currency)} {side} the central estimate"
    else:
        said = "is the central estimate"
    if asking.inside is None:
        return f"{price} {said}."
    return f"{price} {said} and {'inside' if asking.inside else 'outside'} the range."


def rank_words(asking: AskingPrice, *, dated: bool = True, offers: bool = False) -> str:
    """Say how many adjusted sales, or offers, came out lower and how many higher.

    Examples
    --------
    >>> rank_words(AskingPrice(45_000, 2_100, True, 21, 13, 0))
    'Of 34 comparable sales, brought to this car and to today, 21 came out lower and 13 higher.'
    """
    noun = "offer" if offers else "sale"
    if not asking.sales:
        return f"No {noun} is close enough to be set beside the asking price."
    today = " and to today" if dated else ""
    head = f"Of {counted(asking.sales, f'comparable {noun}')}, brought to this car{today},"
    same = f", {asking.same:,} at the very amount" if asking.same else ""
    joined = "," if same else " and"
    return f"{head} {asking.lower:,} came out lower{joined} {asking.higher:,} higher{same}."


def rest_words(line: PriceLine) -> str:
    """Say what a line rests on; what is no sale is assumption.

    Examples
    --------
    >>> rest_words(PriceLine("body", "Body", "coupe", 100, 0, 200, 12, 0.84))
    '84% sales'
    """
    if line.evidence_share is None:
        return ""
    share = round(100 * line.evidence_share)
    if share >= 100:
        return "sales alone"
    if share <= 0:
        return "assumption alone"
    return f"{share}% sales"


def question_words(question: OpenQuestion, currency: str) -> str:
    """Say what is not settled, what is claimed, what it can be and what hangs on it."""
    contradicted = question.state == "contradicted"
    said = [f"{question.label}:"]
    if question.claim:
        doubt = "but what we found does not fit that" if contradicted else "not settled"
        said.append(f"claimed to be {question.claim}, {doubt}.")
    elif contradicted:
        said.append("what we found does not fit together.")
    else:
        said.append("not looked at." if question.state == "not looked at" else "not settled.")
    if question.possible:
        said.append(f"It can still be {question.possible}.")
    if question.low is not None and question.high is not None:
        low, high = format_money(question.low, ""), format_money(question.high, currency)
        said.append(f"The central estimate would be {low} if it turns out badly, {high} if well.")
    return " ".join(said)
