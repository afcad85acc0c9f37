"""Exact amounts as whole cents: one rounding, half up, wherever an amount is rounded."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["LARGEST", "Cents", "from_cents", "half_up", "in_cents", "share_of"]

Cents = NDArray[np.int64]

LARGEST = Decimal(1_000_000_000)
"""Largest amount that is taken: beyond it products of whole cents could leave 64 bits."""

CENT = Decimal("0.01")


def in_cents(amount: Decimal | int | float | Fraction) -> int:
    """Return an amount in whole cents, rounded half up (away from zero for what is owed).

    Examples
    --------
    >>> in_cents(Decimal("1786.665")), in_cents(Decimal("-0.005"))
    (178667, -1)
    """
    if isinstance(amount, float):
        amount = Fraction(amount)
    if isinstance(amount, Fraction):
        cents = abs(amount) * 100 + Fraction(1, 2)
        return -(cents.numerator // cents.denominator) if amount < 0 else int(cents)
    return int((Decimal(amount) * 100).quantize(Decimal(1), ROUND_HALF_UP))


def from_cents(cents: int) -> Decimal:
    """Return whole cents as an amount with two decimals.

    Examples
    --------
    >>> from_cents(4480000)
    Decimal('44800.00')
    """
    return (Decimal(int(cents)) / 100).quantize(CENT)


def half_up(above: Any, below: int) -> Any:
    """Return a quotient of whole numbers rounded half up, for arrays and single numbers.

    Examples
    --------
    >>> half_up(5, 2), half_up(-5, 2), half_up(4, 3)
    (3, -3, 1)
    """
    if isinstance(above, np.ndarray):
        return np.sign(above) * ((2 * np.abs(above) + below) // (2 * below))
    sign = -1 if above < 0 else 1
    return sign * ((2 * abs(above) + below) // (2 * below))


def share_of(amounts: Any, share: Decimal) -> Any:
    """Return a share of amounts in cents, each rounded half up.

    Parameters
    ----------
    amounts : int or ndarray of int
        Amounts in cents.
    share : Decimal
        Such as 0.125 for an eighth.

    Examples
    --------
    >>> share_of(1000, Decimal("0.125"))
    125
    """
    above, below = share.as_integer_ratio()
    return half_up(amounts * above, below)
