"""What one record is: a car, a book of sales, a row that was set aside."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from types import MappingProxyType
from typing import Any

import pandas as pd

from valuation.schema import ATTRIBUTES, BY_NAME, SALE_FIELDS
from valuation.schema.kinds import NOT_ON_THIS_CAR
from valuation.schema.statements import Statement

__all__ = [
    "Car",
    "Cure",
    "Fault",
    "OpenFact",
    "SalesBook",
    "SetAside",
    "Value",
    "Work",
    "ZoneMark",
    "empty_table",
]

Value = float | str | tuple[str, ...]
"""A stated value: a number, a category, or a set of words."""

ZoneMark = float | tuple[float, float] | str
"""What is known of a zone: its mark, 0 to 10, the lowest and the highest it can be, or the words
``not on this car``.  A zone without any of them was not looked at."""

_BEST_MARK = 10.0


@dataclass(frozen=True, slots=True)
class Fault:
    """One reason why a row was set aside, or one thing to look at.

    Parameters
    ----------
    code : str
        Short stable name of the kind of fault, such as ``no price``.
    column : str
        Column as it is named in the file, empty if it is about the whole row.
    got : str
        What stood there.
    remedy : str
        What to do, as an imperative sentence.
    """

    code: str
    column: str
    got: str
    remedy: str


@dataclass(frozen=True, slots=True)
class SetAside:
    """A row of a sale file that could not be used, with all its reasons.

    Parameters
    ----------
    file : str
        Name of the file, without its folder.
    row : int
        Row number in the file as a spreadsheet counts it, the first being 1.
    faults : tuple of Fault
        Every reason.
    cells : mapping of str to str
        The row as it came.
    """

    file: str
    row: int
    faults: tuple[Fault, ...]
    cells: Mapping[str, str]


@dataclass(frozen=True)
class SalesBook:
    """Sales that were read, checked and brought to one currency.

    Parameters
    ----------
    table : pandas.DataFrame, shape (n_sales, n_columns)
        One row a sale, default index.  Columns are the sale fields and the attributes of the
        contract: numbers are ``float64`` with NaN for not stated; categories and text are
        ``object`` with None for not stated; sets are ``object`` with a sorted tuple of words, the
        empty tuple for "stated: none" and None for not stated; ``sale_date`` is
        ``datetime64[s]`` with NaT in an undated list.  ``price`` is in `currency`.
        Besides: ``statements``, what the words of the listing say and no attribute of the row
        expresses, a sorted tuple of texts such as ``faults: rust``, ``not faults: rust`` and
        ``perhaps faults: rust``, None for a row without words; ``file`` and ``row`` (where the
        sale came from).
    currency : str
        ISO 4217 code of all prices.
    dated : bool
        False for a list of asking prices without dates.
    set_aside : tuple of SetAside
        Rows that could not be used.
    rows : int
        Rows in the files, ``len(table) + len(set_aside)``.
    notes : tuple of str
        What was noticed about the files as a whole, in sentences.
    """

    table: pd.DataFrame
    currency: str
    dated: bool
    set_aside: tuple[SetAside, ...] = ()
    rows: int = 0
    notes: tuple[str, ...] = ()

    def __len__(self) -> int:
        return len(self.table)

    def subset(self, keep: Any) -> SalesBook:
        """Return a book with the rows where `keep` (a boolean mask or positions) holds."""
        table = self.table.loc[keep] if _is_mask(keep) else self.table.iloc[keep]
        return SalesBook(
            table.reset_index(drop=True), self.currency, self.dated, (), len(table), self.notes
        )


def _is_mask(keep: Any) -> bool:
    return bool(pd.api.types.is_bool_dtype(keep))


@dataclass(frozen=True, slots=True)
class OpenFact:
    """A fact about a car that is claimed or half seen, and not settled.

    Parameters
    ----------
    attribute : str
        Attribute of the contract.
    levels : tuple of str
        What it can still be, for a category; empty for a number.
    low, high : float or None
        Between which it lies, for a number.
    claim : str
        As the seller has it, empty if nothing is claimed.
    contradiction : str
        What speaks against the claim, in sentences; empty if nothing does.
    where, tool, how : str
        Where on the car to look, with what, and how to settle it.
    minutes : float or None
        How long that takes.
    """

    attribute: str
    levels: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    claim: str = ""
    contradiction: str = ""
    where: str = ""
    tool: str = ""
    how: str = ""
    minutes: float | None = None


@dataclass(frozen=True, slots=True)
class Work:
    """One line of the work that is to be done to a car before it is sold.

    Parameters
    ----------
    what : str
        What is to be done.
    low, high : decimal.Decimal
        What it costs, 0 or more, in order.
    currency : str
        ISO 4217 code, empty if nothing names one.
    zone : str
        Zone of the inspection that it puts right, empty if it puts right none.
    mark : float or None
        Mark of that zone after the work, 0 to 10; with `zone` and only with it.
    attribute : str
        Attribute of the contract that it changes, empty if it changes none; never beside `zone`.
    value : Value or None
        What the attribute is after the work; with `attribute` and only with it.
    days : float or None
        How long it takes, None if nobody said.

    Raises
    ------
    ValueError
        If it is no such line.
    """

    what: str
    low: Decimal
    high: Decimal
    currency: str = ""
    zone: str = ""
    mark: float | None = None
    attribute: str = ""
    value: Value | None = None
    days: float | None = None

    def __post_init__(self) -> None:
        _check_cost("Work", self.low, self.high, self.days)
        if bool(self.zone) != (self.mark is not None):
            raise ValueError(f"Work: a zone and its mark go together (got: {self})")
        if bool(self.attribute) != (self.value is not None):
            raise ValueError(f"Work: an attribute and its value go together (got: {self})")
        if self.zone and self.attribute:
            raise ValueError(f"Work: a zone or an attribute, not both (got: {self})")
        if self.mark is not None and not 0 <= self.mark <= _BEST_MARK:
            raise ValueError(f"Work: a mark is 0 to 10 (got: {self.mark})")
        if self.attribute and self.attribute not in BY_NAME:
            raise ValueError(f"Work: no such attribute (got: {self.attribute})")


@dataclass(frozen=True, slots=True)
class Cure:
    """What it takes until a car that is stopped can be bought.

    Parameters
    ----------
    days : float or None
        How long, None if nobody said.
    low, high : decimal.Decimal or None
        What it costs, 0 or more, in order; both None if nobody said.
    currency : str
        ISO 4217 code, empty if nothing names one.

    Raises
    ------
    ValueError
        If it is no such thing.
    """

    days: float | None = None
    low: Decimal | None = None
    high: Decimal | None = None
    currency: str = ""

    def __post_init__(self) -> None:
        if (self.low is None) != (self.high is None):
            raise ValueError(f"Cure: both ends of the cost or neither (got: {self})")
        nothing = Decimal(0)
        _check_cost("Cure", self.low or nothing, self.high or nothing, self.days)


def _check_cost(what: str, low: Decimal, high: Decimal, days: float | None) -> None:
    if not (low.is_finite() and high.is_finite() and 0 <= low <= high):
        raise ValueError(f"{what}: 0, low, high have to rise (got: {low}, {high})")
    if days is not None and not 0 <= days < float("inf"):
        raise ValueError(f"{what}: days are 0 or more (got: {days})")


@dataclass(frozen=True)
class Car:
    """One car to be valued.

    Parameters
    ----------
    values : mapping of str to Value
        Stated attributes by name: float, str or tuple of str.
    not_looked_at : frozenset of str
        Attributes nobody has looked at yet.
    cannot_be_told : frozenset of str
        Attributes that can no longer be found out.
    title, description : str
        Words of the advert, as written.
    chassis : str
        Chassis number, as written.
    sale : mapping of str to str
        The sale it is valued for: ``channel``, ``venue``, ``region``, ``basis``, ``outcome``,
        ``reserve``; what is absent is taken as usual for the evidence.
    label : str
        A name for the car on pages; made from year, make and model if empty.
    notes : tuple of str
        Remarks of the reader, in sentences.
    asking : float, optional
        What the seller asks, in the model's currency.
    seen_on : datetime.date, optional
        Day on which the car was seen.
    engine_text, transmission_text : str
        Words about engine and gearbox, as written.
    statements : mapping of str to str
        For attributes that were read from a text, the text that states them.
    said : tuple of Statement
        What title and description say of the car, with the corrections of the car file.
    corrections : mapping of str to str
        Corrections of what was read: text such as ``faults: rust`` to a strength or ``not said``.
    open : tuple of OpenFact
        Facts that are not settled.  An attribute with an open fact is not among `values`.
    work : tuple of Work
        What is to be done to it before it is sold.
    marks : mapping of str to ZoneMark
        Marks of its zones as inspected; a zone that isn't named was not looked at.
    cure : Cure or None
        What it takes to cure its title, or what else stops the purchase.
    stops : tuple of str
        What stops the purchase besides the state of its title, in sentences.
    """

    values: Mapping[str, Value]
    not_looked_at: frozenset[str] = frozenset()
    cannot_be_told: frozenset[str] = frozenset()
    title: str = ""
    description: str = ""
    chassis: str = ""
    sale: Mapping[str, str] = field(default_factory=dict)
    label: str = ""
    notes: tuple[str, ...] = ()
    asking: float | None = None
    seen_on: date | None = None
    engine_text: str = ""
    transmission_text: str = ""
    statements: Mapping[str, str] = field(default_factory=dict)
    said: tuple[Statement, ...] = ()
    corrections: Mapping[str, str] = field(default_factory=dict)
    open: tuple[OpenFact, ...] = ()
    work: tuple[Work, ...] = ()
    marks: Mapping[str, ZoneMark] = field(default_factory=dict)
    cure: Cure | None = None
    stops: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        unknown = [n for n in self.values if n not in BY_NAME]
        if unknown:
            raise ValueError(f"Car: no such attribute (got: {', '.join(sorted(unknown))})")
        twice = [f.attribute for f in self.open if f.attribute in self.values]
        if twice:
            raise ValueError(f"Car: open and settled at once (got: {', '.join(sorted(twice))})")
        wrong = [zone for zone, mark in self.marks.items() if not _is_mark(mark)]
        if wrong:
            raise ValueError(f"Car: a mark is 0 to 10 (got: {', '.join(sorted(wrong))})")
        for name in ("values", "sale", "statements", "corrections", "marks"):
            object.__setattr__(self, name, MappingProxyType(dict(getattr(self, name))))

    @property
    def name(self) -> str:
        """Name of the car for people."""
        if self.label:
            return self.label
        year = self.values.get("year")
        parts = [f"{year:.0f}" if isinstance(year, float | int) else ""]
        parts += [str(self.values.get(k, "")) for k in ("make", "model", "variant")]
        return " ".join(p for p in parts if p) or self.title or "car"


def _is_mark(mark: ZoneMark) -> bool:
    if isinstance(mark, str):
        return mark == NOT_ON_THIS_CAR
    low, high = mark if isinstance(mark, tuple) else (mark, mark)
    return 0 <= low <= high <= _BEST_MARK


def empty_table(n: int) -> pd.DataFrame:
    """Return a table of `n` sales in which nothing is stated."""
    columns: dict[str, pd.Series[Any]] = {}
    for f in SALE_FIELDS:
        if f.kind == "money":
            columns[f.name] = pd.Series([float("nan")] * n, dtype="float64")
        elif f.kind == "date":
            columns[f.name] = pd.Series([pd.NaT] * n, dtype="datetime64[s]")
        else:
            columns[f.name] = pd.Series([None] * n, dtype=object)
    for a in ATTRIBUTES:
        numeric = a.kind == "number"
        columns[a.name] = pd.Series(
            [float("nan") if numeric else None] * n, dtype="float64" if numeric else object
        )
    columns["statements"] = pd.Series([None] * n, dtype=object)
    columns["file"] = pd.Series([""] * n, dtype=object)
    columns["row"] = pd.Series([0] * n, dtype="int64")
    return pd.DataFrame(columns)
