"""From a page held as data to one HTML file that needs nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from valuation.report import palette
from valuation.report.page import Block, Page, Section

__all__ = ["render_page", "render_section", "render_sheets", "render_text"]


def render_page(page: Page) -> str:
    """Return a page as a complete HTML document.

    Parameters
    ----------
    page : Page
        What to show.  Every text is escaped; only charts are taken as markup.

    Returns
    -------
    str
        One file without scripts, fonts, pictures or addresses from elsewhere.
    """
    return _environment().get_template("page.html").render(page=page)


def render_sheets(pages: Sequence[Page], *, title: str, notice: str) -> str:
    """Return several pages as one HTML document, each on a sheet of paper of its own.

    Parameters
    ----------
    pages : sequence of Page
        What to show; names of their sections have to differ between pages.
    title : str
        Name of the window.
    notice : str
        For whom they are.

    Returns
    -------
    str
        One file without scripts, fonts, pictures or addresses from elsewhere.
    """
    template = _environment().get_template("sheets.html")
    return template.render(pages=pages, title=title, notice=notice)


def render_section(section: Section) -> str:
    """Return one section with the style it needs, for a notebook."""
    return _environment().get_template("fragment.html").render(section=section)


def render_text(text: str) -> str:
    """Return plain text for a notebook: its lines as they are, broken between words only."""
    lines = [(len(line) - len(line.lstrip(" ")), line.strip()) for line in text.splitlines()]
    return _environment().get_template("text.html").render(lines=lines)


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("valuation.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.globals["colour"] = {k.lower(): getattr(palette, k) for k in _COLOURS}
    environment.filters["drawing"] = Markup
    environment.tests["kind"] = _is_kind
    return environment


_COLOURS = ("INK", "QUIET", "FAINT", "PAPER", "TINT", "LOWERS", "RAISES")


def _is_kind(block: Block, kind: str) -> bool:
    return block.kind == kind
