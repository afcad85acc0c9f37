"""Fitted effects beside the true ones of an invented market, as pictures."""

from __future__ import annotations

import math
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator

from valuation.report.dot_chart import Dot, Scale, dots_figure
from valuation.report.drawing import in_both_widths
from valuation.report.page import Chart
from valuation.report.palette import FAINT, INK, LOWERS, PAPER, QUIET
from valuation.report.words import plural
from valuation.results.true_effects import TrueEffect, TrueEffects, percent_of

__all__ = ["cloud_chart", "cloud_figure", "effects_chart", "effects_figure"]

_LONGEST = 38
"""Letters of a name that a row has room for."""

_STEPS = (-95, -90, -75, -50, -25, 0, 50, 100, 200, 400, 900)
_SPARSE = (-95, -90, -75, -50, 0, 100, 300, 900)
_FINE = (-20, -15, -10, -5, 0, 5, 10, 15, 20)
"""Changes in per cent that may get a tick: where much is drawn, where very much is, and where
small ones are."""

_WIDE, _NARROW = 1.9, 0.35
"""From which span on there are few ticks, and up to which there are many; log units."""

_SMALL = math.log(1.16)
"""Where the enlarged part ends, log units."""

_ROWS_CAPTION = (
    "Tall stroke: the true effect. Circle: as fitted, with its 90% interval; open diamond and "
    "bold: the truth lies outside the interval. {plain}A mark without a bar: the fit found nothing "
    "there that stands out from chance and claims no effect. Equal distances are equal ratios."
)
_PLAIN = "Square: what plain means say. "

_CLOUD_CAPTION = (
    "Each mark is one effect. On the dashed line it is fitted as it is in truth. Bars: 90% "
    "intervals, cut at the edge. Circle: the truth lies inside; open diamond: outside. The second "
    "chart enlarges the square in the first. Equal distances are equal ratios."
)


def effects_figure(effects: TrueEffects, *, narrow: bool = False) -> Figure:
    """Draw a row for each effect: fitted with its interval, the truth, plain means.

    Parameters
    ----------
    effects : TrueEffects
        At least one.
    narrow : bool, default False
        True for a phone.

    Returns
    -------
    matplotlib.figure.Figure
        One axes; every row has its true effect in figures.
    """
    figure = dots_figure([_dot(e) for e in effects.effects], _scale(effects), narrow=narrow)
    style: dict[str, Any] = {"color": LOWERS, "markersize": 17, "markeredgewidth": 2.2}
    for row, e in enumerate(effects.effects):
        figure.axes[0].plot([e.true], [-row], "|", zorder=6, **style)
    return figure


def effects_chart(effects: TrueEffects, *, name: str, title: str) -> Chart:
    """Return the chart of rows in both widths with its text alternative.

    Parameters
    ----------
    effects : TrueEffects
        At least one.
    name : str
        Of the chart, unique on its page.
    title : str
        What it shows.
    """
    wide, narrow = in_both_widths(
        lambda slim: effects_figure(effects, narrow=slim),
        name=name,
        title=title,
        description=" ".join(e.words() for e in effects.effects),
    )
    plain = _PLAIN if any(e.plain is not None for e in effects.effects) else ""
    return Chart(wide, narrow, _ROWS_CAPTION.format(plain=plain))


def _dot(e: TrueEffect) -> Dot:
    plain = () if e.plain is None else ((e.plain, "s"),)
    sales = f"; {plural(e.sales, 'sale')}" if e.kind == "version" else ""
    return Dot(
        _short(e),
        e.fitted,
        e.low if e.sure else None,
        e.high if e.sure else None,
        f"true {percent_of(e.true)}{sales}",
        "inside" if e.inside else "beyond",
        (*plain, (e.true, "|")),
    )


def _short(e: TrueEffect) -> str:
    """Return a name that fits into a row; the text alternative has the whole."""
    first = e.contrast.partition(" against ")[0]
    if e.kind != "stated":
        return f"{e.label} {first}"
    return e.name if len(e.name) <= _LONGEST else e.contrast


def _scale(effects: TrueEffects) -> Scale:
    marks = [x for e in effects.effects for x in (e.true, e.fitted, e.plain) if x is not None]
    span = max(*marks, 0.0) - min(*marks, 0.0)
    steps = _SPARSE if span > _WIDE else _FINE if span < _NARROW else _STEPS
    places = tuple(math.log1p(step / 100) for step in steps)
    return Scale("Change of the price", (0.0, 0.0), (0.0,), float, places, percent_of)


def cloud_figure(effects: TrueEffects, *, narrow: bool = False) -> Figure:
    """Draw every effect as a mark: the truth to the right, as fitted upwards.

    Parameters
    ----------
    effects : TrueEffects
        At least one.
    narrow : bool, default False
        True for a phone: one chart below the other.

    Returns
    -------
    matplotlib.figure.Figure
        Two axes: all effects, and those near nought enlarged.
    """
    size = (3.7, 7.2) if narrow else (7.4, 3.9)
    figure = Figure(figsize=size, layout="constrained")
    grid = (2, 1) if narrow else (1, 2)
    whole, near = (figure.add_subplot(*grid, i) for i in (1, 2))
    ends = [x for e in effects.effects for x in (e.true, e.fitted)]
    room = 0.05 * (max(ends) - min(ends)) + 0.02
    _frame(whole, min(*ends, -_SMALL) - room, max(*ends, _SMALL) + room, _STEPS, "All")
    _frame(near, -_SMALL, _SMALL, _FINE, "The small ones, enlarged")
    _box(whole)
    for axes in (whole, near):
        _marks(axes, effects)
    return figure


def _frame(axes: Axes, low: float, high: float, steps: tuple[int, ...], name: str) -> None:
    axes.set_xlim(low, high)
    axes.set_ylim(low, high)
    places = {math.log1p(s / 100): s for s in steps if low <= math.log1p(s / 100) <= high}
    said = {round(at, 9): f"{s:+d}%" if s else "0%" for at, s in places.items()}
    for axis in (axes.xaxis, axes.yaxis):
        axis.set_major_locator(FixedLocator(list(places)))
        axis.set_minor_locator(NullLocator())
        axis.set_major_formatter(FuncFormatter(lambda at, _: said.get(round(at, 9), "")))
    axes.tick_params(axis="both", colors=INK, labelsize=8, length=2.5)
    for side, spine in axes.spines.items():
        spine.set_visible(side in ("left", "bottom"))
        spine.set_color(QUIET)
    axes.set_axisbelow(True)
    axes.grid(color=FAINT, linewidth=0.5)
    axes.set_xlabel("True effect", color=QUIET, fontsize=9)
    axes.set_ylabel("Fitted effect", color=QUIET, fontsize=9)
    axes.set_title(name, loc="left", fontsize=9.5, color=INK, fontweight="bold")
    axes.plot([low, high], [low, high], color=INK, linewidth=0.9, linestyle=(0, (4, 3)), zorder=2)


def _box(axes: Axes) -> None:
    """Show which part the second chart enlarges."""
    side = 2 * _SMALL
    corner = (-_SMALL, -_SMALL)
    axes.add_patch(Rectangle(corner, side, side, fill=False, edgecolor=INK, linewidth=1, zorder=5))


def _marks(axes: Axes, effects: TrueEffects) -> None:
    low, high = axes.get_ylim()
    for e in effects.effects:
        if not (low <= e.true <= high and low <= e.fitted <= high):
            continue
        style: dict[str, Any] = {"markeredgecolor": INK, "linestyle": "none", "zorder": 4}
        ends = [max(e.low, low), min(e.high, high)]
        axes.plot([e.true] * 2, ends, color=QUIET, linewidth=0.6, zorder=3)
        if e.inside:
            axes.plot([e.true], [e.fitted], "o", color=INK, markersize=3.4, **style)
        else:
            axes.plot([e.true], [e.fitted], "D", color=PAPER, markersize=4.6, **style)


def cloud_chart(effects: TrueEffects) -> Chart:
    """Return the chart of all effects in both widths with its text alternative."""
    wide, narrow = in_both_widths(
        lambda slim: cloud_figure(effects, narrow=slim),
        name="true-effects",
        title="Fitted against true effects",
        description=" ".join([effects.summary(), *(e.words() for e in effects.effects)]),
    )
    return Chart(wide, narrow, _CLOUD_CAPTION)
