"""The last sections: what stands behind the figure, and what to know before relying on it."""

from __future__ import annotations

from valuation.report.page import Block, Bullets, Paragraph, Section
from valuation.report.steps import REMAINDERS, in_order
from valuation.report.words import STANDING_CAUTION, evidence_words
from valuation.results.valuation import Contribution, Valuation

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
    assumed = [c for c in in_order(valuation.contributions) if _assumed(c)]
    if assumed:
        names = ", ".join(dict.fromkeys(c.label for c in assumed))
        blocks.append(Paragraph(f"Mostly assumption, less than half evidence: {names}."))
    if found.warnings:
        blocks.append(Bullets(found.warnings))
    else:
        blocks.append(Paragraph("There are no warnings about this car.", "quiet"))
    return Section("evidence", "What stands behind it", tuple(blocks))


def _assumed(line: Contribution) -> bool:
    return line.evidence_share < 0.5 and line.attribute not in REMAINDERS


def cautions_section(valuation: Valuation) -> Section:
    """Return the section of cautions: those of the valuation, then that of every page."""
    cautions = tuple(dict.fromkeys((*valuation.cautions, STANDING_CAUTION)))
    return Section("cautions", "Before you rely on it", (Bullets(cautions),))
