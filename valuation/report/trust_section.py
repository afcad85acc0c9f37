"""The last sections: what stands behind the figure, and what to know before relying on it."""

from __future__ import annotations

from valuation.report.page import Block, Bullets, Paragraph, Section
from valuation.report.words import STANDING_CAUTIONS, evidence_words
from valuation.results import Valuation

__all__ = ["cautions_section", "evidence_section"]


def evidence_section(valuation: Valuation) -> Section:
    """Return the section on the strength of the evidence and everything to be warned of.

    Parameters
    ----------
    valuation : Valuation
        What to show.

    Returns
    -------
    Section
        The evidence in words, then the warnings as a list, or the word that there are none.
    """
    found = valuation.evidence
    blocks: list[Block] = [Paragraph(evidence_words(found))]
    assumed = [c for c in valuation.contributions if c.amount and c.evidence_share < 0.5]
    if assumed:
        names = ", ".join(dict.fromkeys(c.label for c in assumed))
        blocks.append(Paragraph(f"Mostly assumption, less than half evidence: {names}."))
    if found.warnings:
        blocks.append(Bullets(found.warnings))
    else:
        blocks.append(Paragraph("There are no warnings about this car.", "quiet"))
    return Section("evidence", "What stands behind it", tuple(blocks))


def cautions_section(valuation: Valuation) -> Section:
    """Return the section of cautions: those of the valuation, then those of every page."""
    cautions = tuple(dict.fromkeys((*valuation.cautions, *STANDING_CAUTIONS)))
    return Section("cautions", "Before you rely on it", (Bullets(cautions),))
