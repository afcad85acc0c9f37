"""A statement on its way: what is said, where, and which words turn it."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.schema.statements import GROUPS, Group, Strength

__all__ = ["Found"]


@dataclass(frozen=True, slots=True)
class Found:
    """Something found in a text.

    Parameters
    ----------
    topic, value : str
        What is said.
    strength : str
        How.
    start, end : int
        Where the thing itself stands.
    first, last : int
        Where it stands with the words that deny or doubt it; -1 where none do.
    """

    topic: str
    value: str
    strength: Strength
    start: int
    end: int
    first: int = -1
    last: int = -1

    @property
    def group(self) -> Group:
        """Which way it points."""
        return GROUPS[self.strength]

    @property
    def key(self) -> tuple[str, str, Strength]:
        """Topic, value and strength."""
        return (self.topic, self.value, self.strength)

    @property
    def span(self) -> tuple[int, int]:
        """Where the words stand that carry it."""
        if self.first < 0:
            return self.start, self.end
        return min(self.start, self.first), max(self.end, self.last)
