"""Parts of the page for a notebook cell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from valuation.report.beside_section import beside_sections
from valuation.report.bid_checks_section import bid_checks_section
from valuation.report.bid_section import bid_section
from valuation.report.checks_section import checks_section
from valuation.report.closest_section import closest_section
from valuation.report.coverage_section import coverage_section, coverage_sections
from valuation.report.ladder_section import ladder_section
from valuation.report.moves_section import courses_section
from valuation.report.page import Block, Cell, Grid, Paragraph, Section
from valuation.report.range_section import range_section
from valuation.report.reasons_section import reasons_section
from valuation.report.render import render_section, render_text
from valuation.report.run_list_page import lots_section
from valuation.report.run_list_words import budget_words, line_words, list_words
from valuation.report.valuation_page import valuation_page
from valuation.results.beside import Beside
from valuation.results.bid_sheet import BidSheet
from valuation.results.coverage import CoverageReport
from valuation.results.run_list import RunList
from valuation.results.valuation import Valuation
from valuation.results.words import INTERNAL

__all__ = [
    "Shown",
    "ShownText",
    "show",
    "show_beside",
    "show_bid",
    "show_checks",
    "show_closest_sales",
    "show_coverage",
    "show_explanation",
    "show_range",
    "show_run_list",
    "show_table",
    "show_text",
]


@dataclass(frozen=True)
class Shown:
    """Sections that a notebook displays as they stand on the page.

    Parameters
    ----------
    sections : tuple of Section
        What to show, in order.
    text : str
        Shown where HTML can't be.
    """

    sections: tuple[Section, ...]
    text: str

    def __repr__(self) -> str:
        return self.text

    def _repr_html_(self) -> str:
        return "\n".join(render_section(section) for section in self.sections)


@dataclass(frozen=True)
class ShownText:
    """Plain text that a notebook breaks between words, which it does not do to printed text.

    Parameters
    ----------
    text : str
        Its lines; spaces at their start are kept, and kept for what is broken off.
    """

    text: str

    def __repr__(self) -> str:
        return self.text

    def _repr_html_(self) -> str:
        return render_text(self.text)


def show_text(*lines: str) -> ShownText:
    """Show plain text, such as the summary of a result, one below another."""
    return ShownText("\n".join(lines))


def show_table(
    heading: str,
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    caption: str,
    note: str = "",
) -> Shown:
    """Show words in rows, as tables of a page are set.

    Parameters
    ----------
    heading : str
        Of the section.
    heads : sequence of str
        Headings of the columns; the first is that of the row headings.
    rows : sequence of sequence of str
        Each as long as `heads`, its heading first.
    caption : str
        What the table shows.
    note : str
        What is said below it.
    """
    cells = tuple(tuple(map(Cell, row)) for row in rows)
    blocks: list[Block] = [Grid(caption, tuple(map(Cell, heads)), cells)]
    blocks += [Paragraph(note)] if note else []
    anchor = "-".join("".join(c if c.isalnum() else " " for c in heading.casefold()).split())
    said = [heading, *("  ".join(row) for row in rows), *([note] if note else [])]
    return Shown((Section(anchor, heading, tuple(blocks)),), "\n".join(said))


def show_coverage(report: CoverageReport, *, by: str) -> Shown:
    """Show how often ranges held, over all sales and by one kind of group.

    Parameters
    ----------
    report : CoverageReport
        What to show.
    by : str
        Name of the kind, such as ``month``; nothing is added if the report has no such kind.
    """
    wanted = f"coverage-{by.replace(' ', '-')}"
    kinds = (s for s in coverage_sections(report) if s.name == wanted)
    return Shown((coverage_section(report), *kinds), report.summary())


def show(valuation: Valuation) -> Shown:
    """Show a whole valuation as its page does: range, checks, reasons, sales, cautions."""
    return Shown(valuation_page(valuation).sections, valuation.summary())


def show_range(valuation: Valuation) -> Shown:
    """Show the price range in words and as a chart."""
    return Shown((range_section(valuation),), valuation.summary())


def show_checks(valuation: Valuation) -> Shown:
    """Show what to check before bidding; nothing where all is settled."""
    sections = (checks_section(valuation),) if valuation.checks else ()
    return Shown(sections, valuation.summary())


def show_explanation(valuation: Valuation) -> Shown:
    """Show what raised and what lowered the price."""
    return Shown((reasons_section(valuation),), valuation.summary())


def show_closest_sales(valuation: Valuation) -> Shown:
    """Show the closest sales with their adjustment grid."""
    return Shown((closest_section(valuation),), valuation.summary())


def show_beside(found: Beside) -> Shown:
    """Show two cars side by side: prices, the difference line by line, what is not said."""
    return Shown(beside_sections(found), found.summary())


def show_bid(sheet: BidSheet) -> Shown:
    """Show a bid: the answer, the ladder, what to check first, courses of the market."""
    sections = [_internal(bid_section(sheet))]
    if sheet.ladder:
        sections.append(ladder_section(sheet))
    if sheet.checks:
        sections.append(bid_checks_section(sheet))
    if sheet.courses:
        sections.append(courses_section(sheet))
    return Shown(tuple(sections), sheet.summary())


def show_run_list(run_list: RunList, *, first: int | None = None) -> Shown:
    """Show a run list: one line for each lot, in running order.

    Parameters
    ----------
    run_list : RunList
        What to show.
    first : int, optional
        Shows so many lots: those that stand first as the list is sorted; all without it.
    """
    kept = replace(run_list, lines=run_list.lines[:first])
    words = f"{list_words(run_list)}."
    if len(kept.lines) < len(run_list.lines):
        words += f" Shown here: the first {len(kept.lines):,} by {run_list.sorted_by}."
    said = [words, *([budget_words(run_list)] if budget_words(run_list) else [])]
    lines = sorted(kept.lines, key=lambda line: line.order)
    said += [f"  {x.number}  {x.car}: {line_words(x)}" for x in lines]
    section = lots_section(kept)
    section = replace(section, blocks=(Paragraph(words), *section.blocks))
    return Shown((_internal(section),), "\n".join(said))


def _internal(section: Section) -> Section:
    """Say first for whom a section is, as its page does."""
    return replace(section, blocks=(Paragraph(INTERNAL, "notice"), *section.blocks))
