"""Amounts of money: "$41,250", "41.250,00 €", "54,900 LYD", "bid to 38k", "n/s"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any

from valuation.cents import LARGEST
from valuation.reading.numbers import NUMBER, plain_number
from valuation.reading.text import fold, is_blank, word_set

__all__ = [
    "AMOUNT_ALLOWED",
    "CURRENCIES",
    "Money",
    "find_currency",
    "read_amount",
    "read_money",
    "read_outcome",
]

AMOUNT_ALLOWED = f"an amount from 0 to {LARGEST:,f}, such as 1250"
"""What :func:`read_amount` takes, for messages."""

CURRENCIES = word_set(
    """
    AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BHD BIF BMD BND BOB BRL BSD BTN BWP
    BYN BZD CAD CDF CHF CLP CNY COP CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP
    GEL GHS GIP GMD GNF GTQ GYD HKD HNL HTG HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR
    KMF KPW KRW KWD KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK
    MXN MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON RSD RUB RWF SAR
    SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS UAH
    UGX USD UYU UZS VED VES VND VUV WST XAF XCD XOF XPF YER ZAR ZMW ZWG
    """
)
"""Codes of ISO 4217 in use."""

_SIGNS = (
    ("us$", "USD"),
    ("ca$", "CAD"),
    ("c$", "CAD"),
    ("au$", "AUD"),
    ("a$", "AUD"),
    ("nz$", "NZD"),
    ("hk$", "HKD"),
    ("s$", "SGD"),
    ("r$", "BRL"),
    ("mx$", "MXN"),
    ("$", "USD"),
    ("€", "EUR"),
    ("£", "GBP"),
    ("¥", "JPY"),
    ("₽", "RUB"),
    ("₹", "INR"),
    ("₺", "TRY"),
    ("₴", "UAH"),
    ("₪", "ILS"),
    ("₩", "KRW"),
)
_WORDS = {
    "zl": "PLN",
    "zloty": "PLN",
    "zlotych": "PLN",
    "kc": "CZK",
    "ft": "HUF",
    "lei": "RON",
    "euro": "EUR",
    "euros": "EUR",
    "dollar": "USD",
    "dollars": "USD",
    "pound": "GBP",
    "pounds": "GBP",
    "sfr": "CHF",
    "yen": "JPY",
}
_FACTORS = {
    "k": 1e3,
    "tsd": 1e3,
    "tys": 1e3,
    "thousand": 1e3,
    "m": 1e6,
    "mn": 1e6,
    "mio": 1e6,
    "mln": 1e6,
    "million": 1e6,
    "millions": 1e6,
}
_AMOUNT = re.compile(
    rf"(?P<sign>-\s?)?(?:[^\w\s]{{0,2}}\s?)(?P<number>{NUMBER})"
    r"(?:\s?(?P<factor>k|tsd|tys|thousand|mn|mio|mln|millions?|m)\b)?"
)
_RANGE = re.compile(rf"(?:{NUMBER})\s?k?\s?(?:-|to|bis|until)\s?\D{{0,3}}(?:{NUMBER})")
_ESTIMATE = re.compile(r"\best(?:imated?|\.)?(?=[\s:\d$€£]|$)|\bschatz\w*|\bestim[ae]\w*")
_NOT_SOLD = re.compile(
    r"\b(?:not sold|unsold|no sale|bid to|bid up to|(?:high|highest|top|last) bid|"
    r"reserve not met|did not sell|passed|bought in|withdrawn|nicht verkauft|unverkauft|"
    r"hochstgebot|invendu|non vendue?|no vendido|sin vender|invenduto|non venduto|niet verkocht|"
    r"onverkocht|niesprzedan[yae]|nie sprzedan[oy]|nao vendido|osald|ej sald)\b"
)
_SOLD = re.compile(
    r"\b(?:sold|sale|verkauft|vendue?|vendido|venduto|verkocht|sprzedan[yae]|sprzedano|sald|"
    r"hammered)\b"
)
_OFFERED = re.compile(
    r"\b(?:offered|asking|for sale|listed|available|zu verkaufen|angeboten|a vendre|en venta|"
    r"in vendita|te koop|na sprzedaz|a venda|till salu)\b"
)


@dataclass(frozen=True, slots=True)
class Money:
    """What a price cell says.

    Parameters
    ----------
    amount : float, optional
        The amount, None if there is none.
    currency : str
        ISO 4217 code, empty if the cell names none.
    outcome : str
        Outcome the cell's words tell, empty if none.
    problem : {"", "no price", "unreadable price"}
        Why there is no amount.
    """

    amount: float | None
    currency: str = ""
    outcome: str = ""
    problem: str = ""


@lru_cache(maxsize=100_000)
def find_currency(text: str) -> str:
    """Return the ISO 4217 code that a text names by code, sign or word, or nothing.

    Examples
    --------
    >>> find_currency("54,900 LYD"), find_currency("8.000 €"), find_currency("38k")
    ('LYD', 'EUR', '')
    """
    for word in re.findall(r"(?<![A-Za-z])[A-Z]{3}(?![A-Za-z])", text):
        if word in CURRENCIES:
            return str(word)
    plain = fold(text)
    for sign, code in _SIGNS:
        if sign in plain:
            return code
    for word in re.findall(r"[a-z]+", plain):
        if word in _WORDS:
            return _WORDS[word]
        if word.upper() in CURRENCIES and word not in ("all", "try", "top", "cup", "mad", "pen"):
            return str(word.upper())
    return ""


def read_outcome(text: str) -> str:
    """Return ``sold``, ``not sold`` or ``offered`` if the words tell, else nothing.

    Examples
    --------
    >>> read_outcome("bid to 38k"), read_outcome("SOLD"), read_outcome("41250")
    ('not sold', 'sold', '')
    """
    plain = fold(text)
    if _NOT_SOLD.search(plain):
        return "not sold"
    if _OFFERED.search(plain):
        return "offered"
    return "sold" if _SOLD.search(plain) else ""


def read_money(text: str, decimal: str = "") -> Money:
    """Read a price cell.

    Parameters
    ----------
    text : str
        The cell.
    decimal : {"", ".", ","}
        Decimal sign of the column, nothing if unsettled.

    Examples
    --------
    >>> read_money("41.250,00 €").amount, read_money("bid to 38k").amount, read_money("n/s").problem
    (41250.0, 38000.0, 'no price')
    """
    if is_blank(text):
        return Money(None, problem="no price")
    plain = re.sub(r"[.,]\s?-{1,2}(?=\s|$|[^\d])", " ", fold(text))
    found = _AMOUNT.search(plain)
    outcome = read_outcome(text)
    if not found:
        return Money(None, "", outcome, "no price" if outcome else "unreadable price")
    rest = plain[found.end() :]
    # An estimate is no price, and of two amounts nobody knows which one counts.
    if (
        _ESTIMATE.search(plain)
        or _RANGE.search(plain)
        or re.search(r"\d{4,}|\d[.,' ]\d{3}(?!\d)", rest)
    ):
        return Money(None, find_currency(text), outcome, "unreadable price")
    # Prices have no thousandths: three digits behind a single sign are always thousands.
    grouped = re.fullmatch(r"\d{1,3}[.,]\d{3}", found["number"])
    amount = plain_number(found["number"], "" if grouped else decimal) * _FACTORS.get(
        found["factor"] or "", 1.0
    )
    return Money(-amount if found["sign"] else amount, find_currency(text), outcome)


def read_amount(value: Any) -> tuple[Decimal | None, str]:
    """Read a cost exactly, with the currency that is named beside it.

    Parameters
    ----------
    value : object
        A number, or text that may carry a currency.

    Returns
    -------
    amount : decimal.Decimal or None
        From 0 to :data:`~valuation.cents.LARGEST`; None for anything else.
    currency : str
        ISO 4217 code, empty if none is named.

    Examples
    --------
    >>> read_amount("1,250.50 EUR"), read_amount(0), read_amount("much"), read_amount(-5)
    ((Decimal('1250.5'), 'EUR'), (Decimal('0'), ''), (None, ''), (None, ''))
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return None, ""
    text = str(value)
    currency = find_currency(text) if isinstance(value, str) else ""
    number: float | None = value if isinstance(value, int | float) else read_money(text).amount
    if isinstance(value, str) and text.strip() and not text.strip(" 0.,"):
        number = 0.0
    # A number that is no number fails the comparison.
    if number is None or not 0 <= number <= LARGEST:
        return None, currency
    whole = float(number).is_integer()
    return Decimal(int(number)) if whole else Decimal(str(number)), currency
