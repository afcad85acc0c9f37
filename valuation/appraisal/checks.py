"""What to check before bidding: each open fact, the money that hangs on it, and how to look."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.looking import look_at
from valuation.appraisal.unsettled import PricedFact
from valuation.appraisal.wordings import label_of, open_words, say
from valuation.money import format_money
from valuation.records import Value
from valuation.results.valuation import Check
from valuation.results.words import contradicted_words

__all__ = ["contradictions", "what_to_check", "worth_of_knowing"]

Floats = NDArray[np.float64]

FEW = 12
"""Up to so many values the very worst and best are named; of more, the ends of the middle 80 %."""

RARE = 0.01
"""A value less likely than that is not named, unless somebody said that it is possible."""

TAIL = 0.1
"""Of many values, as many are worse than the bad one and better than the good one."""


def worth_of_knowing(values: Floats, shares: Floats, cost: float) -> float:
    """Return what it is worth to know a fact before a purchase that may still be left.

    The value of information of Raiffa and Schlaifer (Applied Statistical Decision Theory, 1961):
    who knows buys only where it pays, and expects ``sum(p_k * max(V_k - c, 0))``; who does not
    know buys or leaves as the mean says, and expects ``max(sum(p_k * V_k) - c, 0)``.  The
    difference is never below zero.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Resale value ``V_k`` if the fact turns out so, in money.
    shares : ndarray, shape (n,)
        How likely each is, ``p_k``; they sum to one.
    cost : float
        What the car costs, ``c``.

    Returns
    -------
    float
        In money.

    Examples
    --------
    >>> worth_of_knowing(np.array([80.0, 120.0]), np.array([0.5, 0.5]), 100.0)
    10.0
    """
    knowing = float(shares @ np.maximum(values - cost, 0.0))
    return max(knowing - max(float(shares @ values) - cost, 0.0), 0.0)


def what_to_check(facts: Sequence[PricedFact], central: float) -> tuple[Check, ...]:
    """Return the facts that move money, the one most worth knowing first.

    All other facts stand as they are priced; the sales compared are held fixed.  The buyer is
    taken to pay today's central estimate.

    Parameters
    ----------
    facts : sequence of PricedFact
        Facts that are still to be found out.
    central : float
        Log of today's central estimate.

    Returns
    -------
    tuple of Check
        By falling worth of knowing, then by the fall.
    """
    checks = [_check(fact, central) for fact in facts if fact.values]
    moving = [c for c in checks if c.fall or c.rise]
    return tuple(sorted(moving, key=lambda c: (-c.worth, c.fall, c.attribute)))


def _check(priced: PricedFact, central: float) -> Check:
    fact, today = priced.fact, float(np.exp(central))
    if_bad, bad_step, bad_chance = _side(priced, worst=True)
    if_good, good_step, good_chance = _side(priced, worst=False)
    bad, good = (round(float(np.exp(central + step))) for step in (bad_step, good_step))
    look = look_at(fact)
    state = "open" if priced.looked_at else "not looked at"
    return Check(
        fact.attribute,
        label_of(fact.attribute),
        "contradicted" if fact.contradiction else state,
        open_words(fact),
        fact.claim,
        fact.contradiction,
        if_bad,
        if_good,
        bad,
        good,
        min(bad - round(today), 0),
        max(good - round(today), 0),
        bad_chance,
        good_chance,
        look.where,
        look.tool,
        look.how,
        look.minutes,
        round(worth_of_knowing(np.exp(central + priced.steps), priced.shares, today)),
    )


def _side(priced: PricedFact, *, worst: bool) -> tuple[str, float, float]:
    """Return the worst or best that a fact can turn out to be: in words, log step and chance."""
    sign = 1.0 if worst else -1.0
    least = 0.0 if priced.fact.levels else min(RARE, float(priced.shares.max()) / 2)
    order = np.argsort(sign * priced.steps, kind="stable")
    order = order[priced.shares[order] > least]
    steps, shares = priced.steps[order], priced.shares[order]
    values = [priced.values[i] for i in order.tolist()]
    name = priced.fact.attribute
    if len(order) <= FEW:
        same = np.abs(steps - steps[0]) < 1e-9
        words = [say(name, {name: v}) for v, s in zip(values, same, strict=True) if s]
        return _any_of(words), float(steps[0]), float(shares[same].sum())
    at = min(int(np.searchsorted(np.cumsum(shares), TAIL)), len(order) - 1)
    beyond = _beyond(values, at, "worse" if worst else "better")
    return (
        f"{say(name, {name: values[at]})} or {beyond}",
        float(steps[at]),
        float(shares[: at + 1].sum()),
    )


def _any_of(words: Sequence[str]) -> str:
    if len(words) > 3:
        words = [*words[:2], f"{len(words) - 2} others"]
    return f"{', '.join(words[:-1])} or {words[-1]}" if len(words) > 1 else words[0]


def _beyond(values: Sequence[Value], at: int, word: str) -> str:
    """Say on which side of a value those before it lie: less, more, or only worse or better.

    Less and more are said only where nothing else lies on that side: an effect may turn.
    """
    numbers = [v for v in values if isinstance(v, float | int)]
    if len(numbers) < len(values):
        return word
    below = sum(v <= numbers[at] for v in numbers)
    above = sum(v >= numbers[at] for v in numbers)
    beyond = numbers[: at + 1]
    if below == at + 1 and numbers[at] == max(beyond):
        return "less"
    return "more" if above == at + 1 and numbers[at] == min(beyond) else word


def contradictions(facts: Sequence[PricedFact], central: float, currency: str) -> tuple[str, ...]:
    """Say each contradiction aloud, with what the claim would be worth against what is supported.

    Parameters
    ----------
    facts : sequence of PricedFact
        Facts that are still to be found out.
    central : float
        Log of today's central estimate.
    currency : str
        ISO 4217 code of the amounts.

    Returns
    -------
    tuple of str
        One text for each contradicted fact.
    """
    out = []
    for priced in facts:
        fact = priced.fact
        if not fact.contradiction:
            continue
        text = contradicted_words(label_of(fact.attribute), fact.claim, fact.contradiction)
        if priced.claim is not None:
            text += f" {_money_of_claim(priced.claim, central, currency)}"
        out.append(text)
    return tuple(out)


def _money_of_claim(step: float, central: float, currency: str) -> str:
    today, claimed = round(float(np.exp(central))), round(float(np.exp(central + step)))
    apart = format_money(abs(claimed - today), currency)
    word = "less" if claimed >= today else "more"
    return (
        f"As claimed the car would come to {format_money(claimed, currency)}; as supported it "
        f"comes to {format_money(today, currency)}, {apart} {word}."
    )
