"""From a page held as data to one HTML file that needs nothing else."""

from __future__ import annotations

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from valuation.report import palette
from valuation.report.page import Block, Page, Section

__all__ = ["render_page", "render_section"]


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


def render_section(section: Section) -> str:
    """Return one section with the style it needs, for a notebook."""
    return _environment().get_template("fragment.html").render(section=section)


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
