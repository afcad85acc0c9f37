"""Parts of the page for a notebook cell."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.report.checks_section import checks_section
from valuation.report.closest_section import closest_section
from valuation.report.page import Section
from valuation.report.range_section import range_section
from valuation.report.reasons_section import reasons_section
from valuation.report.render import render_section
from valuation.report.valuation_page import valuation_page
from valuation.results.valuation import Valuation

__all__ = [
    "Shown",
    "show",
    "show_checks",
    "show_closest_sales",
    "show_explanation",
    "show_range",
]


@dataclass(frozen=True)
class Shown:
    """Sections that a notebook displays as they stand on the page.

    Parameters
    ----------
    sections : tuple of Section
        What to show, in order.
    text : str
        Shown where HTML can't be.
    """

    sections: tuple[Section, ...]
    text: str

    def __repr__(self) -> str:
        return self.text

    def _repr_html_(self) -> str:
        return "\n".join(render_section(section) for section in self.sections)


def show(valuation: Valuation) -> Shown:
    """Show a whole valuation as its page does: range, checks, reasons, sales, cautions."""
    return Shown(valuation_page(valuation).sections, valuation.summary())


def show_range(valuation: Valuation) -> Shown:
    """Show the price range in words and as a chart."""
    return Shown((range_section(valuation),), valuation.summary())


def show_checks(valuation: Valuation) -> Shown:
    """Show what to check before bidding; nothing where all is settled."""
    sections = (checks_section(valuation),) if valuation.checks else ()
    return Shown(sections, valuation.summary())


def show_explanation(valuation: Valuation) -> Shown:
    """Show what raised and what lowered the price."""
    return Shown((reasons_section(valuation),), valuation.summary())


def show_closest_sales(valuation: Valuation) -> Shown:
    """Show the closest sales with their adjustment grid."""
    return Shown((closest_section(valuation),), valuation.summary())
