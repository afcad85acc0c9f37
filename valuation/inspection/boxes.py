"""Boxes of a sheet read one by one; a wrong entry becomes a fault and the rest is read on."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal

from valuation.errors import SheetError
from valuation.importing.car_value import Wrong
from valuation.inspection.contents import CostRange
from valuation.inspection.date_text import DATE_FORMS, read_date
from valuation.inspection.dates import WrittenDate
from valuation.inspection.form import Place
from valuation.inspection.marks import MARK_ALLOWED, read_mark
from valuation.inspection.sheet import Sheet
from valuation.reading.money import AMOUNT_ALLOWED, CURRENCIES, find_currency, read_amount
from valuation.reading.numbers import read_number
from valuation.reading.text import fold
from valuation.schema.kinds import NOT_LOOKED_AT

__all__ = ["Boxes"]


class Boxes:
    """Entries of a sheet as words, numbers, days and amounts.

    Parameters
    ----------
    sheet : Sheet
        What was filled in.
    """

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.faults: list[Wrong] = list(sheet.faults)
        self.currency = ""

    def wrong(self, place: Place, allowed: str) -> None:
        """Put down that the entry at a place is wrong."""
        got = self.sheet.text(*place) or "nothing"
        self.faults.append(self.sheet.wrong(place, got, allowed))

    def text(self, part: str, row: str, box: str) -> str:
        """Return an entry as text, empty if there is none."""
        return self.sheet.text(part, row, box)

    def pieces(self, part: str, row: str, box: str) -> tuple[str, ...]:
        """Return an entry that lists things with ``;`` between them."""
        return tuple(p.strip() for p in self.text(part, row, box).split(";") if p.strip())

    def word(
        self, place: Place, words: tuple[str, ...], also: Mapping[str, str] | None = None
    ) -> str:
        """Return one of some words, empty if the box is; `also` gives other spellings."""
        text = self.sheet.text(*place)
        known = {fold(w): w for w in words} | {fold(k): v for k, v in (also or {}).items()}
        if text and fold(text) not in known:
            self.wrong(place, "one of " + ", ".join(words))
        return known.get(fold(text), "") if text else ""

    def answer(self, place: Place) -> str:
        """Return one of the words of a box that asks a question; empty is not looked at."""
        box = self.sheet.form.box(place)
        words = tuple(str(w) for w in box.words) if box else ()
        also = {"true": "yes", "y": "yes", "n": "no", "x": "yes", "false": "no"}
        also = {k: v for k, v in also.items() if v in words}
        return self.word(place, words, {"not looked": NOT_LOOKED_AT, **also}) or NOT_LOOKED_AT

    def number(self, place: Place, low: float, high: float) -> float | None:
        """Return a number from `low` to `high`, None if the box is empty or wrong."""
        text = self.sheet.text(*place)
        value = read_number(text, ".") if text else None
        if text and (value is None or not low <= value <= high):
            self.wrong(place, f"a number from {low:g} to {high:g}")
            return None
        return value

    def mark(self, place: Place) -> float | None:
        """Return a mark from 0 to 10 in halves, None if the box is empty or wrong."""
        text = self.sheet.text(*place)
        value = read_mark(text) if text else None
        if text and value is None:
            self.wrong(place, MARK_ALLOWED)
        return value

    def when(self, place: Place, starts: tuple[int, int]) -> WrittenDate | None:
        """Return a date of any precision, None if the box is empty or wrong."""
        text = self.sheet.text(*place)
        if not text:
            return None
        try:
            return read_date(text, starts=starts)
        except SheetError:
            self.wrong(place, f"a date such as {DATE_FORMS}")
            return None

    def day(self, place: Place) -> date | None:
        """Return a single day, None if the box is empty or wrong."""
        text = self.sheet.text(*place)
        try:
            found = read_date(text) if text else None
        except SheetError:
            found = None
        if found and found.precision == "day" and len(found.readings) == 1:
            return found.readings[0].first
        if text:
            self.wrong(place, "a day such as 2025-06-14 or 14 June 2025")
        return None

    def read_currency(self, place: Place, asking: Place) -> None:
        """Take the currency of all amounts from its box, or else from beside the asking price."""
        text = self.sheet.text(*place)
        if text.upper() in CURRENCIES:
            self.currency = text.upper()
        elif text:
            self.wrong(place, "a three-letter ISO 4217 code such as EUR")
        else:
            self.currency = find_currency(self.sheet.text(*asking))

    def amount(self, place: Place) -> Decimal | None:
        """Return an amount of 0 or more, None if the box is empty or wrong."""
        text = self.sheet.text(*place)
        if not text:
            return None
        amount, named = read_amount(text)
        if amount is None:
            self.wrong(place, AMOUNT_ALLOWED)
            return None
        if named and self.currency and named != self.currency:
            self.wrong(place, f"in {self.currency}, as the sheet says")
            return None
        if not (named or self.currency):
            self._no_currency()
        self.currency = self.currency or named
        return amount

    def _no_currency(self) -> None:
        place = Place("car", "", "currency")
        fault = self.sheet.wrong(place, "nothing", "the currency of the amounts, such as EUR")
        if not self.text(*place) and fault not in self.faults:
            self.faults.append(fault)

    def cost(self, low: Place, high: Place) -> CostRange | None:
        """Return a range of cost; one end alone is both.  None if both boxes are empty."""
        ends = [self.amount(place) for place in (low, high)]
        given = [end for end in ends if end is not None]
        if not given:
            return None
        if given[0] > given[-1]:
            self.wrong(high, f"at least the low end, {given[0]:,f}")
            return None
        return CostRange(given[0], given[-1], self.currency)
