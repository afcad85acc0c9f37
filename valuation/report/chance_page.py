"""The page of how chances of a sale did, and what a notebook shows of it."""

from __future__ import annotations

from valuation.report.chance_section import chance_sections
from valuation.report.notebook import Shown
from valuation.report.page import Bullets, Page, Section
from valuation.report.words import STANDING_CAUTION, day
from valuation.results.chance_check import ChanceCheck
from valuation.results.words import INTERNAL

__all__ = ["chance_page", "show_chances"]

_CAUTIONS = (
    "Chances that held promise nothing of the next months: buyers and the market change.",
    "Limits speak of chance alone. A group outside them may be one of the few in a hundred that "
    "have to be; several on one side are a reason to look at the assumptions.",
)


def chance_page(check: ChanceCheck) -> Page:
    """Return the page as data.

    Parameters
    ----------
    check : ChanceCheck
        What to show.

    Returns
    -------
    Page
        Says above everything that it is not for customers.
    """
    cautions = Section(
        "cautions", "Before you rely on it", (Bullets((*_CAUTIONS, STANDING_CAUTION)),)
    )
    return Page(
        "Chances of a sale",
        f"Foretold month by month, {day(check.first)} to {day(check.as_of)}",
        (*chance_sections(check), cautions),
        about="chances of a sale that came true or not",
        notice=INTERNAL,
    )


def show_chances(check: ChanceCheck) -> Shown:
    """Show in a notebook how chances of a sale did."""
    return Shown(chance_sections(check), check.summary())
