"""What a column could be by what stands in it."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from statistics import median

import numpy as np
import pandas as pd

from valuation.importing.names import HIGH_BID
from valuation.reading.dates import read_dates
from valuation.reading.engine import read_engine
from valuation.reading.families import BODY_WORDS, COLOUR_WORDS, read_body, read_colour, read_fuel
from valuation.reading.gearbox import read_gearbox
from valuation.reading.mileage import read_mileage
from valuation.reading.money import CURRENCIES, read_money, read_outcome
from valuation.reading.numbers import read_number, settle_decimal
from valuation.reading.text import fold, is_blank, is_other
from valuation.reading.vocabulary import levels_of, read_level
from valuation.reading.years import read_year
from valuation.schema import BY_NAME

__all__ = ["CONDITION_BANDS", "Column", "economy_number", "fits", "guess"]

CONDITION_BANDS = {"project": 10.0, "tired": 30.0, "driver": 55.0, "sharp": 75.0, "show": 92.0}
"""Middle of each condition band in plain words."""

_SAMPLE = 400
_LEAST_POWER = 15.0
_MONEY_SIGN = re.compile(r"[$€£¥₽₹₺₴₪₩]")
_VIN = re.compile(r"[A-HJ-NPR-Z0-9]{17}")
_FUELS = frozenset({"petrol", "diesel", "hybrid", "electric", "gas", "alcohol", "other"})
_FAMILIES = frozenset(COLOUR_WORDS.values())
_BODIES = frozenset(BODY_WORDS.values())
_YEAR_FIRST = re.compile(r"\W*(?:\w+\s+){0,2}(?:1[89]\d\d|20\d\d)\b\s*\S+")


@dataclass(frozen=True)
class Column:
    """One column of a raw table, for looking at its content.

    Parameters
    ----------
    name : str
        Its name.
    cells : pandas.Series of str
        Its cells.
    """

    name: str
    cells: pd.Series[str]

    @cached_property
    def _times(self) -> dict[str, int]:
        """How often each different cell that states something occurs, in the order of the rows."""
        counts = self.cells.value_counts(sort=False)
        times = zip(map(str, counts.index), counts.tolist(), strict=True)
        return {cell: n for cell, n in times if not is_blank(cell)}

    @cached_property
    def counts(self) -> dict[str, int]:
        """How often each different cell that states something occurs, a sample of them."""
        stated = self._times
        if len(stated) <= _SAMPLE:
            return stated
        keys = list(stated)
        picks = np.linspace(0, len(keys) - 1, _SAMPLE).astype(int)
        return {keys[i]: stated[keys[i]] for i in picks}

    @cached_property
    def decimal(self) -> str:
        """Decimal sign, settled over the sample."""
        return settle_decimal(self.counts)

    @cached_property
    def stated(self) -> float:
        """Share of rows in which something stands."""
        return sum(self._times.values()) / len(self.cells) if len(self.cells) else 0.0

    @cached_property
    def distinct(self) -> int:
        """How many different cells state something."""
        return len(self._times)

    def examples(self, most: int = 3) -> tuple[str, ...]:
        """Return the most frequent entries, shortened."""
        ranked = sorted(self.counts.items(), key=lambda e: -e[1])
        return tuple(c if len(c) <= 40 else c[:39] + "…" for c, _ in ranked[:most])

    def share(self, test: Callable[[str], bool]) -> float:
        """Return the share of stated cells, by rows, for which `test` holds."""
        total = sum(self.counts.values())
        return sum(n for c, n in self.counts.items() if test(c)) / total if total else 0.0

    def numbers(self) -> list[float]:
        """Return the plain numbers of the sample, each different one once."""
        read = (read_number(c, self.decimal) for c in self.counts)
        return [v for v in read if v is not None]


def economy_number(text: str) -> float | None:
    """Read a fuel economy: one number, or the mean of two such as "16 City / 23 Highway".

    Examples
    --------
    >>> economy_number("16 City / 24 Highway"), economy_number("55.4"), economy_number("8 l/100 km")
    (20.0, 55.4, None)
    """
    plain = fold(text)
    if "100" in plain and "km" in plain:
        return None
    numbers = [float(n.replace(",", ".")) for n in re.findall(r"\d+(?:[.,]\d+)?", plain)]
    if not 1 <= len(numbers) <= 2 or _MONEY_SIGN.search(plain):
        return None
    return float(np.mean(numbers))


def _mileage(column: Column) -> Callable[[str], bool]:
    def test(cell: str) -> bool:
        read = read_mileage(cell, column.decimal)
        plain = re.sub(r"k?miles?|mi|kms?|tkm|exempt|tmu|unknown|[\W\d]", "", fold(cell))
        fraction = read.value is not None and read.value % 1 > 0 and read.problem != "range"
        small = fraction and (read.value or 0) < 1000 and not read.unit
        return (read.problem != "unreadable") and len(plain) <= 12 and not small

    return test


def _number(column: Column, low: float, high: float) -> Callable[[str], bool]:
    def test(cell: str) -> bool:
        value = read_number(cell, column.decimal)
        return value is not None and low <= value <= high

    return test


def _condition(cell: str) -> bool:
    value = read_number(cell, "," if "," in cell else ".")
    return (value is not None and 0 <= value <= 100) or fold(cell) in CONDITION_BANDS


def _engine(cell: str) -> bool:
    read = read_engine(cell)
    # A bare number above 30 is cubic inches or centimetres: which of them the column settles.
    return bool(read.size and 0.05 <= read.size < 500) or bool(read.layout or read.aspiration)


def _price(column: Column) -> Callable[[str], bool]:
    def test(cell: str) -> bool:
        read = read_money(cell, column.decimal)
        return read.amount is not None or read.problem == "no price"

    return test


def _dates(column: Column) -> float:
    cells = list(column.counts)
    read = read_dates(cells)
    total = sum(column.counts.values())
    good = zip(cells, read.unreadable, strict=True)
    return sum(column.counts[c] for c, wrong in good if not wrong) / total if total else 0.0


def _amount(cell: str) -> float:
    amount = read_money(cell).amount
    return -1.0 if amount is None else amount


def _has_letters(cell: str) -> bool:
    return any(c.isalpha() for c in cell)


def _short_words(cell: str) -> bool:
    return _has_letters(cell) and len(cell) <= 60


def _chassis(cell: str) -> bool:
    return any(c.isdigit() for c in cell) and len(cell) <= 25 and " " not in cell.strip()


_TESTS: dict[str, Callable[[str], bool]] = {
    "year": lambda c: read_year(c) is not None,
    "currency": lambda c: c.strip().upper() in CURRENCIES or c.strip() in "$€£",
    "outcome": lambda c: bool(read_outcome(c)) or read_level("outcome", c) is not None,
    "transmission": lambda c: read_gearbox(c) != read_gearbox("") or is_other(c),
    "engine_size": _engine,
    "fuel": lambda c: read_fuel(c) in _FUELS,
    "colour": lambda c: read_colour(c) is not None and len(c) <= 60,
    "interior_colour": lambda c: read_colour(c) is not None and len(c) <= 60,
    "body": lambda c: read_body(c) is not None and len(c) <= 40,
    "condition_grade": _condition,
    "chassis": lambda c: any(x.isdigit() for x in c) and len(c) <= 30,
    "fuel_economy": lambda c: economy_number(c) is not None,
    "annual_tax": lambda c: 0 <= _amount(c) <= BY_NAME["annual_tax"].high,
    "make": _short_words,
    "region": _short_words,
    "venue": _short_words,
    "title": lambda c: _has_letters(c) and len(c.split()) >= 2,
    "reserve": lambda c: read_level("reserve", c) is not None,
    "engine_layout": lambda c: bool(read_engine(c).layout) or c.strip().isdigit(),
}


def fits(target: str, column: Column) -> float:
    """Return the share of stated cells of a column that `target` could hold.

    Parameters
    ----------
    target : str
        Sale field, attribute or the highest bid.
    column : Column
        The column.
    """
    if target == "sale_date":
        return _dates(column)
    if target in ("price", HIGH_BID):
        return column.share(_price(column))
    if target == "mileage":
        return column.share(_mileage(column))
    if target in _TESTS:
        return column.share(_TESTS[target])
    attribute = BY_NAME.get(target)
    if target == "power" and median(column.numbers() or [0.0]) < _LEAST_POWER:
        # Fiscal ratings go by the same name in some countries: 4 to 12 where an engine gives 50.
        return 0.0
    if attribute and attribute.kind == "number":
        return column.share(_number(column, attribute.low, attribute.high))
    if levels_of(target) and not (attribute and attribute.kind == "set"):
        return column.share(lambda c: read_level(target, c) is not None)
    return 1.0 if column.counts else 0.0


def guess(column: Column, missing: Sequence[str]) -> str:
    """Guess by content alone what a column is, among the targets that are still missing.

    Returns
    -------
    str
        A target, or nothing where the content leaves a doubt.
    """
    tests: tuple[tuple[str, Callable[[str], bool]], ...] = (
        ("chassis", lambda c: bool(_VIN.fullmatch(c.upper())) and any(x.isdigit() for x in c)),
        ("currency", lambda c: c.strip() in CURRENCIES),
        ("title", lambda c: bool(_YEAR_FIRST.match(c)) and len(c.split()) >= 3),
        ("price", lambda c: bool(_MONEY_SIGN.search(c)) and read_money(c).amount is not None),
        ("transmission", lambda c: bool(read_gearbox(c).kind) and len(c) < 40),
        ("fuel", lambda c: read_fuel(c) in _FUELS - {"other"}),
        ("colour", lambda c: read_colour(c) in _FAMILIES and len(c) < 30),
        ("body", lambda c: read_body(c) in _BODIES and len(c) < 30),
        ("year", lambda c: bool(re.fullmatch(r"(19|20)\d\d", c)) and read_year(c) is not None),
    )
    for target, test in tests:
        if target in missing and column.share(test) >= 0.9:
            return target
    dated = "sale_date" in missing and column.share(lambda c: not c.isdigit()) > 0.9
    return "sale_date" if dated and column.share(_has_digit) > 0.9 and _dates(column) > 0.95 else ""


def _has_digit(cell: str) -> bool:
    return any(c.isdigit() for c in cell)
