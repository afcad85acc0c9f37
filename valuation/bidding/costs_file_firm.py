"""Cost settings beside the ways of buying: target, holding, selling, winning, titles."""

from __future__ import annotations

import csv
from decimal import Decimal
from pathlib import Path

from valuation.bidding.costs import (
    SALE_TAX_ON,
    Fee,
    Holding,
    SaleTax,
    Selling,
    Target,
    Winning,
)
from valuation.bidding.costs_file_entries import (
    AMOUNT,
    DAYS,
    POSITIVE,
    SHARE,
    UNDER_100,
    UNDER_ONE,
    CostEntries,
    Kind,
    percent_to,
    within,
)
from valuation.bidding.costs_file_lines import cost_between, fee, percent_on
from valuation.bidding.number_columns import NumberColumns, read_amount, read_number_columns
from valuation.reading.money import find_currency
from valuation.reading.numbers import settle_decimal
from valuation.reading.vocabulary import levels_of, read_level
from valuation.records import Cure

__all__ = ["cures_of", "holding_of", "selling_of", "target_of", "winning_of"]

ZERO = Decimal(0)
_RIVALS = Kind(ZERO, Decimal(1000), 0, "a whole number from 0 to 1,000")
_PAIR = ("expected", "realised")


def target_of(e: CostEntries) -> Target:
    """Read what a purchase has to promise; without any limit every bid would pass."""
    table = e.table("target")
    known = ("margin", "margin_share", "loss_probability", "outlay")
    if table is None or table.empty:
        if table is not None or not e.has("target"):
            e.wrong("target", "nothing", f"a table [target] with {', '.join(known[:-1])} or outlay")
        return Target()
    loss = table.exact("loss_probability", SHARE)
    made = Target(
        margin=table.exact("margin", AMOUNT) or ZERO,
        share=table.exact("margin_share", UNDER_ONE) or ZERO,
        loss_probability=Decimal(1) if loss is None else loss,
        outlay=table.exact("outlay", POSITIVE),
    )
    table.end()
    return made


def holding_of(e: CostEntries) -> Holding:
    """Read what a car costs while it stands."""
    table = e.table("holding")
    if table is None:
        return Holding()
    low, high = table.span("days", DAYS) or (ZERO, ZERO)
    made = Holding(
        int(low),
        int(high),
        table.exact("finance_percent", percent_to(100)) or ZERO,
        table.exact("insurance_percent", percent_to(100)) or ZERO,
        table.exact("storage_a_month", AMOUNT) or ZERO,
    )
    table.end()
    if (made.finance or made.insurance or made.storage) and not table.has("days"):
        table.wrong("days", "nothing", f"{DAYS.said}, or low and high of them")
    return made


def selling_of(e: CostEntries) -> Selling:
    """Read how the car is sold again."""
    table = e.table("selling")
    if table is None:
        return Selling()
    made = Selling(
        channel=table.text("channel", ""),
        venue=table.text("venue", ""),
        basis=_basis(table),
        below_asking=table.exact("below_asking_percent", UNDER_100) or ZERO,
        commission=fee(table, "commission") or Fee(),
        card_fee=fee(table, "card_fee") or Fee(),
        warranty=fee(table, "warranty") or Fee(),
        tax=_sale_tax(table),
    )
    table.end()
    parts = (
        made.below_asking,
        *(f.percent for f in (made.commission, made.card_fee, made.warranty)),
    )
    if sum(parts) >= 100:
        listed = "below_asking_percent, commission, card_fee and warranty"
        got = " + ".join(str(p) for p in parts if p)
        table.wrong("", got, f"less than 100 per cent in {listed} together")
    return made


def _basis(e: CostEntries) -> str:
    allowed = tuple(b for b in levels_of("basis") if b != "unknown")
    text = e.text("basis", "")
    basis = read_level("basis", text) if text else ""
    if basis not in ("", *allowed):
        e.wrong("basis", repr(text), "one of " + ", ".join(allowed))
        return ""
    return basis or ""


def _sale_tax(e: CostEntries) -> SaleTax:
    part = e.table("tax")
    if part is None:
        return SaleTax()
    made = SaleTax(*percent_on(part, SALE_TAX_ON))
    part.end()
    return made


def cures_of(e: CostEntries, home: str) -> dict[str, Cure]:
    """Read days and cost to cure a title, by its status."""
    table = e.table("title")
    if table is None:
        return {}
    levels = [n for n in levels_of("title_status") if n != "clear"]
    cures: dict[str, Cure] = {}
    for key in table.names():
        status = read_level("title_status", key)
        if status not in levels:
            table.wrong(key, "clear needs no cure" if status else "no such title", _one_of(levels))
            continue
        part = table.table(key)
        if part is None:
            continue
        days, ends = part.exact("days", DAYS, needed=True), cost_between(part)
        part.end()
        if days is not None and ends:
            cures[status] = Cure(float(days), *ends, home)
    return cures


def _one_of(words: list[str]) -> str:
    return "one of " + "; ".join(words)


def winning_of(e: CostEntries, home: str, folder: Path) -> Winning:
    """Read what winning says, with the record of the firm's own purchases in a file beside."""
    table = e.table("winning")
    if table is None:
        return Winning()
    rivals = table.exact("rivals", _RIVALS) or ZERO
    own_share = table.exact("own_share", SHARE) or ZERO
    percent = table.exact("correction_percent", UNDER_100)
    record = _record(table, home, folder)
    for one, other in (("rivals", "own_share"), ("own_share", "rivals")):
        # Each alone would correct nothing, and look as if it did.
        if (own_share if one == "own_share" else rivals) and not table.has(other):
            table.wrong(other, "nothing", f"stated beside {one}")
    table.end()
    return Winning(int(rivals), own_share, percent, record)


def _record(e: CostEntries, home: str, folder: Path) -> tuple[tuple[Decimal, Decimal], ...]:
    name = e.text("record", "")
    if not name:
        return ()
    try:
        found = read_number_columns((folder / name).read_bytes())
    except (OSError, ValueError, csv.Error) as error:
        came = getattr(error, "strerror", None) or str(error)
        e.wrong("record", f"{name}: {came}", "a CSV file beside this one")
        return ()
    places = (found.place(_PAIR[:1]), found.place(_PAIR[1:])) if found.names else (0, 1)
    if None in places or not found.rows:
        got = ", ".join(found.names) or "nothing"
        e.wrong("record", f"{name}: {got}", "a file of numbers in the columns expected, realised")
        return ()
    return _pairs(e, found, [p for p in places if p is not None], home)


def _pairs(
    e: CostEntries, found: NumberColumns, places: list[int], home: str
) -> tuple[tuple[Decimal, Decimal], ...]:
    columns = []
    for place, name in zip(places, _PAIR, strict=True):
        cells = found.column(place)
        decimal = settle_decimal(cells)
        amounts = [_bare(cell, decimal, home) for cell in cells]
        for (row, _), cell, amount in zip(found.rows, cells, amounts, strict=True):
            if amount is None:
                allowed = f"{POSITIVE.said}, in {home}" if home else POSITIVE.said
                e.wrong("record", cell or "nothing", allowed, spot=f"row {row}, {name}")
        columns.append(amounts)
    pairs = zip(*columns, strict=True)
    return tuple((a, b) for a, b in pairs if a is not None and b is not None)


def _bare(cell: str, decimal: str, home: str) -> Decimal | None:
    amount = read_amount(cell, decimal)
    named = find_currency(cell)
    return None if amount is None or named not in ("", home) else within(amount, POSITIVE)
