"""Words of the report: how amounts, dates, shares and evidence are said."""

from __future__ import annotations

from collections.abc import Sequence

from valuation.money import format_money
from valuation.results.valuation import (
    Comparable,
    Contribution,
    Evidence,
    NoRange,
    PriceRange,
    Valuation,
)
from valuation.results.words import day_words as day

__all__ = [
    "LARGE_GROSS",
    "LARGE_LINE",
    "LARGE_NET",
    "STANDING_CAUTION",
    "capital",
    "day",
    "evidence_words",
    "in_hundred",
    "large",
    "listed",
    "month",
    "percent",
    "plural",
    "range_words",
    "sale_words",
    "shorten",
    "source_words",
    "subject_words",
]

LARGE_LINE = 20.0
"""An adjustment of one attribute beyond this many per cent is called large."""

LARGE_NET = 30.0
"""A net adjustment beyond this many per cent is called large."""

LARGE_GROSS = 60.0
"""A gross adjustment beyond this many per cent is called large."""

STANDING_CAUTION = "Evidence may be thin: read the line on evidence first."
"""Shown on every page, after the cautions of the valuation itself."""

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

_STRENGTHS = {
    "strong": "Strong: many sales of such cars, close to this one.",
    "fair": "Fair: enough sales for a range, but not many close to this car.",
    "thin": "Thin: few sales of such cars. Treat the range as a first orientation.",
    "none": "Missing: hardly a sale of such a car is known. Don't rely on the figure.",
}


def listed(names: Sequence[str]) -> str:
    """Write names one after the other.

    Examples
    --------
    >>> listed(["a"]), listed(["a", "b", "c"])
    ('a', 'a, b and c')
    """
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def month(name: str) -> str:
    """Write a month.

    Examples
    --------
    >>> month("2025-03")
    'Mar 2025'
    """
    year, _, number = name.partition("-")
    return f"{_MONTHS[int(number) - 1]} {year}"


def percent(share: float, *, signed: bool = False) -> str:
    """Write per cent to the unit; what rounds to nothing has no sign.

    Examples
    --------
    >>> percent(-0.2, signed=True), percent(12.6, signed=True)
    ('0%', '+13%')
    """
    whole = round(share)
    return f"{whole:+d}%" if signed and whole else f"{whole}%"


def plural(count: int, noun: str) -> str:
    """Write a count with its noun.

    Examples
    --------
    >>> plural(1, "sale"), plural(1200, "sale")
    ('1 sale', '1,200 sales')
    """
    return f"{count:,} {noun}" if count == 1 else f"{count:,} {noun}s"


def shorten(text: str, width: int) -> str:
    """Cut a text to `width` signs at a word, with an ellipsis.

    Examples
    --------
    >>> shorten("1967 Torvane GT convertible", 18)
    '1967 Torvane GT …'
    """
    if len(text) <= width:
        return text
    kept = text[: width - 1]
    at_word = kept.rpartition(" ")[0]
    return f"{at_word} …" if len(at_word) > width // 2 else f"{kept}…"


def in_hundred(level: float) -> str:
    """Say what a range of this level promises.

    Examples
    --------
    >>> in_hundred(0.8)
    'Of 100 such cars, about 80 should bring a price inside the range.'
    """
    return f"Of 100 such cars, about {round(100 * level)} should bring a price inside the range."


def range_words(answer: PriceRange | NoRange, currency: str) -> str:
    """Write the bounds of a range, or that there is none."""
    if isinstance(answer, NoRange):
        return "No range"
    return f"{format_money(answer.lower, '')} to {format_money(answer.upper, currency)}"


def subject_words(valuation: Valuation) -> str:
    """Say what the amounts are and for which day."""
    when = f"valued for {day(valuation.as_of)}" if valuation.as_of else "from an undated list"
    return f"{capital(valuation.meaning)}, {when}"


def sale_words(sale: Comparable) -> str:
    """Say where a compared price comes from: outcome, basis and channel, unknown ones left out."""
    parts = (sale.outcome, sale.basis, sale.channel)
    said = [p for p in parts if p and p != "unknown"]
    return ", ".join(said) or "nothing stated about the sale"


def source_words(line: Contribution) -> str:
    """Say how much of a line is evidence; the rest is assumption."""
    share = round(100 * line.evidence_share)
    if share >= 100:
        return "all evidence"
    if share <= 0:
        return "all assumption"
    return f"{share}% evidence"


def evidence_words(evidence: Evidence) -> str:
    """Say how strong the evidence is and what it is made of."""
    said = _STRENGTHS.get(evidence.strength, f"{capital(evidence.strength)}.")
    count = plural(evidence.sales, "sale")
    where = "in the whole market" if evidence.level == "market" else f"of the same {evidence.level}"
    return f"{said} Compared with {count} {where}."


def large(value: float, limit: float) -> str:
    """Return the word that marks a large adjustment, or nothing."""
    return "large" if abs(value) > limit else ""


def capital(text: str) -> str:
    """Return a text that starts with a capital and is otherwise as it was."""
    return text[:1].upper() + text[1:]
