"""Values with their intervals, one below another, beside the band that is accepted."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator

from valuation.report.drawing import blank_axes, write_text
from valuation.report.palette import INK, MIDDLE, PAPER, QUIET
from valuation.report.words import shorten

__all__ = ["Dot", "Scale", "dots_figure", "ratio_scale", "share_scale"]

_TALL = 0.27
"""Height of a row, inches; on a phone the name has a line of its own."""

_MARKED = (
    0.2, 0.25, 0.33, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0, 4.0,
)  # fmt: skip
"""Ratios that get a tick."""

_REACH = 0.6
"""How far intervals may widen the axis to each side, as a share of what the dots take."""


@dataclass(frozen=True, slots=True)
class Dot:
    """One row of a chart.

    Parameters
    ----------
    name : str
        What it is about.
    value : float
        Where the dot is drawn.
    low, high : float or None
        Ends of its interval; None without one.
    said : str
        The value in figures.
    shape : {"inside", "doubtful", "beyond"}
        A filled circle, an open circle or an open diamond.
    others : tuple of (float, str)
        Further marks of the row: where, and a shape of matplotlib.
    """

    name: str
    value: float
    low: float | None
    high: float | None
    said: str
    shape: str = "inside"
    others: tuple[tuple[float, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Scale:
    """How values are laid out.

    Parameters
    ----------
    title : str
        What the axis shows.
    band : tuple of (float, float)
        What is accepted, hatched.
    lines : tuple of float
        Values that get a line.
    place : callable
        From a value to where it is drawn.
    ticks : tuple of float
        Values that may get a tick.
    said : callable
        From a value to the text of its tick.
    """

    title: str
    band: tuple[float, float]
    lines: tuple[float, ...]
    place: Callable[[float], float]
    ticks: tuple[float, ...]
    said: Callable[[float], str]


def ratio_scale(title: str, band: tuple[float, float]) -> Scale:
    """Return a scale of ratios: half and double lie equally far from one."""
    return Scale(title, band, (1.0,), math.log, _MARKED, lambda x: f"{x:.2f}")


def share_scale(title: str, band: tuple[float, float], lines: tuple[float, ...]) -> Scale:
    """Return a scale of shares in per cent."""
    ticks = tuple(float(x) for x in range(0, 101, 10))
    return Scale(title, band, lines, float, ticks, lambda x: f"{x:.0f}%")


def dots_figure(dots: Sequence[Dot], scale: Scale, *, narrow: bool = False) -> Figure:
    """Draw a dot with its interval for each row.

    Parameters
    ----------
    dots : sequence of Dot
        Rows from the top.
    scale : Scale
        How values are laid out.
    narrow : bool, default False
        True for a phone: the name of a row stands above it.

    Returns
    -------
    matplotlib.figure.Figure
        One axes; what is accepted is hatched, and every row has its value in figures.
    """
    tall = 1.75 * _TALL if narrow else _TALL
    figure, axes = blank_axes(3.7 if narrow else 7.4, tall * len(dots) + 0.75)
    axes.set_ylim(-len(dots) + 0.4, 0.75 if narrow else 0.6)
    _limits(axes, dots, scale, narrow=narrow)
    low, high = (scale.place(x) for x in scale.band)
    band: dict[str, Any] = {"facecolor": PAPER, "edgecolor": MIDDLE, "linewidth": 0.8}
    axes.axvspan(low, high, hatch="//", zorder=0, **band)
    for line in scale.lines:
        at = scale.place(line)
        style: dict[str, Any] = {"linewidth": 0.9, "linestyle": (0, (4, 3)), "zorder": 1}
        axes.plot([at, at], axes.get_ylim(), color=INK, **style)
    for row, dot in enumerate(dots):
        _row(axes, -row, dot, scale, narrow=narrow)
    return figure


def _limits(axes: Axes, dots: Sequence[Dot], scale: Scale, *, narrow: bool) -> None:
    marks = [x for d in dots for x in (d.value, *(o[0] for o in d.others))]
    places = [scale.place(x) for x in (*marks, *scale.band, *scale.lines)]
    ends = [scale.place(x) for d in dots for x in (d.low, d.high) if x is not None]
    # An interval that reaches far would press all others together: it is cut, with an arrow.
    reach = _REACH * (max(places) - min(places))
    low = max(min([*places, *ends]), min(places) - reach)
    high = min(max([*places, *ends]), max(places) + reach)
    room = 0.04 * (high - low) or 0.1
    axes.set_xlim(low - room, high + room)
    fitting = _fitting(axes, scale, narrow=narrow)
    axes.xaxis.set_major_locator(FixedLocator([scale.place(x) for x in fitting]))
    axes.xaxis.set_minor_locator(NullLocator())
    texts = {round(scale.place(x), 9): scale.said(x) for x in fitting}
    axes.xaxis.set_major_formatter(FuncFormatter(lambda at, _: texts.get(round(at, 9), "")))
    axes.set_xlabel(scale.title, color=QUIET, fontsize=9)


def _fitting(axes: Axes, scale: Scale, *, narrow: bool) -> list[float]:
    """Return the ticks that have room: those on lines first, then from left to right."""
    left, right = axes.get_xlim()
    gap = (right - left) * (0.14 if narrow else 0.07)
    inside = [x for x in scale.ticks if x > 0 or scale.place is float]
    inside = [x for x in inside if left <= scale.place(x) <= right]
    kept: list[float] = []
    for x in sorted(inside, key=lambda x: (x not in scale.lines, x not in scale.band, x)):
        if all(abs(scale.place(x) - scale.place(k)) >= gap for k in kept):
            kept.append(x)
    return sorted(kept)


_SHAPES: dict[str, dict[str, Any]] = {
    "inside": {"marker": "o", "color": INK, "markersize": 6.5},
    "doubtful": {"marker": "o", "color": PAPER, "markersize": 6.5},
    "beyond": {"marker": "D", "color": PAPER, "markersize": 7},
}


def _row(axes: Axes, y: float, dot: Dot, scale: Scale, *, narrow: bool) -> None:
    left, right = axes.get_xlim()
    at = scale.place(dot.value)
    if dot.low is not None and dot.high is not None:
        _interval(axes, y, scale.place(dot.low), scale.place(dot.high))
    for value, shape in dot.others:
        mark: dict[str, Any] = {"markerfacecolor": PAPER, "markeredgecolor": QUIET, "zorder": 3}
        axes.plot([scale.place(value)], [y], shape, markersize=5, **mark)
    style: dict[str, Any] = {"markeredgecolor": INK, "markeredgewidth": 1.6, "zorder": 4}
    axes.plot([at], [y], linestyle="none", **_SHAPES[dot.shape], **style)
    bold = "bold" if dot.shape == "beyond" else "normal"
    if narrow:
        ground = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.6}
        above: dict[str, Any] = {"fontsize": 9, "fontweight": bold, "bbox": ground, "zorder": 5}
        write_text(axes, left, y + 0.5, shorten(dot.name, 36), **above)
        write_text(axes, right, y + 0.5, dot.said, ha="right", **above)
        return
    write_text(axes, left, y, shorten(dot.name, 38), ha="right", shift=-8, fontweight=bold)
    write_text(axes, right, y, dot.said, shift=8, fontweight=bold)


def _interval(axes: Axes, y: float, low: float, high: float) -> None:
    """Draw an interval; an end beyond the axis is cut there and becomes an arrow."""
    left, right = axes.get_xlim()
    shown = (max(low, left), min(high, right))
    axes.plot(shown, [y, y], color=INK, linewidth=1.3, zorder=3, solid_capstyle="butt")
    for at, whole, arrow in ((shown[0], low >= left, "<"), (shown[1], high <= right, ">")):
        style: dict[str, Any] = {"color": INK, "markersize": 6, "zorder": 3, "clip_on": False}
        axes.plot([at], [y], "|" if whole else arrow, **style)
