"""Chances of a sale as a picture: what was foretold against what came."""

from __future__ import annotations

from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MaxNLocator

from valuation.report.dot_chart import Dot, Scale, dots_figure
from valuation.report.drawing import blank_axes, in_both_widths, write_text
from valuation.report.page import Chart
from valuation.report.palette import FAINT, INK, PAPER, QUIET
from valuation.results.chance_check import ChanceCheck, ChanceRow

__all__ = ["calibration_chart", "calibration_figure", "groups_chart", "judged_rows"]

_CAPTION = (
    "Each mark is a group of times on offer with about as many sales to expect; its number of "
    "sales stands beside it. To the right: a higher chance was foretold; upwards: more was sold. "
    "Dashed: as foretold. Bar: where chance alone puts the mark in 95 of 100 cases. Circle: inside "
    "it; open diamond: outside."
)

_GROUPS_CAPTION = (
    "Sales that came for every 100 foretold. Bar: where chance alone puts them in 95 of 100 cases; "
    "hatched: the same for all groups together. Circle: inside the bar; open circle: outside it, "
    "within what was not known of the effects; open diamond and bold: outside that too."
)

_DRAWN = ("kind", "price", "wait", "ahead")
"""Kinds of groups that are drawn one below another."""

_SHAPES = {"as foretold": "inside"}


def judged_rows(check: ChanceCheck, by: str) -> tuple[ChanceRow, ...]:
    """Return the groups of a kind that have enough sales to say something."""
    found = check.groups(by)
    rows = found.rows if found else ()
    return tuple(r for r in rows if r.verdict != "too few to tell")


def calibration_figure(check: ChanceCheck, *, narrow: bool = False) -> Figure:
    """Draw the chance foretold against the share that was sold, group by group.

    Parameters
    ----------
    check : ChanceCheck
        With at least two groups of chances.
    narrow : bool, default False
        True for a phone.

    Returns
    -------
    matplotlib.figure.Figure
        One axes; marks differ in shape and filling.
    """
    rows = judged_rows(check, "chance")
    figure, axes = blank_axes(3.7 if narrow else 7.4, 3.7)
    most = 100 * max(x for r in rows for x in (r.told, r.came, r.limits[1]))
    right = 100 * max(r.told for r in rows)
    axes.set_xlim(0, 1.12 * right)
    axes.set_ylim(0, 1.06 * most)
    for axis, ticks in ((axes.xaxis, 5 if narrow else 8), (axes.yaxis, 6)):
        axis.set_major_locator(MaxNLocator(nbins=ticks))
        axis.set_major_formatter(FuncFormatter(lambda x, _: f"{x:g}%"))
    axes.tick_params(axis="y", colors=INK, labelsize=9, length=0)
    axes.grid(color=FAINT, linewidth=0.6)
    label: dict[str, Any] = {"color": QUIET, "fontsize": 9}
    axes.set_xlabel("Chance of a sale within a month, foretold", **label)
    axes.set_ylabel("Sold within a month", **label)
    end = min(1.12 * right, 1.06 * most)
    axes.plot([0, end], [0, end], color=INK, linewidth=1.0, linestyle=(0, (4, 3)), zorder=1)
    for row in rows:
        _mark(axes, row)
    return figure


def _mark(axes: Axes, row: ChanceRow) -> None:
    x, y = 100 * row.told, 100 * row.came
    low, high = (100 * end for end in row.limits)
    axes.plot([x, x], [low, high], color=QUIET, linewidth=1.3, zorder=2)
    axes.plot([x, x], [low, high], "_", color=QUIET, markersize=8, zorder=2)
    shape: dict[str, Any] = (
        {"marker": "o", "color": INK, "markersize": 6.5}
        if row.inside
        else {"marker": "D", "color": PAPER, "markersize": 7}
    )
    edge: dict[str, Any] = {"markeredgecolor": INK, "markeredgewidth": 1.6, "zorder": 4}
    axes.plot([x], [y], linestyle="none", **shape, **edge)
    ground = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.4}
    write_text(axes, x, y, f"{row.sold:,}", shift=8, fontsize=9, bbox=ground, zorder=3)


def calibration_chart(check: ChanceCheck) -> Chart | None:
    """Return the chart of chances in both widths; None with fewer than two groups to judge.

    Parameters
    ----------
    check : ChanceCheck
        What to show.
    """
    rows = judged_rows(check, "chance")
    if len(rows) < 2:
        return None
    wide, narrow = in_both_widths(
        lambda slim: calibration_figure(check, narrow=slim),
        name="chances",
        title="Chance of a sale within a month: foretold, and what came",
        description=" ".join(_said(row) for row in rows),
    )
    return Chart(wide, narrow, _CAPTION)


def groups_chart(check: ChanceCheck) -> Chart | None:
    """Return sales for every 100 foretold by kind of car, price, wait and months ahead.

    Parameters
    ----------
    check : ChanceCheck
        What to show.

    Returns
    -------
    Chart or None
        None with fewer than two groups to judge.
    """
    rows = [row for by in _DRAWN for row in judged_rows(check, by)]
    whole = check.overall
    if len(rows) < 2 or whole is None:
        return None
    band = (100 * whole.lower / whole.expected, 100 * whole.upper / whole.expected)
    ticks = tuple(float(x) for x in range(0, 401, 25))
    title = "Sales that came, for every 100 foretold"
    scale = Scale(title, band, (100.0,), float, ticks, lambda x: f"{x:.0f}")
    dots = [_dot(row) for row in rows]
    wide, narrow = in_both_widths(
        lambda slim: dots_figure(dots, scale, narrow=slim),
        name="chances-groups",
        title="Sales that came for every 100 foretold, group by group",
        description=" ".join(_said(row) for row in rows),
    )
    return Chart(wide, narrow, _GROUPS_CAPTION)


def _dot(row: ChanceRow) -> Dot:
    came, low, high = (100 * n / row.expected for n in (row.sold, row.lower, row.upper))
    off = "beyond" if row.verdict.endswith(" than foretold") else "doubtful"
    return Dot(row.name, came, low, high, f"{row.sold:,}", _SHAPES.get(row.verdict, off))


def _said(row: ChanceRow) -> str:
    return (
        f"{row.name}: {100 * row.told:.0f}% a month foretold, {100 * row.came:.0f}% came; "
        f"{row.sold:,} sold, {row.lower:,} to {row.upper:,} by chance."
    )
