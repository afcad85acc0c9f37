"""A page as a form shows it: its sections, under names that no other part of the form has."""

from __future__ import annotations

from dataclasses import replace

from valuation.report.page import Page
from valuation.report.render import render_section

__all__ = ["page_html"]


def page_html(page: Page, part: str) -> str:
    """Return the sections of a page as markup for a notebook.

    Parameters
    ----------
    page : Page
        What to show.
    part : str
        Put before the name of every section: several pages are shown in one document, and a name
        stands in it once.
    """
    named = (replace(section, name=f"{part}-{section.name}") for section in page.sections)
    return "\n".join(render_section(section) for section in named)
