"""Chances of a sale held against the sales that came: each foretold before its month began.

For every month the chance to sell is learned anew from what the ledger said up to the day before,
and every time on offer in that month is given its chance.  A car that is sold leaves early, and one
that stays is made cheaper or withdrawn: chances of whole months would be held against months that
were cut short.  So each counts for exactly the days that it was on offer at a price, as the
integrated hazard of a counting process does: its sum over all cars is the number of sales to
expect, whenever prices are cut and cars withdrawn, as long as that is decided from what is known
(Andersen, Borgan, Gill and Keiding 1993, II.4.1).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binom, chi2

from valuation.results.chance_check import (
    LEAST_EXPECTED,
    ChanceCheck,
    ChanceGroups,
    ChanceRow,
)
from valuation.results.stock_chance import MONTH_DAYS
from valuation.stocking.chance import Asked, ChanceToSell, fit_chance
from valuation.stocking.settings import StockSettings
from valuation.stocking.spells import OfferedCar, Spell, Spells, spells_of

__all__ = ["check_chances"]

Floats = NDArray[np.float64]

_ONE = timedelta(days=1)
_AHEAD = 3
"""Months for which a chance is foretold at most."""

_GROUPS = 6
"""Groups of chances at most."""

_PRICES = (0.0, 0.05, 0.1, 0.15, 0.2)
_WAITS = (30, 90, 180)
_TAIL = 0.025


@dataclass(frozen=True, slots=True)
class _Time:
    """One time on offer with what was foretold of it.

    Parameters
    ----------
    spell : Spell
        Days of a car at one price within one month.
    month : datetime.date
        First day of the month whose beginning the chance was foretold from.
    ahead : int
        1 in that month, 2 in the one after it.
    own : bool
        Whether own sales spoke.
    chance : float
        To be sold in a month from its first day, at its price.
    hazard : float
        Sales to expect in its days.
    drawn : ndarray, shape (n_draws,)
        The same for each draw of the effects.
    """

    spell: Spell
    month: date
    ahead: int
    own: bool
    chance: float
    hazard: float
    drawn: Floats = field(repr=False)


_Named = Callable[[_Time], tuple[Any, str]]
"""From a time on offer to its group: where it stands in the order, and its name."""


def check_chances(
    cars: Sequence[OfferedCar],
    settings: StockSettings,
    *,
    currency: str,
    as_of: date,
    months: int = 12,
    seed: int = 0,
) -> ChanceCheck:
    """Hold foretold chances of a sale against the sales that came.

    Parameters
    ----------
    cars : sequence of OfferedCar
        Of the ledger.
    settings : StockSettings
        Assumptions, and how many own sales it takes to speak of them.
    currency : str
        Currency of the estimates.
    as_of : datetime.date
        Last day that is known.
    months : int
        Calendar months that are foretold, the last one that of `as_of`; 1 or more.
    seed : int
        Of the draws behind chances.

    Returns
    -------
    ChanceCheck
        Of months in which anything was on offer; with no row where nothing was.
    """
    if months < 1:
        raise ValueError("months have to be 1 or more")
    known = spells_of(cars, currency=currency, as_of=as_of)
    starts = _starts(known, as_of, months)
    told = list(_foretell(known, cars, settings, starts, currency=currency, seed=seed))
    now = [t for t in told if t.ahead == 1]
    first = starts[0] if starts else as_of.replace(day=1)
    if not now:
        return ChanceCheck(first, as_of, 0, 0, None, notes=_notes(known))
    kinds = tuple(_kinds(now, told))
    own = {t.month: t.own for t in now}
    return ChanceCheck(
        first,
        as_of,
        len(own),
        sum(not spoke for spoke in own.values()),
        _row("all times on offer", now),
        kinds,
        _p_value(kinds[0].rows),
        _notes(known),
    )


def _starts(known: Spells, as_of: date, months: int) -> list[date]:
    """Return the first days of the months to foretell in which anything was on offer."""
    begun = {s.first.replace(day=1) for s in known.spells}
    wanted, day = set(), as_of.replace(day=1)
    for _ in range(months):
        wanted.add(day)
        day = (day - _ONE).replace(day=1)
    return sorted(begun & wanted)


def _foretell(
    known: Spells,
    cars: Sequence[OfferedCar],
    settings: StockSettings,
    starts: Sequence[date],
    *,
    currency: str,
    seed: int,
) -> Iterator[_Time]:
    before = _histories(known.spells)
    for start in starts:
        spells = spells_of(cars, currency=currency, as_of=start - _ONE)
        chance = fit_chance(spells, settings, seed=seed)
        month = start
        for ahead in range(1, _AHEAD + 1):
            for place, spell in enumerate(known.spells):
                if spell.first.replace(day=1) == month:
                    yield _time(chance, spell, before[place], start, ahead)
            month = (month + timedelta(days=32)).replace(day=1)


def _histories(spells: Sequence[Spell]) -> list[Asked]:
    """Return what was asked for the car before each spell."""
    asked: dict[int, list[tuple[int, float]]] = defaultdict(list)
    out: list[Asked] = []
    for s in spells:
        out.append(tuple(asked[s.car]))
        asked[s.car].append((s.days, s.log_ask_over_value))
    return out


def _time(chance: ChanceToSell, spell: Spell, asked: Asked, start: date, ahead: int) -> _Time:
    drawn = chance.sold_by(
        np.array([spell.log_ask_over_value]),
        [spell.days, round(MONTH_DAYS)],
        segment=spell.segment,
        day=spell.first,
        condition=spell.condition,
        listed_days=spell.listed_days,
        # The first price of a car tells what the firm sees in it from its first day on.
        asked=asked or ((0, spell.log_ask_over_value),),
    )[:, 0, :]
    in_days = np.minimum(drawn[:, 0], 1 - 1e-9)
    return _Time(
        spell,
        start,
        ahead,
        chance.own,
        float(drawn[:, 1].mean()),
        float(-np.log1p(-in_days.mean())),
        -np.log1p(-in_days),
    )


def _kinds(now: Sequence[_Time], told: Sequence[_Time]) -> Iterator[ChanceGroups]:
    """Yield the groups of every kind; one that has but one group says no more than all together."""
    yield ChanceGroups("chance", "By the chance foretold", tuple(_chance_rows(now)))
    others: tuple[tuple[str, str, Sequence[_Time], _Named], ...] = (
        ("kind", "By kind of car", now, lambda t: (t.spell.segment, t.spell.segment)),
        ("price", "By asking price over estimate", now, _of_price),
        ("wait", "By days on offer before", now, _of_wait),
        ("month", "By month", now, lambda t: (t.month, f"{t.month:%B %Y}")),
        ("ahead", "By months ahead", told, _of_ahead),
        ("basis", "By what spoke", now, _of_basis),
    )
    for by, label, times, name in others:
        rows = tuple(_named_rows(times, name))
        if len(rows) > 1:
            yield ChanceGroups(by, label, rows)


def _chance_rows(now: Sequence[_Time]) -> Iterator[ChanceRow]:
    """Yield groups of rising chances, each with about as many sales to expect."""
    times = sorted(now, key=lambda t: t.chance)
    whole = sum(t.hazard for t in times)
    groups = int(max(1, min(_GROUPS, whole / LEAST_EXPECTED)))
    sums = np.cumsum([t.hazard for t in times])
    at = np.minimum((sums - 1e-9) / whole * groups, groups - 1).astype(int)
    for group in range(groups):
        members = [t for t, g in zip(times, at, strict=True) if g == group]
        if members:
            low, high = (round(100 * t.chance) for t in (members[0], members[-1]))
            yield _row(f"{low}%" if low == high else f"{low}% to {high}%", members)


def _named_rows(times: Sequence[_Time], named: _Named) -> Iterator[ChanceRow]:
    groups: dict[tuple[Any, str], list[_Time]] = defaultdict(list)
    for t in times:
        groups[named(t)].append(t)
    for place in sorted(groups):
        yield _row(place[1], groups[place])


def _of_price(t: _Time) -> tuple[Any, str]:
    over = np.expm1(t.spell.log_ask_over_value)
    at = int(np.searchsorted(_PRICES, over, side="right"))
    ends = [f"{100 * p:.0f}%" for p in _PRICES]
    if at == 0:
        return at, "asked below the estimate"
    to = "or more" if at == len(ends) else f"to {ends[at]}"
    return at, f"{ends[at - 1]} {to} over"


def _of_wait(t: _Time) -> tuple[Any, str]:
    at = int(np.searchsorted(_WAITS, t.spell.listed_days, side="right"))
    low = _WAITS[at - 1] if at else 0
    to = "or more" if at == len(_WAITS) else f"to {_WAITS[at] - 1}"
    return at, f"{low} {to} days on offer"


def _of_ahead(t: _Time) -> tuple[Any, str]:
    return t.ahead, f"{t.ahead} month{'' if t.ahead == 1 else 's'} ahead"


def _of_basis(t: _Time) -> tuple[Any, str]:
    return not t.own, "own sales and assumptions" if t.own else "assumptions alone"


def _row(name: str, times: Sequence[_Time]) -> ChanceRow:
    n, expected = len(times), sum(t.hazard for t in times)
    share = min(expected / n, 1.0)
    drawn = np.minimum(np.sum([t.drawn for t in times], axis=0) / n, 1.0)
    counts = np.arange(n + 1)
    wide = binom.cdf(counts[:, None], n, drawn).mean(axis=1)
    return ChanceRow(
        name,
        n,
        sum(t.spell.days for t in times),
        expected,
        sum(t.spell.sold for t in times),
        int(binom.ppf(_TAIL, n, share)),
        int(binom.ppf(1 - _TAIL, n, share)),
        int(np.searchsorted(wide, _TAIL)),
        min(int(np.searchsorted(wide, 1 - _TAIL)), n),
    )


def _p_value(rows: Sequence[ChanceRow]) -> float | None:
    """Return the tail of the chi-squared sum: forecasts took nothing from the sales they meet."""
    if len(rows) < 2:
        return None
    found = sum(
        (r.sold - r.expected) ** 2 / (r.expected * (1 - min(r.expected / r.times, 0.99)))
        for r in rows
    )
    return float(chi2.sf(found, len(rows)))


def _notes(known: Spells) -> tuple[str, ...]:
    notes = [
        "Each chance counts for the days on which the car stood at its price, learned from what "
        "the ledger said before the month. Estimates are those that were told then; of cars of "
        "which nothing was told, today's, without the firm's own sales, moved back with the "
        "market.",
    ]
    notes += [f"A car doesn't count where {why}: {n:,}." for why, n in known.left_out]
    return tuple(notes)
