"""The customer's sheet as a page."""

from __future__ import annotations

from valuation.report.page import Page
from valuation.report.render import render_page
from valuation.report.sheet_car_section import about_section, car_section, papers_section
from valuation.report.sheet_closest_section import sheet_closest_section
from valuation.report.sheet_course_section import course_section
from valuation.report.sheet_reasons_section import sheet_reasons_section
from valuation.report.sheet_worth_section import worth_section
from valuation.report.words import day
from valuation.results.customer_sheet import CustomerSheet

__all__ = ["render_sheet", "sheet_page"]


def sheet_page(sheet: CustomerSheet) -> Page:
    """Return the customer's sheet as data.

    Parameters
    ----------
    sheet : CustomerSheet
        What to show.

    Returns
    -------
    Page
        The car, its worth, the reasons, the closest sales, the market, the papers, and what to
        know before relying on it, in this order.
    """
    when = day(sheet.as_of) if sheet.as_of else "from an undated list"
    return Page(
        sheet.heading,
        f"What it is worth and why, {when}",
        (
            car_section(sheet),
            worth_section(sheet),
            sheet_reasons_section(sheet),
            sheet_closest_section(sheet),
            course_section(sheet),
            papers_section(sheet),
            about_section(sheet),
        ),
        about="what it is worth and why",
        notice="For the customer",
    )


def render_sheet(sheet: CustomerSheet) -> str:
    """Return the customer's sheet as one self-contained HTML document.

    Parameters
    ----------
    sheet : CustomerSheet
        What to show.

    Returns
    -------
    str
        The document; the same sheet gives the same text.
    """
    return render_page(sheet_page(sheet))
