"""The report: tables, charts and pages of results; it never touches a model."""

from valuation.report.bid_page import render_bid
from valuation.report.notebook import (
    show,
    show_bid,
    show_closest_sales,
    show_explanation,
    show_range,
    show_run_list,
    show_text,
)
from valuation.report.run_list_page import render_lot_sheets, render_run_list
from valuation.report.valuation_page import render_valuation
from valuation.report.write import write_page

__all__ = [
    "render_bid",
    "render_lot_sheets",
    "render_run_list",
    "render_valuation",
    "show",
    "show_bid",
    "show_closest_sales",
    "show_explanation",
    "show_range",
    "show_run_list",
    "show_text",
    "write_page",
]
