"""The market index by segment as sections, as a page, and for a notebook."""

from __future__ import annotations

from valuation.report.index_chart import DRAWN, index_chart
from valuation.report.notebook import Shown
from valuation.report.page import Block, Bullets, Cell, Grid, Page, Paragraph, Section
from valuation.report.render import render_page
from valuation.report.words import STANDING_CAUTION, day, listed, month, plural
from valuation.results.index import (
    INDEX_CAVEAT,
    IndexMonth,
    MarketIndex,
    SegmentIndex,
    revised_words,
)

__all__ = ["index_page", "index_section", "render_index", "revision_section", "show_index"]

MONTHS = 9
"""Months of each segment that stand on the page; all are in the CSV."""

_MIX = (
    "Each sale of the whole stretch weighs the same in every month, so that a change of what is "
    "sold is no change of the level. The bands are those of the level against the base month. A "
    "month with fewer than five sales is called thin: its level rests on the months around it."
)


def render_index(index: MarketIndex) -> str:
    """Return a market index as one self-contained HTML document.

    Parameters
    ----------
    index : MarketIndex
        What to show.

    Returns
    -------
    str
        The document; the same index gives the same text.
    """
    return render_page(index_page(index))


def index_page(index: MarketIndex) -> Page:
    """Return the page of a market index as data: levels as chart and table, revision, months."""
    sections = [index_section(index)]
    if index.against is not None:
        sections.append(revision_section(index))
    sections += [_months_section(index), _caution_section()]
    return Page(
        "Market index by segment",
        f"{month(index.base)} = 100; sales up to {day(index.last_sale)}",
        tuple(sections),
        about="levels of the market",
    )


def show_index(index: MarketIndex) -> Shown:
    """Show a market index in a notebook: levels as chart and table, and the revision."""
    sections = [index_section(index)]
    if index.against is not None:
        sections.append(revision_section(index))
    return Shown(tuple(sections), index.summary())


def index_section(index: MarketIndex) -> Section:
    """Return the levels of all segments as a chart and a table."""
    blocks: list[Block] = [Paragraph(_lead(index), "lead"), index_chart(index)]
    if len(index.segments) > DRAWN:
        blocks.append(Paragraph(f"Drawn are the first {DRAWN} segments.", "quiet"))
    blocks.append(_table(index))
    said: dict[str, list[str]] = {}
    for s in index.segments:
        for note in s.notes:
            said.setdefault(note, []).append(s.name)
    notes = (*index.notes, *(f"{listed(names)}: {note}" for note, names in said.items()))
    if notes:
        blocks.append(Bullets(notes))
    blocks.append(Paragraph(f"{_MIX} {INDEX_CAVEAT}", "quiet"))
    return Section("index", "Levels by segment", tuple(blocks))


def _lead(index: MarketIndex) -> str:
    moved = [s for s in index.segments if s.year is not None]
    rising = [s.name for s in moved if s.year is not None and s.year.low > 0]
    falling = [s.name for s in moved if s.year is not None and s.year.high < 0]
    if not moved:
        return "The evidence is younger than a year, so no change over twelve months can be told."
    said = []
    for names, verb in ((rising, "rose"), (falling, "fell")):
        if names:
            said.append(f"{listed(names)} {verb}")
    rest = len(moved) - len(rising) - len(falling)
    if not said:
        return (
            "Over the last twelve months no segment moved by more than its 80% band: the sales at "
            "hand can't tell its movement from none."
        )
    ending = f"; the movement of {plural(rest, 'other segment')} can't be told from none"
    return f"Over the last twelve months {' and '.join(said)}{ending if rest else ''}."


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _table(index: MarketIndex) -> Grid:
    stood = any(m.days_to_sell for s in index.segments for m in s.months)
    heads = ["Segment", "Level", "In a year", "Sales", "Lots sold", *(["Days to sell"] * stood)]
    columns = (Cell(heads[0]), *(Cell(h, number=True) for h in heads[1:]))
    return Grid(
        f"Latest month of each segment; {month(index.base)} = 100",
        columns,
        tuple(_row(s, stood=stood) for s in index.segments),
        style="moved",
    )


def _row(segment: SegmentIndex, *, stood: bool) -> tuple[Cell, ...]:
    m, y = segment.latest, segment.year
    level = Cell(f"{m.level:.1f}", f"{m.lower80:.1f} to {m.upper80:.1f}", number=True)
    year = Cell("–", number=True)
    if y is not None:
        year = Cell(f"{y.change:+.1%}", f"{y.low:+.1%} to {y.high:+.1%}", number=True)
    known = [x for x in segment.months if not x.held]
    thin = sum(x.thin for x in known)
    note = f"in {month(m.month)}; {segment.sales:,} in all; {thin} of {len(known)} months thin"
    sales = Cell(f"{m.sales:,}", note, "thin" if m.thin else "", number=True)
    belongs = "" if segment.belongs == segment.name else segment.belongs
    cells = (Cell(segment.name, belongs), level, year, sales, _lots(m))
    return (*cells, _days(m)) if stood else cells


def _lots(m: IndexMonth) -> Cell:
    lots = m.sell_through
    if lots is None:
        return Cell("–", number=True)
    note = f"{lots.low:.0%} to {lots.high:.0%}; of {lots.offered:,} in the {lots.over}"
    return Cell(f"{lots.share:.0%}", note, number=True)


def _days(m: IndexMonth) -> Cell:
    days = m.days_to_sell
    if days is None:
        return Cell("–", number=True)
    cars = plural(days.cars, "car")
    note = f"half from {days.low:.0f} to {days.high:.0f}; {cars} in the {days.over}"
    return Cell(f"{days.median:.0f}", note, number=True)


def revision_section(index: MarketIndex) -> Section:
    """Return how far the earlier index was revised and how its forecasts came out."""
    said = tuple(f"{s.name}: {revised_words(s)}." for s in index.segments)
    blocks: tuple[Block, ...] = (
        Paragraph(
            f"Compared with the model of {day(index.against)}, month by month on the same base. A "
            "level is revised because later sales tell of earlier months too, and because what is "
            "learned from all sales moves. Past its last sale the earlier model held its level: "
            "what came out against that is the error of a forecast."
        ),
        Bullets(said),
    )
    return Section("index-revision", "What was revised", blocks)


def _months_section(index: MarketIndex) -> Section:
    return Section(
        "index-months",
        "Month by month",
        tuple(_months_grid(s, revised=index.against is not None) for s in index.segments),
    )


def _months_grid(segment: SegmentIndex, *, revised: bool) -> Grid:
    heads = ["Month", "Level", "80% band", "95% band", "Sales", *(["Revised by"] * revised)]
    rows = []
    for m in reversed(segment.months[-MONTHS:]):
        marks = "held" if m.held else ("thin" if m.thin else "")
        cells = [
            Cell(month(m.month)),
            Cell(f"{m.level:.1f}", number=True),
            Cell(f"{m.lower80:.1f} to {m.upper80:.1f}", number=True),
            Cell(f"{m.lower95:.1f} to {m.upper95:.1f}", number=True),
            Cell("–" if m.held else f"{m.sales:,}", "", marks, number=True),
        ]
        if revised:
            change = "–" if m.revised_by is None else f"{m.revised_by:+.1f}"
            cells.append(Cell(change, "forecast" if m.was_held else "", number=True))
        rows.append(tuple(cells))
    columns = (Cell(heads[0]), *(Cell(h, number=True) for h in heads[1:]))
    return Grid(f"{segment.name}: the last {len(rows)} months", columns, tuple(rows), style="small")


def _caution_section() -> Section:
    said = (
        "The level says how the market as a whole moved for such cars; a single car goes its own "
        "way.",
        "The level past the last sale is held, which is no forecast of calm: read the band.",
        STANDING_CAUTION,
    )
    return Section("cautions", "Before you rely on it", (Bullets(said),))
