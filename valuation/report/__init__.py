"""The report: tables, charts and pages of a valuation; it never touches a model."""

from valuation.report.notebook import show, show_closest_sales, show_explanation, show_range
from valuation.report.valuation_page import render_valuation
from valuation.report.write import write_page

__all__ = [
    "render_valuation",
    "show",
    "show_closest_sales",
    "show_explanation",
    "show_range",
    "write_page",
]
