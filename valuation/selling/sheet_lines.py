"""The explanation for a customer: the same money in fewer lines and plainer words."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from valuation.appraisal.lines import ABSENT
from valuation.appraisal.wordings import label_of
from valuation.results.customer_sheet_parts import PriceLine
from valuation.results.valuation import Contribution
from valuation.selling.sheet_words import (
    SALE,
    WORDING,
    instead_words,
    plain_label,
    plain_value,
    row_of,
)

__all__ = ["price_lines"]

REMAINDERS = ("earlier sale", "closest sales", "correction")
"""Lines that no attribute of the car is behind; they come last."""

SMALL = 0.005
"""A line below this share of the central estimate goes to the smaller ones."""

MOST = 8
"""Lines that are shown by themselves; a customer reads no thirty."""

_SILENT = ("", "not stated", ABSENT)

_NAMED = 4
"""Unstated attributes that are named; the others are counted."""


def price_lines(
    made: Sequence[Contribution],
    cells: Mapping[str, Any],
    *,
    usual: Mapping[str, str],
    central: int,
) -> tuple[PriceLine, ...]:
    """Put the lines of a valuation together for a customer.

    Parameters
    ----------
    made : sequence of Contribution
        Lines that lead from the start to the central estimate.
    cells : mapping of str to object
        Values of the car and of its sale, for words.
    usual : mapping of str to str
        The usual sale, in which the typical car is sold.
    central : int
        Central estimate in whole units.

    Returns
    -------
    tuple of PriceLine
        The largest first, then what is not stated, smaller ones and remainders; the amounts add up
        to the same money.
    """
    groups: dict[str, list[Contribution]] = {}
    for line in made:
        groups.setdefault(_place(line), []).append(line)
    last = ("silent", "smaller", *REMAINDERS)
    own = {name: lines for name, lines in groups.items() if name not in last}
    order = sorted(own, key=lambda n: (-abs(_amount(own[n])), n))
    large = [n for n in order if abs(_amount(own[n])) >= SMALL * central][:MOST]
    small = [x for n in order if n not in large for x in own[n]]
    out = [_line(n, own[n], _value(n, cells, usual)) for n in large]
    if "silent" in groups:
        out.append(_line("silent", groups["silent"], _unstated(groups["silent"])))
    small += groups.get("smaller", [])
    if small:
        pooled = _line("smaller", small, _unnamed(len(small)))
        out.append(replace(pooled, evidence_share=None))
    out += [_line(n, groups[n], _remainder(groups[n][0])) for n in REMAINDERS if n in groups]
    return tuple(line for line in out if line.amount)


def _place(line: Contribution) -> str:
    row = row_of(line.attribute)
    spoken = row in (SALE, WORDING, "smaller", *REMAINDERS)
    return "silent" if not spoken and line.value in _SILENT else row


def _amount(lines: Sequence[Contribution]) -> int:
    return sum(line.amount for line in lines)


def _line(name: str, lines: Sequence[Contribution], value: str) -> PriceLine:
    """Return several lines as one; what they may be off by is taken as independent."""
    amount = _amount(lines)
    half = math.sqrt(math.fsum(((x.upper - x.lower) / 2) ** 2 for x in lines))
    lower, upper = (round(amount - half), round(amount + half)) if half > 0.5 else (None, None)
    weight = math.fsum(abs(x.exact) for x in lines)
    share = math.fsum(abs(x.exact) * x.evidence_share for x in lines) / weight if weight else 1.0
    sales = max(x.sales for x in lines)
    return PriceLine(name, plain_label(name), value, amount, lower, upper, sales, share)


def _value(name: str, cells: Mapping[str, Any], usual: Mapping[str, str]) -> str:
    return instead_words(cells, usual) if name == SALE else plain_value(name, cells)


def _unstated(lines: Sequence[Contribution]) -> str:
    ordered = sorted(lines, key=lambda x: -abs(x.amount))
    names = [label_of(x.attribute).lower() for x in ordered]
    more = len(names) - _NAMED
    return ", ".join(names[:_NAMED]) + (f" and {more} more" if more > 0 else "")


def _unnamed(count: int) -> str:
    return "1 line" if count == 1 else f"{count} lines"


def _remainder(line: Contribution) -> str:
    if line.attribute == "correction":
        return "estimates of past sales, held against what was paid"
    side = "more" if line.exact > 0 else "less"
    return f"{side} than the lines above explain"
