"""The run list on paper: one line for each lot, in running order."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from valuation.report.bid_words import (
    ANSWER_WORDS,
    amount,
    binds_words,
    risk_words,
)
from valuation.report.lot_sheets import render_lot_sheets
from valuation.report.page import Block, Bullets, Cell, Grid, Page, Paragraph, Section
from valuation.report.render import render_page
from valuation.report.run_list_words import (
    at_words,
    budget_words,
    list_words,
    over_budget,
    the_currency,
)
from valuation.report.words import STANDING_CAUTION, capital, shorten
from valuation.results.bid_text import bid_words
from valuation.results.run_list import RunLine, RunList, UnpricedLot
from valuation.results.words import INTERNAL

__all__ = ["lots_section", "render_lot_sheets", "render_run_list", "run_list_page"]

_CAR = 90
_CHECK = 72
_WARNING = 80
_REASON = 110
_NOTES = 120


def render_run_list(run_list: RunList) -> str:
    """Return a run list as one self-contained HTML document for paper that lies.

    Parameters
    ----------
    run_list : RunList
        What to show.

    Returns
    -------
    str
        The document; the same list gives the same text.
    """
    return render_page(run_list_page(run_list))


def run_list_page(run_list: RunList) -> Page:
    """Return the page of a run list as data.

    Parameters
    ----------
    run_list : RunList
        What to show, in any order; the page has the running order.

    Returns
    -------
    Page
        Lots, what changed and was noticed, lots that were not priced, cautions.
    """
    return Page(
        "Run list",
        list_words(run_list),
        tuple(_sections(run_list)),
        about=run_list.source,
        notice=INTERNAL,
        landscape=True,
    )


def _sections(run_list: RunList) -> Iterator[Section]:
    yield lots_section(run_list)
    if run_list.changes:
        changed = (Bullets(run_list.changes),)
        yield Section("changes", "What changed since the earlier list", changed)
    if run_list.notes:
        noticed = (Bullets(run_list.notes),)
        yield Section("noticed", "What was noticed about the catalogue", noticed)
    if run_list.unpriced:
        yield Section("unpriced", "Lots that were not priced", (_unpriced(run_list),))
    cautions = tuple(dict.fromkeys((*run_list.cautions, STANDING_CAUTION)))
    yield Section("cautions", "Before you rely on it", (Bullets(cautions),))


def lots_section(run_list: RunList) -> Section:
    """Return the section with one line for each lot that was priced."""
    blocks: list[Block] = []
    if budget := budget_words(run_list):
        blocks.append(Paragraph(budget, "warning" if over_budget(run_list) else "lead"))
    if run_list.lines:
        blocks += [*_lots(run_list), Paragraph(_how_to_read(run_list), "quiet")]
    else:
        blocks.append(Paragraph("No lot could be priced.", "warning"))
    return Section("lots", "Lots in running order", tuple(blocks))


def _how_to_read(run_list: RunList) -> str:
    money = run_list.resale_currency
    return (
        f"Resale: median and 80% range in the firm's selling channel, {money}. Expected margin and "
        f"risk of loss, {money}, stand for the bid below them: the reserve where it is known, "
        "else the low estimate, else the walk-away bid. No bid above the walk-away bid keeps the "
        "firm's limits."
    )


def _lots(run_list: RunList) -> Iterator[Grid]:
    """Yield a table for each day of the sale, in running order."""
    bid, resale = the_currency(run_list), run_list.resale_currency
    columns = (
        Cell("Lot"),
        Cell("Car"),
        Cell(_in("Estimate", bid), number=True),
        Cell(_in("Resale", resale), number=True),
        Cell(_in("Walk-away bid", bid), number=True),
        Cell(_in("Expected margin", resale), number=True),
        Cell("Evidence"),
        Cell("Check first"),
        Cell("Mind"),
        Cell("Plan and notes"),
    )
    ordered = sorted(run_list.lines, key=lambda line: line.order)
    several = len({line.day for line in ordered}) > 1
    for day, lines in groupby(ordered, key=lambda line: line.day):
        rows = tuple(_row(line, money=not bid) for line in lines)
        caption = (day or "Day not stated") if several else "One line for each lot"
        yield Grid(caption, columns, rows, style="lots")


def _in(name: str, currency: str) -> str:
    return f"{name}, {currency}" if currency else name


def _row(line: RunLine, *, money: bool) -> tuple[Cell, ...]:
    currency = line.currency if money else ""
    changed = f"Changed: {'; '.join(line.changed)}" if line.changed else ""
    notes = shorten(". ".join(part for part in (line.notes, changed) if part), _NOTES)
    return (
        Cell(line.number),
        Cell(shorten(line.car, _CAR)),
        _estimate(line, currency),
        _resale(line),
        _walk_away(line, currency),
        _margin(line),
        Cell(line.evidence),
        Cell(shorten(line.first_check, _CHECK)),
        Cell("; ".join(shorten(w, _WARNING) for w in line.warnings)),
        Cell(capital(line.plan), notes),
    )


def _estimate(line: RunLine, currency: str) -> Cell:
    known = [bid_words(x, "") for x in (line.estimate_low, line.estimate_high) if x is not None]
    said = f"{' to '.join(dict.fromkeys(known))} {currency}".strip() if known else "not stated"
    if line.no_reserve:
        return Cell(said, "no reserve", number=True)
    reserve = f"reserve {bid_words(line.reserve, '')}" if line.reserve is not None else ""
    return Cell(said, reserve, number=True)


def _resale(line: RunLine) -> Cell:
    if line.central is None:
        return Cell("none", number=True)
    if line.lower is None or line.upper is None:
        return Cell(amount(line.central), "no range", number=True)
    span = f"{amount(line.lower)} to {amount(line.upper)}"
    return Cell(amount(line.central), span, number=True)


def _walk_away(line: RunLine, currency: str) -> Cell:
    if line.walk_away is not None:
        return Cell(bid_words(line.walk_away, currency), binds_words(line.binds), number=True)
    why = ANSWER_WORDS.get(line.answer, capital(line.answer))
    reason = shorten(line.reasons[0], _REASON) if line.reasons else ""
    return Cell("", reason, mark=why, number=True)


def _margin(line: RunLine) -> Cell:
    if line.expected_margin is None:
        return Cell("none", number=True)
    said = [f"at {at_words(line)} {bid_words(line.at, '')}"] if line.at is not None else []
    if line.loss_probability is not None:
        said.append(f"risk {risk_words(line.loss_probability)}")
    return Cell(amount(line.expected_margin), "; ".join(said), number=True)


def _unpriced(run_list: RunList) -> Grid:
    columns = (Cell("Lot"), Cell("Row"), Cell("What the catalogue says"), Cell("Why not"))
    rows = tuple(_unpriced_row(lot) for lot in run_list.unpriced)
    return Grid("Lots without a price", columns, rows, style="unpriced")


def _unpriced_row(lot: UnpricedLot) -> tuple[Cell, ...]:
    name = lot.number or "without number"
    return (Cell(name, lot.day), Cell(f"{lot.row}"), Cell(lot.words), Cell(lot.reason))
