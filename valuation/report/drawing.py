"""From a figure to a piece of SVG that can stand inside a page, the same bytes every time."""

from __future__ import annotations

import hashlib
import html
import io
import re
import warnings
from collections.abc import Callable
from typing import Any

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon
from matplotlib.ticker import FuncFormatter, MaxNLocator

from valuation.report.palette import FAINT, INK, LOWERS, PAPER, QUIET, RAISES

__all__ = ["arrow", "blank_axes", "in_both_widths", "money_axis", "to_svg", "write_text"]

_SETTINGS: dict[Any, Any] = {
    "svg.hashsalt": "valuation",
    "svg.fonttype": "none",
    "font.family": "sans-serif",
    "hatch.linewidth": 1.1,
    "axes.unicode_minus": False,
}
_METADATA = {"Date": None, "Creator": None, "Format": None, "Type": None}


def blank_axes(width: float, height: float) -> tuple[Figure, Axes]:
    """Return a figure of `width` by `height` inches with one axes and no frame.

    The figure belongs to no window and no global state, so it needs no closing.
    """
    figure = Figure(figsize=(width, height), layout="constrained")
    axes = figure.add_subplot()
    for side in ("top", "left", "right"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set_color(QUIET)
    axes.tick_params(axis="x", colors=INK, labelsize=9)
    axes.set_axisbelow(True)
    axes.set_yticks([])
    return figure, axes


def money_axis(axes: Axes, currency: str, ticks: int) -> None:
    """Give the x axis at most `ticks` amounts with separators and a light grid."""
    axes.xaxis.set_major_locator(MaxNLocator(nbins=ticks, steps=[1, 2, 2.5, 5, 10]))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda amount, _: f"{amount:,.0f}"))
    axes.set_xlabel(currency, color=QUIET, fontsize=9)
    axes.grid(axis="x", color=FAINT, linewidth=0.6)


def write_text(
    axes: Axes, x: float, y: float, text: str, *, shift: float = 0, **options: Any
) -> None:
    """Write words into a chart as they are: a dollar sign starts no formula.

    `shift` moves them to the right by so many points; options are those of a matplotlib text.
    """
    style: dict[str, Any] = {"color": INK, "fontsize": 9.5, "va": "center"} | options
    axes.annotate(
        text,
        (x, y),
        (shift, 0),
        textcoords="offset points",
        parse_math=False,
        annotation_clip=False,
        **style,
    )


def arrow(axes: Axes, before: float, after: float, y: float, *, half: float = 0.28) -> Polygon:
    """Return a bar from one amount to another that points its way.

    What rises is plain and points right, what falls is hatched and points left.  The limits of the
    x axis have to be set before.

    Parameters
    ----------
    axes : matplotlib.axes.Axes
        Where it will be drawn.
    before, after : float
        Where it starts and where its point is.
    y, half : float
        Its middle, and half its thickness.
    """
    low, high = axes.get_xlim()
    head = min(abs(after - before), 0.014 * (high - low))
    rises = after > before
    neck = after - head if rises else after + head
    above, below = y + half, y - half
    points = [(before, below), (neck, below), (after, y), (neck, above), (before, above)]
    if rises:
        return Polygon(points, facecolor=RAISES, edgecolor=RAISES, linewidth=0.8, zorder=3)
    return Polygon(points, facecolor=PAPER, edgecolor=LOWERS, hatch="////", linewidth=1.2, zorder=3)


def in_both_widths(
    figure_of: Callable[[bool], Figure], *, name: str, title: str, description: str
) -> tuple[str, str]:
    """Draw a chart for a page and for a phone.

    Parameters
    ----------
    figure_of : callable
        Returns the figure; its argument tells whether the narrow one is wanted.
    name : str
        Name of the chart, unique on its page.
    title, description : str
        Text alternative, the same for both.

    Returns
    -------
    str, str
        The wide and the narrow chart as SVG elements.
    """
    wide, narrow = (
        to_svg(
            figure_of(slim),
            name=f"{name}-{'narrow' if slim else 'wide'}",
            title=title,
            description=description,
        )
        for slim in (False, True)
    )
    return wide, narrow


def to_svg(figure: Figure, *, name: str, title: str, description: str) -> str:
    """Return a figure as an ``<svg>`` element with a text alternative.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
        What to draw.
    name : str
        Class of the element; with a mark of what is drawn the prefix of every id in it, so that
        several fit on one page and into one notebook.
    title, description : str
        Read out in place of the drawing; signs of numbers become words there.

    Returns
    -------
    str
        The element: no date, no fixed size, no address of anything outside.
    """
    buffer = io.StringIO()
    with mpl.rc_context(_SETTINGS), warnings.catch_warnings():
        # The reader's own fonts are used, so a glyph that ours lacks is no loss.
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        figure.savefig(buffer, format="svg", metadata=_METADATA, transparent=True)
    return _as_element(buffer.getvalue(), name, title, _aloud(description))


def _aloud(text: str) -> str:
    """Write the signs of numbers as words, for many a voice skips a dash."""
    for sign, word in (("-", "minus"), (r"\+", "plus")):
        text = re.sub(rf"(?<![\w.)]){sign}(?=\d)", f"{word} ", text)
    return text


def _as_element(svg: str, name: str, title: str, description: str) -> str:
    body = svg[svg.index("<svg") :]
    body = re.sub(r"<metadata>.*?</metadata>|<!--.*?-->", "", body, flags=re.DOTALL)
    # A notebook shows several charts of one name, and each has to find its own parts.
    drawn = hashlib.sha256(f"{title}{description}{body}".encode())
    ids = f"{name}-{drawn.hexdigest()[:8]}"
    body = re.sub(r"url\(#", f"url(#{ids}-", body)
    body = re.sub(r'xlink:href="#', f'href="#{ids}-', body)
    body = re.sub(r'\bid="', f'id="{ids}-', body)
    viewbox = re.search(r'viewBox="[^"]*"', body)
    head = (
        f'<svg {viewbox.group() if viewbox else ""} role="img" class="{name}"'
        f' aria-labelledby="{ids}-title {ids}-desc">\n'
        f'<title id="{ids}-title">{html.escape(title)}</title>\n'
        f'<desc id="{ids}-desc">{html.escape(description)}</desc>'
    )
    return head + body[body.index(">") + 1 :].rstrip()
