"""The page of what was said of cars against what they brought, and what a notebook shows of it."""

from __future__ import annotations

from valuation.report.notebook import Shown
from valuation.report.page import Bullets, Page, Section
from valuation.report.realised_section import realised_section, realised_table
from valuation.report.render import render_page
from valuation.report.words import STANDING_CAUTION, day
from valuation.results.realised import Realised
from valuation.results.words import INTERNAL

__all__ = ["realised_page", "render_realised", "show_realised"]

CAUTIONS = (
    "A few sales say little: read the interval before the figure.",
    "Cars that sold are not all cars: what stands unsold may be what was judged too high.",
)


def render_realised(study: Realised) -> str:
    """Return predicted against realised as one self-contained HTML document.

    Parameters
    ----------
    study : Realised
        What to show.

    Returns
    -------
    str
        The document; the same study gives the same text.
    """
    return render_page(realised_page(study))


def realised_page(study: Realised) -> Page:
    """Return the page as data: figures and chart, pair by pair, what it rests on.

    Parameters
    ----------
    study : Realised
        What to show.
    """
    sections = [realised_section(study)]
    if study.pairs:
        sections.append(realised_table(study))
    basis = (*study.notes, *CAUTIONS, STANDING_CAUTION)
    sections.append(Section("basis", "Before you rely on it", (Bullets(basis),)))
    return Page(
        "Predicted against realised",
        f"What was said of cars and what they brought, up to {day(study.as_of)}",
        tuple(sections),
        about="predicted against realised",
        notice=INTERNAL,
        landscape=True,
    )


def show_realised(study: Realised) -> Shown:
    """Show predicted against realised in a notebook: figures, chart, pair by pair."""
    sections = (realised_section(study), *([realised_table(study)] if study.pairs else []))
    return Shown(sections, study.summary())
