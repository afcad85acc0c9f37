"""Sections of the customer's sheet on the car itself, its papers, and the sheet."""

from __future__ import annotations

from collections.abc import Sequence

from valuation.report.page import Block, Bullets, Cell, Grid, Paragraph, Picture, Section
from valuation.report.words import STANDING_CAUTION, capital, day, plural
from valuation.results.customer_sheet import CustomerSheet
from valuation.results.customer_sheet_parts import STANDINGS, CarFact
from valuation.results.customer_sheet_words import question_words

__all__ = ["about_section", "car_section", "papers_section"]


def car_section(sheet: CustomerSheet) -> Section:
    """Return the section that says which car it is.

    Parameters
    ----------
    sheet : CustomerSheet
        What to show.
    """
    blocks: list[Block] = []
    if sheet.picture is not None:
        p = sheet.picture
        blocks.append(Picture(p.content, p.width, p.height, f"Photograph of the {sheet.heading}"))
    if sheet.basics:
        blocks.append(_facts("What car it is", sheet.basics))
    else:
        blocks.append(Paragraph("Nothing more is stated about the car.", "quiet"))
    return Section("car", "The car", tuple(blocks))


def papers_section(sheet: CustomerSheet) -> Section:
    """Return the section on documents, on what is known, and on what is open.

    Parameters
    ----------
    sheet : CustomerSheet
        What to show.
    """
    blocks: list[Block] = [
        Paragraph(question_words(q, sheet.currency), "warning")
        for q in sheet.questions
        if q.state == "contradicted"
    ]
    if sheet.papers:
        blocks.append(_facts("Documents", sheet.papers))
    else:
        blocks.append(Paragraph("Nothing is stated about documents.", "quiet"))
    if sheet.findings:
        blocks.append(_facts("State, originality and history", sheet.findings))
    open_ones = [
        question_words(q, sheet.currency) for q in sheet.questions if q.state != "contradicted"
    ]
    if open_ones:
        blocks += [Paragraph("Open questions:", "lead"), Bullets(tuple(open_ones))]
    elif not sheet.questions:
        blocks.append(Paragraph("We know of no open question about this car.", "quiet"))
    return Section("papers", "Papers and facts", tuple(blocks))


def about_section(sheet: CustomerSheet) -> Section:
    """Return the section on the sheet: its day, its model, and what to know before relying on it.

    Parameters
    ----------
    sheet : CustomerSheet
        What to show.
    """
    made = f"Sheet of {day(sheet.as_of)}" if sheet.as_of else "Sheet from an undated list"
    version = f", model {sheet.version}" if sheet.version else ""
    behind = plural(sheet.evidence.all_sales, "sale")
    cautions = tuple(dict.fromkeys((*sheet.notes, *sheet.cautions, STANDING_CAUTION)))
    return Section(
        "about",
        "Before you rely on it",
        (Bullets(cautions), Paragraph(f"{made}{version}, learned from {behind}.", "quiet")),
    )


def _facts(caption: str, facts: Sequence[CarFact]) -> Grid:
    columns = (Cell("What"), Cell("This car"), Cell("How we know"))
    rows = tuple(
        (Cell(f.label), Cell(capital(f.value)), Cell(STANDINGS[f.standing])) for f in facts
    )
    return Grid(caption, columns, rows, style="facts")
