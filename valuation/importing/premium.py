"""Buyer's premium in tiers, exactly: hammer price to hammer price plus premium."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from itertools import groupby

from valuation.errors import MapError

__all__ = ["APPLIED", "PremiumSlice", "applicable", "check_premiums", "with_premium"]

APPLIED = ("by slice", "on the whole price")


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
        Hammer price, positive.
    slices : sequence of PremiumSlice
        Tiers of one schedule in rising order.

    Examples
    --------
    >>> tiers = [PremiumSlice(Decimal(15), Decimal(50_000)), PremiumSlice(Decimal(10))]
    >>> with_premium(Decimal(80_000), tiers)
    Decimal('90500.00')
    """
    premium, floor = Decimal(0), Decimal(0)
    for tier in slices:
        top = hammer if tier.up_to is None else min(hammer, tier.up_to)
        if tier.applied == APPLIED[0]:
            premium += max(top - floor, Decimal(0)) * tier.percent / 100
        elif floor < hammer and (tier.up_to is None or hammer <= tier.up_to):
            premium = hammer * tier.percent / 100
        floor = max(floor, top)
    for least in (t.minimum for t in slices if t.minimum is not None):
        premium = max(premium, least)
    for most in (t.cap for t in slices if t.cap is not None):
        premium = min(premium, most)
    return (hammer + premium).quantize(Decimal("0.01"), ROUND_HALF_UP)


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


def check_premiums(slices: Sequence[PremiumSlice], where: str) -> None:
    """Refuse a premium schedule that is not in order.

    Raises
    ------
    MapError
        If tiers overlap, do not rise, or do not reach every price.
    """
    for (venue, *_), group in groupby(slices, key=_schedule):
        tiers = list(group)
        place = f"{where}, [[premium]]" + (f" of {venue}" if venue else "")
        if len({t.applied for t in tiers}) > 1:
            raise MapError(
                place, "tiers are applied in two ways", remedy="Use one applied for all of them"
            )
        ends = [t.up_to for t in tiers]
        if ends[-1] is not None or any(e is None for e in ends[:-1]):
            raise MapError(
                place,
                "the last tier alone must be without up_to",
                got=", ".join("none" if e is None else str(e) for e in ends),
                remedy="Let the last tier have no end, and give up_to to the others",
            )
        numbers = [e for e in ends if e is not None]
        if any(b <= a for a, b in zip([Decimal(0), *numbers], numbers, strict=False)):
            raise MapError(
                place,
                "up_to does not rise from tier to tier",
                got=", ".join(map(str, numbers)),
                remedy="Write the tiers from the lowest to the highest",
            )
