"""What was said of cars against what they brought."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from valuation.results.bid_text import bid_words
from valuation.results.pair import Pair

__all__ = ["Accuracy", "Duel", "Figure", "Margins", "Realised", "few_words"]

FORMAT = 1
"""Version of the machine-readable form."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure with its 95 % interval where there are enough pairs for one.

    Parameters
    ----------
    value : float
        What was measured.
    low, high : float or None
        Ends of the interval, None without one.
    """

    value: float
    low: float | None = None
    high: float | None = None

    def words(self, form: str) -> str:
        """Write it in a format, with its interval in brackets.

        Examples
        --------
        >>> Figure(0.8, 0.61, 0.93).words(".0%"), Figure(1.02).words(".2f")
        ('80% (61% to 93%)', '1.02')
        """
        if self.low is None or self.high is None:
            return f"{self.value:{form}}"
        return f"{self.value:{form}} ({self.low:{form}} to {self.high:{form}})"


@dataclass(frozen=True, slots=True)
class Accuracy:
    """How close what was said came, for one kind of estimate.

    Parameters
    ----------
    what : {"prices", "resales"}
        Valuations against the next sale, or resales foretold with a bid.
    pairs : int
        Pairs that are compared.
    ranges : int
        How many of them had a range.
    level : float or None
        Nominal coverage of these ranges; None without any.
    inside : Figure or None
        Share of prices inside; None for too few ranges.
    ratio : Figure or None
        Median of estimate over price; None for too few pairs.
    error : float or None
        Median of the absolute error, as a share of the price.
    """

    what: str
    pairs: int
    ranges: int
    level: float | None
    inside: Figure | None
    ratio: Figure | None
    error: float | None

    def sentences(self) -> Iterator[str]:
        """Say the figures, or that there are too few pairs for them."""
        name = _NAMES[self.what]
        if self.ratio is None or self.error is None:
            yield f"{name}: {few_words(self.pairs)}."
            return
        yield (
            f"{name}, {_count(self.pairs, 'pair')}: estimate over price "
            f"{self.ratio.words('.3f')} in the middle; median error {self.error:.1%}."
        )
        if self.inside is not None and self.level is not None:
            yield (
                f"Of {_count(self.ranges, 'range')} of {self.level:.0%}, "
                f"{self.inside.words('.0%')} held the price."
            )
        elif self.ranges:
            yield f"Ranges: {few_words(self.ranges)}."


_NAMES = {"prices": "Prices of the next sale", "resales": "Resales foretold with a bid"}


@dataclass(frozen=True, slots=True)
class Duel:
    """The model's estimate against another figure for the same sales.

    Parameters
    ----------
    other : {"own figure", "override"}
        Whose figure stands against it.
    pairs : int
        Sales with both.
    nearer_model, nearer_other : int
        How often each was nearer to the price; the rest were equally near.
    model_error, other_error : float or None
        Median absolute error of each, as a share of the price; None for too few pairs.
    difference : Figure or None
        The other's less the model's; above zero the model was nearer.
    """

    other: str
    pairs: int
    nearer_model: int
    nearer_other: int
    model_error: float | None
    other_error: float | None
    difference: Figure | None

    @property
    def verdict(self) -> str:
        """Who was nearer, in a sentence that claims no more than the interval carries."""
        if self.difference is None:
            return f"{few_words(self.pairs).capitalize()}: nobody can be called nearer yet."
        low, high = self.difference.low, self.difference.high
        name = "own figure" if self.other == "own figure" else "override"
        if low is None or high is None or low <= 0 <= high:
            return f"It can't be told yet whether the model or the {name} is nearer."
        if low > 0:
            told = "The model was nearer than the own figures."
            return told if self.other == "own figure" else "The overrides made it worse."
        told = "The own figures were nearer than the model."
        return told if self.other == "own figure" else "The overrides helped."

    def sentences(self) -> Iterator[str]:
        """Say how both did, or that there are too few pairs."""
        name = "Model and own figure" if self.other == "own figure" else "Model and override"
        yield (
            f"{name} on the same {_count(self.pairs, 'sale')}: the model was nearer "
            f"{_count(self.nearer_model, 'time')}, the {self.other} "
            f"{_count(self.nearer_other, 'time')}."
        )
        if self.model_error is not None and self.other_error is not None and self.difference:
            yield (
                f"Median error: model {self.model_error:.1%}, {self.other} "
                f"{self.other_error:.1%}; difference {self.difference.words('+.1%')}."
            )
        yield self.verdict


@dataclass(frozen=True, slots=True)
class Margins:
    """Margins of cars that were bid on, bought and sold, at the price paid and the same costs.

    Parameters
    ----------
    pairs : int
        Such cars.
    currency : str
        Of the amounts.
    expected, realised : Decimal
        Mean margin of a car, exact, rounded once to the cent.
    difference : Figure or None
        Mean of realised less expected; None for too few cars.
    parts : tuple of str
        Parts of the account beside the purchase that are in both.
    lost : int
        How many of the cars lost money.
    """

    pairs: int
    currency: str
    expected: Decimal
    realised: Decimal
    difference: Figure | None
    parts: tuple[str, ...]
    lost: int

    def sentences(self) -> Iterator[str]:
        """Say both means, and what they hold."""
        yield (
            f"Margin of {_count(self.pairs, 'car')} bought and sold: expected "
            f"{bid_words(self.expected, self.currency)} in the mean, realised "
            f"{bid_words(self.realised, self.currency)}; {self.lost:,} lost money."
        )
        if self.difference is None:
            yield f"{few_words(self.pairs).capitalize()}: the difference may be chance."
        else:
            yield f"Realised less expected: {self.difference.words('+,.0f')} {self.currency}."
        held = ", ".join(("purchase as paid", *self.parts))
        yield f"Both margins hold the same costs: {held}."


@dataclass(frozen=True)
class Realised:
    """What was said of cars against what they brought.

    Parameters
    ----------
    as_of : datetime.date
        Day up to which sales count.
    said : int
        How many things were said.
    waiting : int
        How many of them have no sale yet.
    earlier : int
        How many were followed by another one before the sale; they are kept and not compared.
    pairs : tuple of Pair
        What was said last before each sale, in the order of the sales; those that are not compared
        among them.
    left_out : tuple of (str, int)
        Why pairs are not compared, and how many.
    accuracy : tuple of Accuracy
        For each kind of estimate of which there are pairs.
    margins : tuple of Margins
        For each currency of which there are such cars.
    own : Duel or None
        The model against the person's own figures; None if nobody gave any.
    overrides : Duel or None
        The model against figures set in its place; None if there are none.
    won : int
        Lots that were bid on, won and sold again: pairs of the record for winning.
    notes : tuple of str
        What to know before relying on it.
    """

    as_of: date
    said: int
    waiting: int
    earlier: int
    pairs: tuple[Pair, ...]
    left_out: tuple[tuple[str, int], ...]
    accuracy: tuple[Accuracy, ...]
    margins: tuple[Margins, ...]
    own: Duel | None
    overrides: Duel | None
    won: int
    notes: tuple[str, ...] = ()

    @property
    def compared(self) -> tuple[Pair, ...]:
        """Pairs that are compared."""
        return tuple(p for p in self.pairs if not p.left_out)

    def headline(self) -> str:
        """Say how much there is, in one sentence."""
        return (
            f"What was said of cars up to {self.as_of.isoformat()}: {self.said:,} estimates and "
            f"bids; compared with a sale {len(self.compared):,}, waiting for one "
            f"{self.waiting:,}, followed by a newer one before it {self.earlier:,}."
        )

    def sentences(self) -> Iterator[str]:
        """Say everything that was found, part by part."""
        parts = (*self.accuracy, *self.margins, self.own, self.overrides)
        for part in parts:
            if part is not None:
                yield from part.sentences()
        if self.won:
            lots = _count(self.won, "lot")
            yield f"{lots} bid on, won and sold again: a record that can correct the next bids."
        for reason, count in self.left_out:
            yield f"Not compared, {reason}: {count:,}."

    def summary(self) -> str:
        """Return the result as plain text."""
        lines = [self.headline(), *(f"  {s}" for s in self.sentences())]
        return "\n".join([*lines, *(f"  note: {n}" for n in self.notes)])

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        return {
            "format": FORMAT,
            "as_of": self.as_of.isoformat(),
            "said": self.said,
            "waiting": self.waiting,
            "earlier": self.earlier,
            "left_out": [{"reason": r, "pairs": n} for r, n in self.left_out],
            "accuracy": [asdict(a) for a in self.accuracy],
            "margins": [_margins_dict(m) for m in self.margins],
            "own": None if self.own is None else asdict(self.own),
            "overrides": None if self.overrides is None else asdict(self.overrides),
            "won": self.won,
            "notes": list(self.notes),
            "pairs": [p.to_dict() for p in self.pairs],
        }


def _margins_dict(margins: Margins) -> dict[str, Any]:
    exact = {"expected": str(margins.expected), "realised": str(margins.realised)}
    return asdict(margins) | exact | {"parts": list(margins.parts)}


def _count(count: int, noun: str) -> str:
    return f"{count:,} {noun}" if count == 1 else f"{count:,} {noun}s"


def few_words(pairs: int) -> str:
    """Say that there are too few pairs for a figure.

    Examples
    --------
    >>> few_words(0), few_words(1), few_words(4)
    ('no pair yet', 'one pair only, too few for a figure', '4 pairs only, too few for a figure')
    """
    if not pairs:
        return "no pair yet"
    return f"{'one pair' if pairs == 1 else f'{pairs} pairs'} only, too few for a figure"
