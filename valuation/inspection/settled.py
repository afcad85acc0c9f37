"""Attributes of an inspected car in the one place each belongs: settled, open, not looked at."""

from __future__ import annotations

from dataclasses import dataclass, field

from valuation.records import OpenFact, Value

__all__ = ["Settled"]


@dataclass
class Settled:
    """Attributes of the contract after an inspection.

    Parameters
    ----------
    values : dict of str to Value
        What is settled.
    open : dict of str to OpenFact
        What is claimed or half seen.
    not_looked_at, cannot_be_told : set of str
        What nobody has looked at, and what can no longer be found out.
    notes : list of str
        Remarks, in sentences.
    """

    values: dict[str, Value] = field(default_factory=dict)
    open: dict[str, OpenFact] = field(default_factory=dict)
    not_looked_at: set[str] = field(default_factory=set)
    cannot_be_told: set[str] = field(default_factory=set)
    notes: list[str] = field(default_factory=list)

    def put(self, name: str, found: Value | OpenFact | None) -> None:
        """Put an attribute in its one place; None means that nobody has looked."""
        self.drop(name)
        if isinstance(found, OpenFact):
            self.open[name] = found
        elif found is None:
            self.not_looked_at.add(name)
        else:
            self.values[name] = found

    def drop(self, name: str) -> None:
        """Say nothing of an attribute any more."""
        self.values.pop(name, None)
        self.open.pop(name, None)
        self.not_looked_at.discard(name)
        self.cannot_be_told.discard(name)

    def put_untellable(self, name: str) -> None:
        """Note that an attribute can no longer be found out."""
        self.put(name, None)
        self.not_looked_at.discard(name)
        self.cannot_be_told.add(name)
