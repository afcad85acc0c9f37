"""The page of two cars side by side."""

from __future__ import annotations

from valuation.report.beside_section import beside_sections
from valuation.report.page import Page
from valuation.report.render import render_page
from valuation.report.words import capital, day
from valuation.results.beside import Beside

__all__ = ["beside_page", "render_beside"]


def beside_page(found: Beside) -> Page:
    """Return the page of a comparison as data.

    Parameters
    ----------
    found : Beside
        What to show.

    Returns
    -------
    Page
        The answer, the prices, the difference line by line, what the other advert leaves out,
        what stands behind it and cautions, in this order.
    """
    when = f"valued for {day(found.as_of)}" if found.as_of else "from an undated list"
    return Page(
        f"{found.ours.heading}, beside {found.theirs.heading}",
        f"{capital(found.meaning)}, {when}",
        beside_sections(found),
        about="why one is dearer",
    )


def render_beside(found: Beside) -> str:
    """Return the page of a comparison as one self-contained HTML document.

    Parameters
    ----------
    found : Beside
        What to show.

    Returns
    -------
    str
        The document; the same comparison gives the same text.
    """
    return render_page(beside_page(found))
