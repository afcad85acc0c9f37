"""Entries of the cost settings: exact decimals within limits, and the nearest name for a slip."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches

from valuation.cents import LARGEST
from valuation.importing.car_value import Wrong
from valuation.inspection.entries import Entries, shown
from valuation.reading.money import CURRENCIES

__all__ = [
    "AMOUNT",
    "DAYS",
    "POSITIVE",
    "RATE",
    "SHARE",
    "UNDER_100",
    "UNDER_ONE",
    "CostEntries",
    "Kind",
    "decimals_of",
    "exact_number",
    "percent_to",
    "within",
]

ZERO = Decimal(0)
CENT = Decimal("0.01")
LONGEST = 3650
_BARE = re.compile(r"[A-Za-z0-9_-]+")


@dataclass(frozen=True, slots=True)
class Kind:
    """What a number may be.

    Parameters
    ----------
    low, high : Decimal
        Limits, both allowed.
    decimals : int
        Most decimals; more would be lost where amounts are counted in whole cents, or would not
        fit into 64 bits there.
    said : str
        The same in words.
    """

    low: Decimal
    high: Decimal
    decimals: int
    said: str


def _kind(low: Decimal, high: Decimal, decimals: int, name: str, unit: str = "") -> Kind:
    words = {2: "two", 4: "four", 6: "six", 8: "eight"}
    more = f" with at most {words[decimals]} decimals" if decimals else ""
    return Kind(low, high, decimals, f"{name}{unit} from {low:,} to {high:,}{more}")


AMOUNT = _kind(ZERO, LARGEST, 2, "an amount")
POSITIVE = _kind(CENT, LARGEST, 2, "an amount")
RATE = _kind(Decimal("0.000001"), Decimal(1_000_000), 8, "a number")
SHARE = _kind(ZERO, Decimal(1), 6, "a number")
UNDER_ONE = _kind(ZERO, Decimal("0.999999"), 6, "a number")
UNDER_100 = _kind(ZERO, Decimal("99.9999"), 4, "a number")
DAYS = _kind(ZERO, Decimal(LONGEST), 0, "a whole number", " of days")


def percent_to(most: int) -> Kind:
    """Return the kind of a per cent up to a limit."""
    return _kind(ZERO, Decimal(most), 4, "a number")


def exact_number(text: str) -> Decimal:
    """Return a number of a TOML or JSON text as it is written.

    Examples
    --------
    >>> exact_number("0.1"), exact_number("1e99999999999999999999")
    (Decimal('0.1'), Decimal('NaN'))
    """
    try:
        return Decimal(text)
    except InvalidOperation:
        # An exponent beyond all bounds: like "nan", no number that an entry may have.
        return Decimal("NaN")


def within(value: object, kind: Kind) -> Decimal | None:
    """Return a number as it was written, None if it is none of this kind.

    Examples
    --------
    >>> within(Decimal("0.1"), AMOUNT), within(Decimal("0.125"), AMOUNT), within(True, AMOUNT)
    (Decimal('0.1'), None, None)
    """
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        return None
    number = Decimal(value)
    if not number.is_finite() or not kind.low <= number <= kind.high:
        return None
    if not number:
        return ZERO
    return number if decimals_of(number) <= kind.decimals else None


def decimals_of(number: Decimal) -> int:
    """Return how many decimals a finite number has, zeros at its end aside.

    Examples
    --------
    >>> decimals_of(Decimal("1.50")), decimals_of(Decimal("3E+2")), decimals_of(Decimal("1E-9"))
    (1, 0, 9)
    """
    _, digits, exponent = number.as_tuple()
    if not isinstance(exponent, int) or not number:
        return 0
    text = "".join(map(str, digits))
    return max(0, -exponent - (len(text) - len(text.rstrip("0"))))


class CostEntries(Entries):
    """One table of the cost settings; that of the whole file has an empty place.

    A wrong entry is read as None, as one that is not there: :meth:`has` tells them apart.
    """

    def place_of(self, key: str) -> str:
        """Return where an entry stands."""
        name = key if _BARE.fullmatch(key) else f'"{key}"'
        return f"{self._place}.{name}" if self._place else name

    def wrong(self, key: str, got: str, allowed: str, *, spot: str = "") -> None:
        """Put down a fault of an entry or of a spot in it; with an empty key of the table."""
        place = self.place_of(key) if key else self._place
        self._faults.append(Wrong(f"{place}, {spot}" if spot else place, got, allowed))

    @property
    def empty(self) -> bool:
        """True if nothing stands in it."""
        return not self._entries

    def names(self) -> tuple[str, ...]:
        """Return the names of all entries, which count as asked for."""
        self._asked.update(self._entries)
        return tuple(self._entries)

    def ask(self, *keys: str) -> None:
        """Let some names be known without reading their entries."""
        self._asked.update(keys)

    def stated(self, *keys: str) -> tuple[str, ...]:
        """Return those of some names that have an entry."""
        return tuple(k for k in keys if self.has(k))

    def exact(self, key: str, kind: Kind, *, needed: bool = False) -> Decimal | None:
        """Return a number of some kind."""
        value = self._take(key)
        if value is None and not needed:
            return None
        number = within(value, kind)
        if number is None:
            self.wrong(key, shown(value), kind.said)
        return number

    def ends(self, kind: Kind) -> tuple[Decimal, Decimal] | None:
        """Return the entries low and high of this table; both have to be there, in order."""
        low = self.exact("low", kind, needed=True)
        high = self.exact("high", kind, needed=True)
        if low is None or high is None:
            return None
        if low > high:
            self.wrong("low", str(low), f"{high} or less, as high is")
            return None
        return low, high

    def span(self, key: str, kind: Kind, *, needed: bool = False) -> tuple[Decimal, Decimal] | None:
        """Return between which numbers an entry lies that is one, or has a low and a high."""
        part = self.part(key)
        if part is None:
            number = self.exact(key, kind, needed=needed)
            return None if number is None else (number, number)
        ends = part.ends(kind)
        part.end()
        return ends

    def code(self, key: str, among: tuple[str, ...] = ()) -> str:
        """Return a currency, empty if none is named; one of some, if there are any to choose."""
        value = self._take(key)
        if value is None:
            return ""
        if not isinstance(value, str) or value not in (among or CURRENCIES):
            listed = " or ".join(dict.fromkeys(among))
            self.wrong(key, shown(value), listed or 'a code of ISO 4217, such as "USD"')
            return ""
        return value

    def choice(self, key: str, allowed: tuple[str, ...]) -> str:
        """Return one of some words, empty if there is no such entry."""
        value = self._take(key)
        if value is not None and value not in allowed:
            self.wrong(key, shown(value), "one of " + ", ".join(allowed))
        return value if isinstance(value, str) and value in allowed else ""

    def part(self, key: str) -> CostEntries | None:
        """Return the table of a name, None if something else or nothing stands there."""
        return self.table(key) if isinstance(self._entries.get(key), Mapping) else None

    def table(self, key: str) -> CostEntries | None:
        """Return the table of a name; it is a fault if something else stands there."""
        value = self._take(key)
        if isinstance(value, Mapping):
            return CostEntries(value, self.place_of(key), self._faults)
        if value is not None:
            self.wrong(key, shown(value), f"a table [{self.place_of(key)}]")
        return None

    def tables(self, key: str) -> list[CostEntries] | None:
        """Return a list of tables."""
        value = self._take(key)
        if value is None:
            return None
        if not isinstance(value, list) or not all(isinstance(v, Mapping) for v in value):
            self.wrong(key, shown(value), "a list of tables, such as [ { ... }, { ... } ]")
            return None
        place = self.place_of(key)
        return [
            CostEntries(v, f"{place}, number {number}", self._faults)
            for number, v in enumerate(value, start=1)
        ]

    def end(self) -> None:
        """Put down a fault for every entry that nobody asked for, with the nearest known name."""
        for key in self._entries:
            if key in self._asked:
                continue
            near = get_close_matches(key, sorted(self._asked), n=1)
            known = "one of " + ", ".join(sorted(self._asked))
            self.wrong(
                key, "an unknown entry", f"{near[0]}, the nearest known name" if near else known
            )
