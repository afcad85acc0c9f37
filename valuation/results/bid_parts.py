"""The parts of a bid sheet: ladder, account, courses, swings, checks, stops, work."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

__all__ = [
    "AccountLine",
    "BidCheck",
    "MarketCourse",
    "Resale",
    "Rung",
    "Stop",
    "Swing",
    "WorkStep",
]


@dataclass(frozen=True, slots=True)
class Rung:
    """One bid of the ladder.

    Parameters
    ----------
    bid : Decimal
        In the currency of the purchase.
    outlay : Decimal
        Everything paid until the car is ready for sale, in the mean, in the resale's currency.
    expected_margin, margin_p10, margin_p90 : Decimal
        Mean margin, and the margins that are undercut and exceeded once in ten times.
    loss_probability : float
        Probability of losing money, 0 to 1.
    breaks : tuple of str
        Limits that this bid breaks: ``margin``, ``risk``, ``outlay``.
    """

    bid: Decimal
    outlay: Decimal
    expected_margin: Decimal
    margin_p10: Decimal
    margin_p90: Decimal
    loss_probability: float
    breaks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class AccountLine:
    """One line from the bid to the margin, in the resale's currency.

    Parameters
    ----------
    what : str
        Name for people.
    low, high : Decimal
        Between which it lies, with the sign of `expected`: the lower amount first.
    expected : Decimal
        Its mean; lines that cost are negative.
    part : {"resale", "purchase", "work", "holding", "selling"}
        Where it arises.
    """

    what: str
    low: Decimal
    high: Decimal
    expected: Decimal
    part: str


@dataclass(frozen=True, slots=True)
class Resale:
    """The resale that the bid rests on.

    Parameters
    ----------
    central, lower, upper, mean : Decimal
        Median, ends of the 80 % range, and mean, after the correction for winning.
    before_winning : Decimal
        Mean before that correction.
    winning_percent : float
        The correction in per cent, zero or below.
    winning_source : str
        What the correction rests on, in words.
    sale_on : datetime.date or None
        Expected day of the sale; None if the evidence is undated or amounts were stated.
    channel, basis : str
        How it is sold; empty if amounts were stated.
    """

    central: Decimal
    lower: Decimal
    upper: Decimal
    mean: Decimal
    before_winning: Decimal
    winning_percent: float
    winning_source: str
    sale_on: date | None = None
    channel: str = ""
    basis: str = ""


@dataclass(frozen=True, slots=True)
class MarketCourse:
    """The answer if the market takes one course until the sale.

    Parameters
    ----------
    name, says : str
        Name and what it means, in words.
    percent : float
        By how much prices change until the sale.
    walk_away : Decimal or None
        The bid that would then be right.
    """

    name: str
    says: str
    percent: float
    walk_away: Decimal | None


@dataclass(frozen=True, slots=True)
class Swing:
    """How far one input moves the answer.

    Parameters
    ----------
    what : str
        The input.
    low, high : str
        Its two ends, in words.
    low_bid, high_bid : Decimal or None
        The walk-away bid at each end, None for no bid.
    """

    what: str
    low: str
    high: str
    low_bid: Decimal | None
    high_bid: Decimal | None


@dataclass(frozen=True, slots=True)
class BidCheck:
    """A fact to check first, in money of the walk-away bid.

    Parameters
    ----------
    label, state : str
        The fact, and how it stands.
    if_bad, if_good : str
        The worst and the best it can turn out to be.
    bad_bid, good_bid : Decimal or None
        The walk-away bid if it does, None for no bid.
    bad_chance, good_chance : float
        How likely each is.
    contradiction : str
        What speaks against the claim, empty for nothing.
    how : str
        How, where and with what to look.
    minutes : float or None
        How long that takes.
    """

    label: str
    state: str
    if_bad: str
    if_good: str
    bad_bid: Decimal | None
    good_bid: Decimal | None
    bad_chance: float
    good_chance: float
    contradiction: str
    how: str
    minutes: float | None


@dataclass(frozen=True, slots=True)
class Stop:
    """Something that stops the purchase of a car until it is cured.

    Parameters
    ----------
    reason : str
        What stops it and what has to happen first, in sentences.
    days : float or None
        How long the cure takes, None if nobody said.
    low, high : decimal.Decimal or None
        What the cure costs, both None if nobody said.
    currency : str
        ISO 4217 code, empty if nothing names one.
    """

    reason: str
    days: float | None = None
    low: Decimal | None = None
    high: Decimal | None = None
    currency: str = ""

    @property
    def cure(self) -> str:
        """Days and cost of the cure in words.

        Examples
        --------
        >>> Stop("Title: lien.", 10, Decimal(150), Decimal(400), "EUR").cure
        '10 days; 150 to 400 EUR'
        """
        known = []
        if self.days is not None:
            known.append(f"{self.days:g} day" + ("" if self.days == 1 else "s"))
        if self.low is not None and self.high is not None:
            to = "" if self.low == self.high else f" to {self.high:,f}"
            known.append(f"{self.low:,f}{to} {self.currency}".strip())
        return "; ".join(known) or "ask how long it takes and what it costs"

    @property
    def sentence(self) -> str:
        """The reason with days and cost of its cure."""
        return f"{self.reason} Cure: {self.cure}."

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form."""
        return {
            "reason": self.reason,
            "days": self.days,
            "low": None if self.low is None else str(self.low),
            "high": None if self.high is None else str(self.high),
            "currency": self.currency,
        }


@dataclass(frozen=True, slots=True)
class WorkStep:
    """One line of work, with the mark it restores: empty text where it restores none.

    The currency of its cost is that of the resale where none is named.
    """

    what: str
    zone: str
    restores: str
    low: Decimal
    high: Decimal
    currency: str = ""
