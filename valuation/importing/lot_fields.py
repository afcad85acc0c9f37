"""What the lot's own columns say: number, day, estimate, reserve, the buyer's notes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from valuation.importing.lot_days import read_days
from valuation.importing.lot_estimates import (
    NO_RESERVE,
    Estimate,
    Reserve,
    read_estimate,
    read_reserve,
    settled_estimate,
)
from valuation.importing.lot_names import asks_for_none
from valuation.importing.raw import RawTable
from valuation.reading.money import find_currency
from valuation.reading.numbers import settle_decimal
from valuation.reading.text import fold, is_blank
from valuation.spreadsheets import unguarded

__all__ = ["LotFields", "read_fields"]

_LOT_WORD = re.compile(r"(?i)^(?:lot|los|lote|lotto|kavel)\b[\s.:#]*(?:(?:no|nr)\b\.?\s*)?")
_DECIMALS = re.compile(r"\d+\.0")


@dataclass
class LotFields:
    """What the lot's own columns say of one row.

    Parameters
    ----------
    number, day, notes, drivetrain : str
        As stated.
    sale_date : datetime.date or None
        The day as a date.
    low, high : decimal.Decimal or None
        Estimate.
    reserve : Reserve
        What is said of a reserve.
    currency : str
        ISO 4217 code that estimate or reserve name, empty if none.
    remarks : list of str
        What was noticed, in sentences.
    """

    number: str = ""
    day: str = ""
    notes: str = ""
    drivetrain: str = ""
    sale_date: date | None = None
    low: Decimal | None = None
    high: Decimal | None = None
    reserve: Reserve = field(default_factory=Reserve)
    currency: str = ""
    remarks: list[str] = field(default_factory=list)


def _numbers(cells: list[str]) -> list[str]:
    """Return lot numbers as printed, without the word before them or decimals a program added."""
    plain = [_LOT_WORD.sub("", unguarded(c.strip())).strip() for c in cells]
    stated = [n for n in plain if n]
    if stated and all(_DECIMALS.fullmatch(n) for n in stated):
        plain = [n.removesuffix(".0") for n in plain]
    return ["" if is_blank(n) else n for n in plain]


def _from_ends(low: str, high: str, both: str, decimal: str) -> Estimate:
    """Read an estimate of two columns, or of one text where both are empty."""
    if is_blank(low) and is_blank(high):
        return read_estimate(both, decimal)
    ends = [read_estimate(cell, decimal) for cell in (low, high)]
    remarks = [r for e in ends for r in e.remarks if "below 1,000" not in r]
    if any(e.low != e.high for e in ends):
        # A cell of a column for one end that holds a whole estimate says it all.
        return next(e for e in ends if e.low != e.high)
    settled = settled_estimate(ends[0].low, ends[1].high, ends[0].currency or ends[1].currency)
    return Estimate(settled.low, settled.high, settled.currency, (*remarks, *settled.remarks))


class _Cells:
    """The cells of the lot's own columns."""

    def __init__(self, raw: RawTable, own: Mapping[str, str]) -> None:
        self.raw, self.own = raw, own
        self.empty = [""] * len(raw.rows)

    def of(self, target: str) -> list[str]:
        """Return the cells of a target, empty ones if no column holds it."""
        name = self.own.get(target)
        return self.empty if name is None else [str(c) for c in self.raw.cells[name]]

    def texts(self, target: str) -> list[str]:
        """Return the same with cells that state nothing left empty."""
        return ["" if is_blank(c) else c for c in self.of(target)]


def _currency_of_names(own: Mapping[str, str]) -> str:
    """Return the currency that the name of a column of amounts tells."""
    for target in ("estimate low", "estimate high", "estimate", "reserve"):
        if target in own and (code := find_currency(own[target])):
            return code
    return ""


def read_fields(
    raw: RawTable, own: Mapping[str, str], order: str = ""
) -> tuple[list[LotFields], list[str]]:
    """Read what the lot's own columns say.

    Parameters
    ----------
    raw : RawTable
        The file as it came.
    own : mapping of str to str
        Column by target, from :func:`valuation.importing.lot_columns.lot_map`.
    order : {"", "day first", "month first"}
        Order of day and month in dates, if a map names it.

    Returns
    -------
    fields : list of LotFields, length n_rows
        One a row.
    notes : list of str
        What was noticed about the columns as a whole.
    """
    cells = _Cells(raw, own)
    days = cells.texts("sale_date")
    dates, ambiguous = read_days(days, order)
    lows, highs, both = (cells.of(t) for t in ("estimate low", "estimate high", "estimate"))
    decimal = settle_decimal(c for c in {*lows, *highs, *both} if c)
    usual = _currency_of_names(own)
    turned = asks_for_none(own.get("reserve", ""))
    out = []
    for number, day, when, low, high, text, reserve, notes, drivetrain in zip(
        _numbers(cells.of("sale_id")), days, dates, lows, highs, both, cells.of("reserve"),
        map(unguarded, cells.of("notes")), cells.texts("drivetrain"), strict=True,
    ):  # fmt: skip
        estimate = _from_ends(low, high, text, decimal)
        kept = read_reserve(reserve, asks_for_none=turned)
        if kept.kind == "not stated" and NO_RESERVE.search(fold(f"{low} {high} {text}")):
            kept = Reserve("none")
        out.append(
            LotFields(
                number, day, notes.strip(), drivetrain, when, estimate.low, estimate.high, kept,
                estimate.currency or kept.currency or usual, [*estimate.remarks, *kept.remarks],
            )
        )  # fmt: skip
    said = f'"{own.get("sale_date", "")}": in some dates day and month can\'t be told apart.'
    return out, [f"{said} Give their order in a map."] if ambiguous else []
