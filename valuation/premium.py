"""Buyer's premium in tiers, exactly: hammer price to hammer price plus premium."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import groupby

import numpy as np

from valuation.cents import Cents, from_cents, half_up, in_cents
from valuation.errors import MapError

__all__ = [
    "APPLIED",
    "PremiumFault",
    "PremiumSlice",
    "applicable",
    "check_premiums",
    "premium_cents",
    "premium_fault",
    "with_premium",
]

APPLIED = ("by slice", "on the whole price")


@dataclass(frozen=True, slots=True)
class PremiumFault:
    """What is wrong with a schedule: the problem, what came, what to do."""

    problem: str
    got: str
    remedy: str


@dataclass(frozen=True, slots=True)
class PremiumSlice:
    """One tier of a buyer's premium.

    Parameters
    ----------
    percent : Decimal
        Per cent of the hammer price.
    up_to : Decimal, optional
        Highest hammer price of the tier; None for the last one, which has no end.
    applied : {"by slice", "on the whole price"}
        Whether the per cent is taken of the part of the price within the tier, or the tier in
        which the price lies sets the per cent of the whole.
    minimum, cap : Decimal, optional
        Least and greatest premium, in the currency of the price.
    venue : str
        Venue it holds for; empty for any.
    first, last : datetime.date, optional
        Days between which it holds.
    """

    percent: Decimal
    up_to: Decimal | None = None
    applied: str = APPLIED[0]
    minimum: Decimal | None = None
    cap: Decimal | None = None
    venue: str = ""
    first: date | None = None
    last: date | None = None


def with_premium(hammer: Decimal, slices: Sequence[PremiumSlice]) -> Decimal:
    """Return hammer price plus buyer's premium, to the cent.

    Parameters
    ----------
    hammer : Decimal
        Hammer price, positive, in whole cents.
    slices : sequence of PremiumSlice
        Tiers of one schedule in rising order.

    Examples
    --------
    >>> tiers = [PremiumSlice(Decimal(15), Decimal(50_000)), PremiumSlice(Decimal(10))]
    >>> with_premium(Decimal(80_000), tiers)
    Decimal('90500.00')
    """
    cents = in_cents(hammer)
    return from_cents(cents + int(premium_cents(np.array([cents]), slices)[0]))


def premium_cents(hammer: Cents, slices: Sequence[PremiumSlice]) -> Cents:
    """Return the buyer's premium of many hammer prices at once, in whole cents.

    Each premium is exact and rounded half up once.

    Parameters
    ----------
    hammer : ndarray of int, shape (n,)
        Hammer prices in cents.
    slices : sequence of PremiumSlice
        Tiers of one schedule in rising order.

    Returns
    -------
    ndarray of int, shape (n,)
        Premiums in cents.

    Examples
    --------
    >>> tiers = [PremiumSlice(Decimal(15), Decimal(500)), PremiumSlice(Decimal(10))]
    >>> premium_cents(np.array([50_000, 80_000]), tiers).tolist()
    [7500, 10500]
    """
    # All per cents over one denominator, so that the sum over the tiers is a whole number.
    below = math.lcm(*(_ratio(t.percent)[1] for t in slices)) if slices else 1
    parts, floor = np.zeros_like(hammer), 0
    for tier in slices:
        above, own = _ratio(tier.percent)
        rate = above * (below // own)
        end = None if tier.up_to is None else in_cents(tier.up_to)
        top = hammer if end is None else np.minimum(hammer, end)
        if tier.applied == APPLIED[0]:
            parts = parts + np.maximum(top - floor, 0) * rate
        else:
            parts = np.where((hammer > floor) & (top == hammer), hammer * rate, parts)
        floor = floor if end is None else end
    premium: Cents = half_up(parts, below)
    for least in (t.minimum for t in slices if t.minimum is not None):
        premium = np.maximum(premium, in_cents(least))
    for most in (t.cap for t in slices if t.cap is not None):
        premium = np.minimum(premium, in_cents(most))
    return premium


def _ratio(percent: Decimal) -> tuple[int, int]:
    """Return a per cent as a ratio of whole numbers."""
    return (percent / 100).as_integer_ratio()


def _schedule(tier: PremiumSlice) -> tuple[str, date, date]:
    return tier.venue, tier.first or date.min, tier.last or date.max


def applicable(
    slices: Sequence[PremiumSlice], venue: str | None, day: date | None
) -> tuple[PremiumSlice, ...]:
    """Return the tiers of the schedule that holds for a sale, those of its own venue first.

    Returns
    -------
    tuple of PremiumSlice
        Empty if no schedule holds.
    """
    for wanted in (venue or "", ""):
        fitting = [
            s
            for s in slices
            if s.venue.casefold() == wanted.casefold()
            and (day is None or _schedule(s)[1] <= day <= _schedule(s)[2])
        ]
        for _, group in groupby(fitting, key=_schedule):
            return tuple(group)
    return ()


def premium_fault(tiers: Sequence[PremiumSlice]) -> PremiumFault | None:
    """Return what is wrong with the tiers of one schedule, None if they are in order."""
    if len({t.applied for t in tiers}) > 1:
        return PremiumFault("tiers are applied in two ways", "", "Use one applied for all of them")
    ends = [t.up_to for t in tiers]
    if tiers and (ends[-1] is not None or any(e is None for e in ends[:-1])):
        return PremiumFault(
            "the last tier alone must be without up_to",
            ", ".join("none" if e is None else str(e) for e in ends),
            "Let the last tier have no end, and give up_to to the others",
        )
    numbers = [e for e in ends if e is not None]
    if any(b <= a for a, b in zip([Decimal(0), *numbers], numbers, strict=False)):
        return PremiumFault(
            "up_to does not rise from tier to tier",
            ", ".join(map(str, numbers)),
            "Write the tiers from the lowest to the highest",
        )
    least = [t.minimum for t in tiers if t.minimum is not None]
    most = [t.cap for t in tiers if t.cap is not None]
    if least and most and min(most) < max(least):
        return PremiumFault(
            "the cap lies below the minimum",
            f"cap {min(most)}, minimum {max(least)}",
            "Let the cap be the larger of the two",
        )
    return None


def check_premiums(slices: Sequence[PremiumSlice], where: str) -> None:
    """Refuse a list of premium schedules of which one is not in order.

    Raises
    ------
    MapError
        If tiers overlap, do not rise, do not reach every price, or a cap lies below a minimum.
    """
    for (venue, *_), group in groupby(slices, key=_schedule):
        fault = premium_fault(list(group))
        if fault:
            place = f"{where}, [[premium]]" + (f" of {venue}" if venue else "")
            raise MapError(place, fault.problem, got=fault.got, remedy=fault.remedy)
