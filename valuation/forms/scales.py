"""How far a slider for amounts goes, and by what it moves."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

__all__ = ["Scale", "money_scale", "whole"]

STEPS = 100
"""About so many steps has a slider from its one end to the other."""

LEAST = Decimal(1000)
"""Every slider for amounts goes at least so far."""


@dataclass(frozen=True, slots=True)
class Scale:
    """Start, end and step of a slider that begins at zero, in whole units."""

    start: int
    end: int
    step: int


def money_scale(start: Decimal, reach: Decimal) -> Scale:
    """Return the scale of a slider that starts at an amount.

    Parameters
    ----------
    start : Decimal
        Where it stands first, in full units once rounded.
    reach : Decimal
        How far it should go at least; it goes to twice its start in any case.

    Examples
    --------
    >>> money_scale(Decimal("4964.24"), Decimal(24821))
    Scale(start=4964, end=25000, step=200)
    >>> money_scale(Decimal(0), Decimal(0))
    Scale(start=0, end=1000, step=10)
    """
    far = max(2 * start, reach, LEAST)
    step = _round_step(far / STEPS)
    end = int((far / step).to_integral_value(ROUND_CEILING)) * step
    return Scale(whole(start), end, step)


def whole(amount: Decimal) -> int:
    """Return an amount in whole units, a half rounded up.

    Examples
    --------
    >>> whole(Decimal("4964.50"))
    4965
    """
    return int(amount.to_integral_value(ROUND_HALF_UP))


def _round_step(wanted: Decimal) -> int:
    """Return the round number (1, 2 or 5 times a power of ten) nearest below a step, at least 1.

    Examples
    --------
    >>> [_round_step(Decimal(x)) for x in ("0.3", "10", "248", "990")]
    [1, 10, 200, 500]
    """
    power = 1
    while 10 * power <= wanted:
        power *= 10
    return max(m * power for m in (1, 2, 5) if m * power <= max(wanted, Decimal(1)))
