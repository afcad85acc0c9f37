"""Sentences that results and their pages share."""

from __future__ import annotations

__all__ = ["contradicted_words"]


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
