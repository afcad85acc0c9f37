"""A resale stated by hand: amounts and how likely each is."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from math import lcm
from pathlib import Path
from typing import Any

from valuation.bidding.costs_file_entries import AMOUNT, Kind, within
from valuation.bidding.resale_files import WEIGHT, RawPoint, raw_points
from valuation.errors import ResaleError
from valuation.importing.car_value import Wrong, all_wrong
from valuation.inspection.entries import shown

__all__ = ["FINEST", "read_resale_points"]

FINEST = 1_000_000
"""Parts into which one is cut where the probabilities have no smaller common denominator."""

_OFF = Fraction(1, 1000)
"""How far probabilities may miss one: they are often rounded when they are written down."""

_NUMBER = Kind(Decimal(0), Decimal(1_000_000_000), 28, "")
_TEXT = re.compile(r"(\d*(?:[.,]\d+)?)\s*(?:/\s*(\d*(?:[.,]\d+)?)|(%|per ?cent))?")


def read_resale_points(path: str | Path) -> tuple[tuple[Decimal, Fraction], ...]:
    """Read the points of a resale.

    Parameters
    ----------
    path : str or pathlib.Path
        - CSV with the columns ``resale`` and ``probability``, or numbers alone in this order;
        - TOML, ``points = [{ resale = 40000, probability = "1/3" }, ...]``;
        - JSON, ``[[40000, "1/3"], ...]`` or a list of objects with the names of the TOML.

        The amount may also be called ``value``, ``amount`` or ``price``; the probability
        ``chance`` or ``share``, or ``weight`` if it need not add up to one.  A probability is a
        number, a per cent or a fraction.  Without any probability all points are alike likely.

    Returns
    -------
    tuple of (Decimal, Fraction)
        Amount in the currency of the resale and its probability, in the order of the file.  The
        probabilities add up to exactly 1; where their common denominator would be above a million
        they are kept to a millionth.

    Raises
    ------
    ResaleError
        If the file can't be read or holds wrong points; all of them are named.
    """
    path, faults = Path(path), list[Wrong]()
    points = raw_points(path, faults)
    if not points and not faults:
        raise ResaleError(
            path.name, "there are no points", remedy="Write an amount and its probability a line"
        )
    amounts = [_amount(p, faults) for p in points]
    chances = _chances(points, faults)
    if faults:
        what, remedy = all_wrong(faults)
        raise ResaleError(path.name, what, remedy=remedy)
    shares = _adding_up(chances, points, path.name)
    return tuple(zip(amounts, _kept(shares), strict=True))


def _amount(point: RawPoint, faults: list[Wrong]) -> Decimal:
    amount = within(point.resale, AMOUNT)
    if amount is None:
        faults.append(Wrong(f"{point.place}, resale", _came(point.resale), AMOUNT.said))
    return amount or Decimal(0)


def _came(value: Any) -> str:
    return (value or "nothing") if isinstance(value, str) else shown(value)


def _chances(points: Sequence[RawPoint], faults: list[Wrong]) -> list[Fraction]:
    """Return the probabilities or weights as they are stated; all alike if none is."""
    if all(p.chance is None for p in points):
        return [Fraction(1, len(points)) for _ in points]
    if len({p.name == WEIGHT for p in points if p.chance is not None}) > 1:
        faults.append(Wrong("points", "both", "all of one kind, weights or probabilities"))
    out = []
    for point in points:
        chance = _chance(point.chance)
        if chance is None:
            said = "a number of zero or more, such as 0.25, 25% or 1/4"
            faults.append(Wrong(f"{point.place}, {point.name}", _came(point.chance), said))
        out.append(chance or Fraction(0))
    return out


def _chance(value: Any) -> Fraction | None:
    """Return a probability that is a number, a per cent or a fraction."""
    if not isinstance(value, str):
        number = within(value, _NUMBER)
        return None if number is None else Fraction(number)
    found = _TEXT.fullmatch(value.strip())
    above = _exact(found[1]) if found else None
    if not found or above is None:
        return None
    if found[3]:
        return above / 100
    if found[2] is None:
        return above
    below = _exact(found[2])
    return above / below if below else None


def _exact(text: str) -> Fraction | None:
    """Return a number written with a decimal point or comma."""
    head, _, tail = text.partition(",")
    if not text or (len(tail) == 3 and head.strip("0")):
        return None  # 1,250 may be more than a thousand, or little more than one
    number = within(Decimal(text.replace(",", ".")), _NUMBER)
    return None if number is None else Fraction(number)


def _adding_up(
    chances: Sequence[Fraction], points: Sequence[RawPoint], where: str
) -> list[Fraction]:
    """Return probabilities that add up to one."""
    total = sum(chances, Fraction(0))
    if not total:
        raise ResaleError(where, "every weight is zero", remedy="Let one of the points be possible")
    weighed = any(p.name == WEIGHT for p in points)
    # Per cents without their sign: nothing else adds up to a hundred.
    near = any(abs(total / whole - 1) <= _OFF for whole in (1, 100))
    if not weighed and not near:
        raise ResaleError(
            where,
            f"the probabilities add up to {float(total):.6g}, not to 1",
            got=", ".join(_came(p.chance) for p in points),
            remedy="Correct them, or call them weight",
        )
    return [c / total for c in chances]


def _kept(shares: Sequence[Fraction]) -> list[Fraction]:
    """Return shares with a common denominator that is not too large to count with.

    Beyond it they are rounded down, and what is then missing goes to the largest remainders, so
    that they still add up to one.
    """
    common = 1
    for share in shares:
        common = lcm(common, share.denominator)
        if common > FINEST:
            break
    else:
        return list(shares)
    whole = [int(share * FINEST) for share in shares]
    by_rest = sorted(range(len(shares)), key=lambda i: (whole[i] - shares[i] * FINEST, i))
    for i in by_rest[: FINEST - sum(whole)]:
        whole[i] += 1
    return [Fraction(n, FINEST) for n in whole]
