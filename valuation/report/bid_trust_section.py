"""The last sections of a bid sheet: the work, what stands behind the resale, and cautions."""

from __future__ import annotations

from valuation.report.bid_words import cost_words
from valuation.report.page import Block, Bullets, Cell, Grid, Paragraph, Section
from valuation.report.words import STANDING_CAUTION, capital, evidence_words
from valuation.results.bid_parts import WorkStep
from valuation.results.bid_sheet import BidSheet

__all__ = ["bid_cautions_section", "bid_evidence_section", "work_section"]


def work_section(sheet: BidSheet) -> Section:
    """Return the section on the work after which the car is resold.

    Parameters
    ----------
    sheet : BidSheet
        With at least one line of work.

    Returns
    -------
    Section
        What is done, the zone and the mark it restores, and what it costs.
    """
    columns = (Cell("Work"), Cell("Zone"), Cell("Restores"), Cell("Cost", number=True))
    rows = tuple(_work_row(step, sheet.resale_currency) for step in sheet.work)
    grid = Grid("The car is resold after this work", columns, rows, style="work")
    said = "The resale is that of the car with these marks restored, and with no other change."
    return Section("work", "Work before it is resold", (grid, Paragraph(said, "quiet")))


def _work_row(step: WorkStep, currency: str) -> tuple[Cell, ...]:
    cost = cost_words(step.low, step.high, step.currency or currency)
    restores = capital(step.restores) if step.restores else "no mark"
    return (Cell(step.what), Cell(capital(step.zone)), Cell(restores), Cell(cost, number=True))


def bid_evidence_section(sheet: BidSheet) -> Section:
    """Return the section on how much stands behind the resale."""
    if sheet.evidence is None:
        stated = "The resale was stated by hand: no sales stand behind it."
        return Section("evidence", "What stands behind it", (Paragraph(stated, "lead"),))
    blocks: list[Block] = [Paragraph(evidence_words(sheet.evidence), "lead")]
    if sheet.evidence.outside:
        guess = " The resale is a guess." if sheet.resale else ""
        outside = f"This car lies outside what the evidence has seen.{guess}"
        blocks.append(Paragraph(outside, "warning"))
    if sheet.evidence.warnings:
        blocks.append(Bullets(sheet.evidence.warnings))
    return Section("evidence", "What stands behind it", tuple(blocks))


def bid_cautions_section(sheet: BidSheet) -> Section:
    """Return the section of cautions: those of the sheet, then that of every page."""
    cautions = tuple(dict.fromkeys((*sheet.cautions, STANDING_CAUTION)))
    return Section("cautions", "Before you rely on it", (Bullets(cautions),))
