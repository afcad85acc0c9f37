"""The ways of buying in the cost settings: what a venue says itself, and what it takes over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import pairwise
from typing import TypeVar

from valuation.bidding.costs import (
    PURCHASE_TAX_ON,
    CostLine,
    Fee,
    Increment,
    LandingLine,
    PurchaseTax,
    WayOfBuying,
)
from valuation.bidding.costs_file_entries import (
    AMOUNT,
    POSITIVE,
    RATE,
    CostEntries,
    percent_to,
)
from valuation.bidding.costs_file_lines import (
    fee,
    landing_lines,
    line_of,
    listed_lines,
    percent_on,
)
from valuation.bidding.ways import DEFAULT, PRIVATE
from valuation.premium import APPLIED, PremiumSlice

__all__ = ["NO_LOT", "ways_of_buying"]

NO_LOT = (PRIVATE, "part-exchange")
"""Purchases in which no lot is bid on; the settings always have them."""

_NO_LOT = (*NO_LOT, "private", "dealer")
"""Ways and channels for which increments, premium and surcharge of lots don't hold."""

_PREMIUM = ("premium", "premium_applied", "premium_minimum", "premium_cap")

Line = TypeVar("Line", CostLine, LandingLine)
Tier = tuple[Decimal | None, Decimal]


@dataclass(frozen=True, slots=True)
class _Said:
    """What one table of a way of buying says; None where it says nothing."""

    currency: str
    rate: tuple[Decimal, Decimal] | None = None
    increments: tuple[Increment, ...] | None = None
    tiers: tuple[Tier, ...] | None = None
    applied: str | None = None
    minimum: Decimal | None = None
    cap: Decimal | None = None
    surcharge: Fee | None = None
    tax: PurchaseTax | None = None
    transport: tuple[CostLine, ...] | None = None
    inspection: tuple[CostLine, ...] | None = None
    other: tuple[CostLine, ...] | None = None
    landed: tuple[LandingLine, ...] | None = None


def ways_of_buying(e: CostEntries, home: str) -> dict[str, WayOfBuying]:
    """Read the tables of all ways of buying.

    Parameters
    ----------
    e : CostEntries
        The table [buying].
    home : str
        Currency of the resale.

    Returns
    -------
    dict of str to WayOfBuying
        In the order of the file, the default first.  Ways without a lot that the file does not
        name are those of the default without what holds for lots.
    """
    table = e.table(DEFAULT)
    if table is None and not e.has(DEFAULT):
        e.wrong(DEFAULT, "nothing", f"a table [{e.place_of(DEFAULT)}]")
    base = _said(table, home, home) if table else _Said(home)
    ways = {DEFAULT: _way(DEFAULT, base)}
    if table:
        _check(table, base, base, home)
        table.end()
    for key in e.names():
        name = _name(key)
        part = e.table(key) if key != DEFAULT else None
        if part is None:
            continue
        if name.casefold() in (n.casefold() for n in ways):
            e.wrong(key, "the same name again", "named once, capitals aside")
        said = _said(part, home, base.currency)
        taken = _taken(part, said, base, home, lot=name not in _NO_LOT)
        _check(part, said, taken, home)
        part.end()
        ways[name] = _way(name, taken)
    for name in NO_LOT:
        if name not in ways:
            ways[name] = _way(name, _without_lot(base))
    return ways


def _name(key: str) -> str:
    """Return the name of a way, those without a lot as they are written here."""
    name = " ".join(key.split())
    return next((n for n in _NO_LOT if n == name.casefold()), name)


def _said(e: CostEntries, home: str, usual: str) -> _Said:
    currency = e.code("currency") or usual
    allowed = tuple(c for c in (currency, home) if c)
    applied = e.choice("premium_applied", APPLIED)
    return _Said(
        currency=currency,
        rate=e.span("rate", RATE),
        increments=_increments(e),
        tiers=_tiers(e),
        applied=applied or None,
        minimum=e.exact("premium_minimum", AMOUNT),
        cap=e.exact("premium_cap", AMOUNT),
        surcharge=fee(e, "surcharge"),
        tax=_tax(e),
        transport=line_of(e, "transport", allowed),
        inspection=line_of(e, "inspection", allowed),
        other=listed_lines(e, "other", allowed),
        landed=landing_lines(e, "landed", allowed),
    )


def _increments(e: CostEntries) -> tuple[Increment, ...] | None:
    parts = e.tables("increments")
    if parts is None:
        return None
    read = []
    for part in parts:
        read.append((part.exact("up_to", POSITIVE), part.exact("step", POSITIVE, needed=True)))
        part.end()
    _check_ends(e, "increments", [up_to for up_to, _ in read])
    return tuple(Increment(step, up_to) for up_to, step in read if step is not None)


def _tiers(e: CostEntries) -> tuple[Tier, ...] | None:
    parts = e.tables("premium")
    if parts is None:
        return None
    read = []
    for part in parts:
        percent = part.exact("percent", percent_to(100), needed=True)
        read.append((part.exact("up_to", POSITIVE), percent))
        part.end()
    _check_ends(e, "premium", [up_to for up_to, _ in read])
    return tuple((up_to, percent) for up_to, percent in read if percent is not None)


def _check_ends(e: CostEntries, key: str, ends: Sequence[Decimal | None]) -> None:
    """Put down a fault unless the parts rise and reach every price."""
    numbers = [n for n in ends[:-1] if n is not None]
    rising = all(a < b for a, b in pairwise(numbers))
    if ends and (ends[-1] is not None or len(numbers) < len(ends) - 1 or not rising):
        got = ", ".join("no end" if n is None else str(n) for n in ends)
        e.wrong(key, got, "parts whose up_to rises, the last of them without up_to")


def _tax(e: CostEntries) -> PurchaseTax | None:
    part = e.table("tax")
    if part is None:
        return None
    percent, on = percent_on(part, PURCHASE_TAX_ON)
    made = PurchaseTax(percent, on, part.flag("reclaimed"))
    part.end()
    return made


def _taken(e: CostEntries, said: _Said, base: _Said, home: str, *, lot: bool) -> _Said:
    """Return what a table says, and what it takes over from the default."""
    if not lot:
        base = _without_lot(base)
    if said.tiers is not None:
        base = _without_premium(base)
    if home and said.currency != base.currency:
        base = _abroad(e, said, base, home)
    return _Said(
        **{
            name: getattr(base, name) if getattr(said, name) is None else getattr(said, name)
            for name in _Said.__slots__
        }
    )


def _without_lot(said: _Said) -> _Said:
    return replace(_without_premium(said), increments=None, surcharge=None)


def _without_premium(said: _Said) -> _Said:
    return replace(said, tiers=None, applied=None, minimum=None, cap=None)


def _abroad(e: CostEntries, said: _Said, base: _Said, home: str) -> _Said:
    """Return what can be taken over from a default in another currency.

    A line keeps the currency it was stated in where that is the one of the resale; amounts that
    can't name a currency, such as the ends of tiers, would silently become other amounts.
    """
    fee_ = base.surcharge or Fee()
    bound = {
        "increments": bool(base.increments),
        "premium": bool(base.minimum or base.cap or any(end for end, _ in base.tiers or ())),
        "surcharge": bool(fee_.amount or fee_.minimum or fee_.cap),
    }
    kept = replace(
        base,
        rate=None,
        transport=_kept(base.transport, base.currency),
        inspection=_kept(base.inspection, base.currency),
        other=_kept(base.other, base.currency),
        landed=_kept(base.landed, base.currency),
    )
    known = (home, said.currency)
    bound |= {
        name: any(n.currency not in known for n in getattr(kept, name) if n.high)
        for name in ("transport", "inspection", "other", "landed")
    }
    for key, amounts in bound.items():
        if amounts and not e.has(key):
            usual = f"that of [buying.default] being in {base.currency}"
            e.wrong(key, "nothing", f"stated in {said.currency}, {usual}")
    return kept


def _kept(lines: Sequence[Line] | None, currency: str) -> tuple[Line, ...]:
    return tuple(replace(n, currency=n.currency or currency) for n in lines or ())


def _check(e: CostEntries, said: _Said, taken: _Said, home: str) -> None:
    """Check what no single entry can tell; what is taken over was checked where it stands."""
    if home and taken.currency == home and said.rate:
        e.wrong("rate", _between(said.rate), f"left out, {home} being the currency of the resale")
    elsewhere = home and taken.currency != home and e.has("currency")
    if elsewhere and taken.rate is None and not e.has("rate"):
        worth = f"what one {taken.currency} is worth in {home} until payment, as low and high"
        e.wrong("rate", "nothing", worth)
    said_of_it = e.stated(*_PREMIUM[1:])
    if said_of_it and not taken.tiers and (said.tiers is not None or not e.has("premium")):
        e.wrong(said_of_it[0], "no premium", "left out where there is no premium")
    if said_of_it and taken.minimum and taken.cap is not None and taken.cap < taken.minimum:
        e.wrong("premium_cap", str(taken.cap), f"{taken.minimum} or more, as premium_minimum is")


def _between(span: tuple[Decimal, Decimal]) -> str:
    low, high = span
    return str(low) if low == high else f"{low} to {high}"


def _way(name: str, said: _Said) -> WayOfBuying:
    low, high = said.rate or (None, None)
    applied = said.applied or APPLIED[0]
    return WayOfBuying(
        name=name,
        currency=said.currency,
        rate_low=low,
        rate_high=high,
        increments=said.increments or (),
        premium=tuple(
            PremiumSlice(percent, up_to, applied, said.minimum, said.cap)
            for up_to, percent in said.tiers or ()
        ),
        surcharge=said.surcharge or Fee(),
        tax=said.tax or PurchaseTax(),
        lines=(*(said.transport or ()), *(said.inspection or ()), *(said.other or ())),
        landing=said.landed or (),
    )
