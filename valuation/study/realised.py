"""How what was said of cars held up: ranges, errors, margins, and the model against people.

A pair is a car of the firm or of a list that sold after something was said of it; see
:mod:`valuation.evidence.pairs` for how a sale is found.  Cars of one month miss together, so that
the interval of the share inside is that of months; the medians have an interval by ranks, and what
two figures for the same cars differ by is redrawn pair by pair.  Few pairs give no figure.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from valuation.cents import from_cents, in_cents
from valuation.results.pair import Pair
from valuation.results.realised import Accuracy, Duel, Figure, Margins, Realised
from valuation.scoring.intervals import coverage_interval
from valuation.scoring.ratios import rank_interval, redrawn_interval

__all__ = ["FEWEST", "FEWEST_FOR_INTERVAL", "WonRecord", "realised_study", "won_record"]

Floats = NDArray[np.float64]

FEWEST = 5
"""Fewer pairs than that give no figure."""

FEWEST_FOR_INTERVAL = 10
"""Fewer pairs than that give a figure without an interval: medians of so few have none that holds
what it promises."""

_LEVEL = 0.95
_REPLICATIONS = 2000

COURSE = (
    "A foretold resale holds the market at its level on the day of the bid; what the market did "
    "until the sale is part of every difference."
)
WINNING = (
    "Range and margin of a bid are those after the correction for winning; the record for winning "
    "holds the estimate before it."
)


def realised_study(
    pairs: Sequence[Pair], *, as_of: date, said: int, waiting: int, seed: int = 0
) -> Realised:
    """Say how what was said held up.

    Parameters
    ----------
    pairs : sequence of Pair
        What was said last before each sale.
    as_of : datetime.date
        Day up to which sales count.
    said, waiting : int
        How many things were said, and how many have no sale yet.
    seed : int
        Of the redrawn samples behind intervals.

    Returns
    -------
    Realised
        The same pairs and seed give the same result, in whatever order they come.
    """
    ordered = sorted(pairs, key=lambda p: (p.sold_on, p.said_id))
    good = [p for p in ordered if not p.left_out and p.central is not None]
    reasons = Counter(p.left_out for p in ordered if p.left_out)
    prices = [p for p in good if not p.of_resale]
    resales = [p for p in good if p.of_resale]
    accuracy = tuple(
        _accuracy(what, part) for what, part in (("prices", prices), ("resales", resales)) if part
    )
    notes = (COURSE, WINNING) if resales else ()
    return Realised(
        as_of=as_of,
        said=said,
        waiting=waiting,
        earlier=sum(p.earlier for p in ordered),
        pairs=tuple(ordered),
        left_out=tuple(sorted(reasons.items(), key=lambda e: (-e[1], e[0]))),
        accuracy=accuracy,
        margins=_margins(good, seed),
        own=_duel(good, "own figure", lambda p: p.own_figure, seed),
        overrides=_duel(good, "override", lambda p: p.override, seed),
        won=sum(p.expected is not None for p in good),
        notes=notes,
    )


def _accuracy(what: str, pairs: Sequence[Pair]) -> Accuracy:
    price = _floats([p.price for p in pairs])
    central = _floats([p.central for p in pairs])
    ranged = [p for p in pairs if p.lower is not None and p.upper is not None]
    levels = Counter(p.level for p in ranged if p.level is not None)
    level = levels.most_common(1)[0][0] if levels else None
    ranged = [p for p in ranged if p.level == level]
    enough = len(pairs) >= FEWEST
    return Accuracy(
        what=what,
        pairs=len(pairs),
        ranges=len(ranged),
        level=level,
        inside=_inside(ranged),
        ratio=_median(central / price) if enough else None,
        error=float(np.median(np.abs(central / price - 1))) if enough else None,
    )


def _inside(pairs: Sequence[Pair]) -> Figure | None:
    """Return the share of prices inside their ranges; the interval knows that months miss alike."""
    if len(pairs) < FEWEST:
        return None
    # Inside is decided on exact amounts; the interval needs no more than that.
    share = sum(bool(p.inside) for p in pairs) / len(pairs)
    months = [p.sold_on.strftime("%Y-%m") for p in pairs]
    if len(set(months)) < 2:
        return Figure(share)
    price, lower, upper = (
        _floats([getattr(p, name) for p in pairs]) for name in ("price", "lower", "upper")
    )
    found = coverage_interval(price, lower, upper, months, confidence=_LEVEL)
    return Figure(share, found.lower, found.upper)


def _median(values: Floats) -> Figure:
    middle = float(np.median(values))
    if values.size < FEWEST_FOR_INTERVAL:
        return Figure(middle)
    found = rank_interval(values, level=_LEVEL, where="ratio of estimate to price")
    return Figure(middle, found.lower, found.upper)


def _floats(amounts: Sequence[Decimal | None]) -> Floats:
    return np.array([float(a) for a in amounts if a is not None], dtype=np.float64)


def _duel(
    pairs: Sequence[Pair], name: str, figure: Callable[[Pair], Decimal | None], seed: int
) -> Duel | None:
    """Hold the model's estimates against other figures for the same cars."""
    both = [(p.price, p.central, f) for p in pairs if (f := figure(p)) and p.central]
    if not both:
        return None
    nearer = Counter(_sign(abs(c - price) - abs(f - price)) for price, c, f in both)
    duel = Duel(name, len(both), nearer[-1], nearer[1], None, None, None)
    if len(both) < FEWEST:
        return duel
    price, central, other = (_floats([b[i] for b in both]) for i in range(3))
    model_error, other_error = (np.abs(x / price - 1) for x in (central, other))
    return Duel(
        name,
        len(both),
        nearer[-1],
        nearer[1],
        float(np.median(model_error)),
        float(np.median(other_error)),
        _redrawn(_medians_apart, (other_error, model_error), f"model and {name}", seed),
    )


def _sign(amount: Decimal) -> int:
    return (amount > 0) - (amount < 0)


def _medians_apart(other: Floats, model: Floats) -> Floats:
    return np.asarray(np.median(other, axis=-1) - np.median(model, axis=-1))


def _redrawn(
    measure: Callable[..., Floats], columns: tuple[Floats, ...], where: str, seed: int
) -> Figure:
    """Return a measure with the interval of redrawn pairs, where there are enough of them."""
    value = float(measure(*columns))
    if columns[0].size < FEWEST_FOR_INTERVAL:
        return Figure(value)
    found = redrawn_interval(
        where, measure, columns, seed=seed, level=_LEVEL, replications=_REPLICATIONS
    )
    return Figure(value, found.lower, found.upper)


def _margins(pairs: Sequence[Pair], seed: int) -> tuple[Margins, ...]:
    """Return mean margins by currency, exact and rounded once."""
    out = []
    for code in sorted({p.currency for p in pairs if p.margin}):
        made = [p.margin for p in pairs if p.margin and p.currency == code]
        apart = _floats([m.realised - m.expected for m in made])
        few = len(made) < FEWEST
        out.append(
            Margins(
                len(made),
                code,
                _mean([m.expected for m in made]),
                _mean([m.realised for m in made]),
                None if few else _redrawn(_mean_of, (apart,), "margins", seed),
                made[-1].parts,
                sum(m.realised < 0 for m in made),
            )
        )
    return tuple(out)


def _mean_of(values: Floats) -> Floats:
    return np.asarray(np.mean(values, axis=-1))


def _mean(amounts: Sequence[Decimal]) -> Decimal:
    return from_cents(in_cents(sum(map(Fraction, amounts), Fraction(0)) / len(amounts)))


@dataclass(frozen=True, slots=True)
class WonRecord:
    """The record of lots that were won, for the correction for winning.

    Parameters
    ----------
    content : str
        CSV with the columns ``expected`` and ``realised``, and two more to find the pair again.
    pairs : int
        Rows in it.
    currency : str
        Of every amount.
    other_currency : int
        Pairs in another currency, which are not in it.
    """

    content: str
    pairs: int
    currency: str
    other_currency: int


def won_record(pairs: Sequence[Pair], *, currency: str = "") -> WonRecord:
    """Return the record of lots that were bid on, won and sold again.

    Parameters
    ----------
    pairs : sequence of Pair
        From :func:`valuation.evidence.pairs.find_pairs`.
    currency : str, optional
        Currency of the record, that of the cost settings; by default that of most pairs.

    Returns
    -------
    WonRecord
        ``expected`` is the central estimate of the resale, after the work that the bid counted on
        and in the selling channel, *before* the correction for winning: the record is to say how
        far that estimate was off, and a correction that was in it already would hide it.  It is the
        median and not the mean, as the correction is a mean of log errors.  ``realised`` is what
        the car was sold for.  Both stand as they were: the course of the market between the bid
        and the sale is part of the error that the record teaches.
    """
    won = [p for p in pairs if p.expected is not None and not p.left_out]
    codes = Counter(p.currency for p in won)
    code = currency or (codes.most_common(1)[0][0] if codes else "")
    kept = sorted((p for p in won if p.currency == code), key=lambda p: (p.sold_on, p.said_id))
    lines = ["expected,realised,sold on,said"]
    lines += [f"{p.expected:f},{p.price:f},{p.sold_on.isoformat()},{p.said_id}" for p in kept]
    return WonRecord("\r\n".join(lines) + "\r\n", len(kept), code, len(won) - len(kept))
