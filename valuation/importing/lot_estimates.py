"""Estimates and reserves as houses print them: one text, two columns, "on request"."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache

from valuation.reading.money import find_currency, read_money, read_outcome
from valuation.reading.numbers import NUMBER
from valuation.reading.text import fold, is_blank
from valuation.reading.vocabulary import read_level

__all__ = [
    "NO_RESERVE",
    "Estimate",
    "Reserve",
    "read_estimate",
    "read_reserve",
    "settled_estimate",
]

_AMOUNT = re.compile(rf"(?P<number>{NUMBER})(?:\s?(?P<word>[a-z]{{1,9}})\b)?")
_ON_REQUEST = re.compile(
    r"\b(?:on|upon|by) (?:request|application)\b|\brefer\b|\bauf anfrage\b|\bsur demande\b|"
    r"\ba richiesta\b|\bbajo (?:consulta|peticion)\b|\bop aanvraag\b|\bna zapytanie\b|"
    r"\bpa forfragan\b|\bsob consulta\b|\b(?:p\.?o\.?a|t\.?b\.?[acd])\b"
)
_FROM = re.compile(
    r"^\W*(?:from|over|above|in excess of|min\w*|ab|a partir de|desde|da|od|vanaf)\b"
)
_UP_TO = re.compile(r"^\W*(?:up to|under|below|max\w*|bis|jusqu'a|hasta|fino a|tot|do)\b")
_WORD_ESTIMATE = re.compile(r"^\W*(?:est\w*|schatz\w*|stima|guide)\b")
NO_RESERVE = re.compile(
    r"\b(?:no|without(?: a)?|w/o|zero|ohne|sans(?: prix de)?|sin|senza|zonder|bez|utan|sem)[ -]"
    r"(?:reserve|reserva|riserva|(?:mindest)?preis|limit|minimumprijs|reservationspris|"
    r"ceny minimalnej|preco de reserva|prezzo di riserva|precio de reserva)\b|"
    r"\bunreserved\b|\bselling absolutely\b"
)
"""Words by which a lot is offered without a reserve, in folded text."""

_WIDE = 10
_NO_PRICE = 1e12
_SMALL = Decimal(1000)


@dataclass(frozen=True, slots=True)
class Estimate:
    """What an estimate says.

    Parameters
    ----------
    low, high : decimal.Decimal or None
        Its ends; both the same where one amount stands.
    currency : str
        ISO 4217 code, empty if none is named.
    remarks : tuple of str
        What was noticed, in sentences.
    """

    low: Decimal | None = None
    high: Decimal | None = None
    currency: str = ""
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Reserve:
    """What is said of a reserve.

    Parameters
    ----------
    kind : {"none", "yes", "not stated"}
        Whether there is one.
    amount : decimal.Decimal or None
        How much, where it is stated.
    currency : str
        ISO 4217 code, empty if none is named.
    remarks : tuple of str
        What was noticed, in sentences.
    """

    kind: str = "not stated"
    amount: Decimal | None = None
    currency: str = ""
    remarks: tuple[str, ...] = ()


def _shortened(text: str) -> str:
    plain = " ".join(text.split())
    return plain if len(plain) <= 60 else plain[:59] + "…"


def _exact(amount: float) -> Decimal:
    exact = Decimal(str(amount))
    return exact.quantize(Decimal(1)) if exact == exact.to_integral_value() else exact


@dataclass(frozen=True, slots=True)
class _Amount:
    """An amount, the factor that its own word gave it ("40k"), and where it ends."""

    value: Decimal
    factor: Decimal
    end: int


def _amounts(plain: str, decimal: str) -> list[_Amount]:
    """Return each amount of a folded text."""
    found = []
    for match in _AMOUNT.finditer(plain):
        read = read_money(match.group(), decimal).amount
        bare = read_money(match["number"], decimal).amount
        # What has more digits than any price is no amount.
        if read is not None and read < _NO_PRICE:
            factor = round(read / bare) if bare else 1
            found.append(_Amount(_exact(read), Decimal(factor), match.end("number")))
    return found


def _in_full(low: _Amount, high: _Amount) -> tuple[Decimal, Decimal]:
    """Let the first of two amounts have the thousands that only the second one writes.

    "40-50k" and "40/50,000" both mean 40,000 to 50,000.
    """
    first, second = low.value, high.value
    if low.factor > 1:
        full = second * low.factor
        return first, (full if high.factor == 1 and second < _SMALL and full >= first else second)
    for factor in (high.factor, _SMALL):
        if first < _SMALL <= second and factor > 1 and first * factor <= second:
            return _exact(float(first * factor)), second
    return first, second


def settled_estimate(low: Decimal | None, high: Decimal | None, currency: str) -> Estimate:
    """Return an estimate with its ends in order and with what is odd about them.

    Parameters
    ----------
    low, high : decimal.Decimal or None
        As they stand.
    currency : str
        ISO 4217 code or nothing.
    """
    low, high = (None if end is not None and end <= 0 else end for end in (low, high))
    if low is None or high is None:
        return Estimate(low, high, currency)
    remarks = []
    if low > high:
        remarks.append(
            f"The estimate stands the wrong way round ({low:,} to {high:,}); the smaller amount is "
            "read as the low one."
        )
        low, high = high, low
    if high > _WIDE * low:
        remarks.append(
            f"The high estimate is more than ten times the low one ({low:,} to {high:,}): look for "
            "a digit lost."
        )
    if high < _SMALL:
        remarks.append(f"The estimate is below 1,000 ({high:,}): see whether thousands are meant.")
    return Estimate(low, high, currency, tuple(remarks))


@lru_cache(maxsize=50_000)
def read_estimate(text: str, decimal: str = "") -> Estimate:
    """Read an estimate that stands in one text.

    Parameters
    ----------
    text : str
        The cell.
    decimal : {"", ".", ","}
        Decimal sign of the column, nothing if unsettled.

    Returns
    -------
    Estimate
        What can't be read as one is told in the remarks; a price that was made or is asked is no
        estimate.

    Examples
    --------
    >>> for text in ("40.000 - 50.000 EUR", "$40-50k", "from 40,000 GBP"):
    ...     read = read_estimate(text)
    ...     print(read.low, read.high, read.currency)
    40000 50000 EUR
    40000 50000 USD
    40000 None GBP
    >>> read_estimate("sold for 42,000").remarks[0]
    'The estimate reads "sold for 42,000": that is a price, and is not used.'
    """
    if is_blank(text):
        return Estimate()
    said = f'The estimate reads "{_shortened(text)}"'
    if read_outcome(text):
        return Estimate(remarks=(f"{said}: that is a price, and is not used.",))
    plain = fold(text)
    found = _amounts(plain, decimal)
    if not found:
        asked = _ON_REQUEST.search(plain)
        why = "the house names it on request" if asked else "no amount can be read from it"
        return Estimate(remarks=(f"{said}: {why}.",))
    if len(found) == 4:
        first, rest = plain[: found[1].end], plain[found[1].end :]
        if find_currency(first) and find_currency(rest) not in ("", find_currency(first)):
            own = read_estimate(first, decimal)
            return replace(own, remarks=(*own.remarks, f"{said}: the first currency counts."))
    if len(found) > 2:
        return Estimate(remarks=(f"{said}: more than two amounts, none of them is used.",))
    currency = find_currency(text)
    if len(found) == 2:
        return settled_estimate(*_in_full(*found), currency)
    amount = found[0].value
    begins = _WORD_ESTIMATE.sub("", plain).strip()
    if _FROM.search(begins) or plain.endswith("+"):
        return settled_estimate(amount, None, currency)
    return settled_estimate(None if _UP_TO.search(begins) else amount, amount, currency)


@lru_cache(maxsize=50_000)
def read_reserve(text: str, *, asks_for_none: bool = False) -> Reserve:
    """Read a cell about a reserve: whether there is one, or its amount.

    Parameters
    ----------
    text : str
        The cell.
    asks_for_none : bool
        Whether the column asks the other way round: "no reserve: yes".

    Examples
    --------
    >>> read_reserve("without reserve").kind, read_reserve("35,000 EUR").amount
    ('none', Decimal('35000'))
    >>> read_reserve("yes", asks_for_none=True).kind
    'none'
    """
    if is_blank(text) and fold(text) not in ("none", "nr", "n/r"):
        return Reserve()
    if NO_RESERVE.search(fold(text)):
        return Reserve("none")
    level = read_level("reserve", text)
    if level is not None:
        turned = {"yes": "none", "none": "yes"} if asks_for_none else {}
        return Reserve(turned.get(level, level))
    found = _amounts(fold(text), "")
    if len(found) == 1 and found[0].value > 0:
        return Reserve("yes", found[0].value, find_currency(text))
    if not found and re.search(r"\breserv\w+|\briserva\b|\blimit\b", fold(text)):
        return Reserve("yes")
    return Reserve(remarks=(f'The reserve reads "{_shortened(text)}" and is taken as not stated.',))
