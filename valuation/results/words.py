"""Sentences that results and their pages share."""

from __future__ import annotations

from datetime import date

__all__ = ["INTERNAL", "PAID_COUNTS", "contradicted_words", "day_words", "quarter_words"]

INTERNAL = "Internal: not for customers."
"""Stands on everything that shows a bid, a cost, a margin, or how low the firm may go."""

PAID_COUNTS = (
    "What you paid for a car counts in its estimate where the evidence has that sale; the "
    "customer's sheet leaves it out, so its estimate can differ."
)
"""Goes with every internal estimate of a car of the firm."""

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

_QUARTERS = ("1st", "2nd", "3rd", "4th")


def contradicted_words(label: str, claim: str, contradiction: str) -> str:
    """Say that a fact is contradicted, and by what.

    Parameters
    ----------
    label : str
        The fact, for people.
    claim : str
        What is claimed of it, empty for nothing.
    contradiction : str
        What speaks against it, in sentences.

    Examples
    --------
    >>> contradicted_words("Engine originality", "numbers-matching", "Cast after the car.")
    'Engine originality: claimed numbers-matching, contradicted. Cast after the car.'
    >>> contradicted_words("Title", "", "The numbers differ")
    'Title: contradicted. The numbers differ.'
    """
    claimed = f"claimed {claim}, " if claim else ""
    stop = "" if contradiction.endswith((".", "!", "?")) else "."
    return f"{label}: {claimed}contradicted. {contradiction}{stop}"


def day_words(when: date | None) -> str:
    """Write a date so that no reader takes day for month.

    Examples
    --------
    >>> day_words(date(2025, 3, 4))
    '4 Mar 2025'
    """
    return f"{when.day} {_MONTHS[when.month - 1]} {when.year}" if when else "no date"


def quarter_words(when: date) -> str:
    """Say in which quarter a day lies.

    Examples
    --------
    >>> quarter_words(date(2025, 5, 17))
    '2nd quarter 2025'
    """
    return f"{_QUARTERS[(when.month - 1) // 3]} quarter {when.year}"
