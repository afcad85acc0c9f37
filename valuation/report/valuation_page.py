"""The page of one valuation."""

from __future__ import annotations

from valuation.report.checks_section import checks_section
from valuation.report.closest_section import closest_section
from valuation.report.page import Page
from valuation.report.range_section import range_section
from valuation.report.reasons_section import reasons_section
from valuation.report.render import render_page
from valuation.report.trust_section import cautions_section, evidence_section
from valuation.report.words import subject_words
from valuation.results.valuation import Valuation

__all__ = ["render_valuation", "valuation_page"]


def valuation_page(valuation: Valuation) -> Page:
    """Return the page of a valuation as data.

    Parameters
    ----------
    valuation : Valuation
        What to show.

    Returns
    -------
    Page
        Range, what to check if anything is, reasons, closest sales, evidence and cautions, in
        this order.
    """
    sections = (
        range_section(valuation),
        *((checks_section(valuation),) if valuation.checks else ()),
        reasons_section(valuation),
        closest_section(valuation),
        evidence_section(valuation),
        cautions_section(valuation),
    )
    return Page(valuation.car, subject_words(valuation), sections)


def render_valuation(valuation: Valuation) -> str:
    """Return the page of a valuation as one self-contained HTML document.

    Parameters
    ----------
    valuation : Valuation
        What to show.

    Returns
    -------
    str
        The document; the same valuation gives the same text.
    """
    return render_page(valuation_page(valuation))
