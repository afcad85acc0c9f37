"""The page of a ratio study, and what a notebook shows of it."""

from __future__ import annotations

from valuation.report.coverage_section import coverage_sections
from valuation.report.notebook import Shown
from valuation.report.page import Bullets, Page, Section
from valuation.report.ratio_section import ratio_sections
from valuation.report.render import render_page
from valuation.report.words import STANDING_CAUTION, day, plural
from valuation.results.coverage import CoverageReport
from valuation.results.ratio_strata import RatioReport
from valuation.results.words import INTERNAL

__all__ = ["CAUTIONS", "ratios_page", "render_ratios", "show_coverage", "show_ratios"]

CAUTIONS = (
    "A ratio study says how estimates did on past sales; it promises nothing of the next ones.",
    "It says nothing of a single car: inspect it, and read its own range.",
)


def render_ratios(report: RatioReport, coverage: CoverageReport | None = None) -> str:
    """Return a ratio study as one self-contained HTML document.

    Parameters
    ----------
    report : RatioReport
        What to show.
    coverage : CoverageReport, optional
        How often the ranges held, shown behind it.

    Returns
    -------
    str
        The document; the same study gives the same text.
    """
    return render_page(ratios_page(report, coverage))


def ratios_page(report: RatioReport, coverage: CoverageReport | None = None) -> Page:
    """Return the page of a ratio study as data.

    Parameters
    ----------
    report : RatioReport
        What to show.
    coverage : CoverageReport, optional
        How often the ranges held, shown behind it.
    """
    subtitle = plural(report.overall.tested, "sale")
    if report.first is not None:
        subtitle += f" from {day(report.first)} to {day(report.last)}"
    held = coverage_sections(coverage) if coverage is not None else ()
    cautions = Section(
        "cautions", "Before you rely on it", (Bullets((*CAUTIONS, STANDING_CAUTION)),)
    )
    return Page(
        "Ratio study",
        subtitle,
        (*ratio_sections(report), *held, cautions),
        about="estimates against prices",
        notice=INTERNAL,
    )


def show_ratios(report: RatioReport, by: str = "") -> Shown:
    """Show a ratio study in a notebook.

    Parameters
    ----------
    report : RatioReport
        What to show.
    by : str
        Shows the strata of this kind, such as ``make``; the answer and all sales without it.
    """
    sections = ratio_sections(report)
    names = {f"ratio-{by.replace(' ', '-')}"} if by else {s.name for s in sections[:2]}
    return Shown(tuple(s for s in sections if s.name in names), report.summary())


def show_coverage(report: CoverageReport) -> Shown:
    """Show in a notebook how often ranges held."""
    return Shown(coverage_sections(report), report.summary())
