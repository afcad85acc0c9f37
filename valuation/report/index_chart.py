"""The market index as a picture: a small chart for each segment, all on one scale."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator, NullLocator

from valuation.report.drawing import in_both_widths, write_text
from valuation.report.page import Chart
from valuation.report.palette import BAND_80, BAND_95, FAINT, INK, PAPER, QUIET
from valuation.report.words import day, month, shorten
from valuation.results.index import IndexMonth, MarketIndex, SegmentIndex

__all__ = ["DRAWN", "index_chart", "index_figure"]

DRAWN = 12
"""Segments that are drawn; the others stand in the table."""

_CAPTION = (
    "Line: level of the segment, {base} = 100 (dotted line). Inner band, hatched to the right: 80% "
    "band against the base; outer band, plain: 95%. Open circle: a month with fewer than five "
    "sales. Dashed, with the band hatched crosswise: past the last sale, the level is held.{was} "
    "All segments have one scale, on which equal steps are equal per cents; it does not start at 0."
)
_WAS = " Crosses: what the model of {day} said of the same months."


def index_figure(index: MarketIndex, *, narrow: bool = False) -> Figure:
    """Draw the level of each segment with its bands, month by month.

    Parameters
    ----------
    index : MarketIndex
        With at least one segment.
    narrow : bool, default False
        True for a phone: one chart below the other.

    Returns
    -------
    matplotlib.figure.Figure
        One axes a segment; what is known and what is held differ in line and hatching.
    """
    segments = index.segments[:DRAWN]
    columns = 1 if narrow or len(segments) == 1 else 2 if len(segments) < 5 else 3
    rows = math.ceil(len(segments) / columns)
    size = (3.7 if narrow else 7.4, (1.9 if columns == 2 else 1.65) * rows + 0.1)
    figure = Figure(figsize=size, layout="constrained")
    low, high = _limits(segments)
    for place, segment in enumerate(segments):
        axes = figure.add_subplot(rows, columns, place + 1)
        _frame(axes, segment, low, high, most=5 if columns == 2 else 4)
        _draw(axes, segment.months)
        _name(axes, segment)
    return figure


def index_chart(index: MarketIndex) -> Chart:
    """Return the chart in both widths with its text alternative."""
    wide, narrow = in_both_widths(
        lambda slim: index_figure(index, narrow=slim),
        name="index",
        title=f"Market index by segment, {month(index.base)} = 100",
        description=_describe(index),
    )
    was = "" if index.against is None else _WAS.format(day=day(index.against))
    return Chart(wide, narrow, _CAPTION.format(base=month(index.base), was=was))


def _limits(segments: Sequence[SegmentIndex]) -> tuple[float, float]:
    """Return the ends of the scale: all levels and 80 % bands, the 95 % bands as far as they go."""
    months = [m for s in segments for m in s.months]
    low = min(min(m.lower80 for m in months), 98.0)
    high = max(max(m.upper80 for m in months), 102.0)
    return low / 1.04, high * 1.04


def _frame(axes: Axes, segment: SegmentIndex, low: float, high: float, *, most: int) -> None:
    axes.set_yscale("log")
    axes.set_ylim(low, high)
    axes.yaxis.set_major_locator(MaxNLocator(nbins=4, steps=[1, 2, 2.5, 5, 10]))
    axes.yaxis.set_major_formatter(lambda level, _: f"{level:.0f}")
    axes.yaxis.set_minor_locator(NullLocator())
    axes.tick_params(axis="both", colors=INK, labelsize=9, length=2.5)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(QUIET)
    axes.set_axisbelow(True)
    axes.grid(axis="y", color=FAINT, linewidth=0.5)
    names = [m.month for m in segment.months]
    axes.set_xlim(-0.6, len(names) - 0.4)
    marks = _year_marks(names, most)
    axes.set_xticks(
        marks, [month(names[i]) if "-01" not in names[i] else names[i][:4] for i in marks]
    )


def _year_marks(names: Sequence[str], most: int) -> list[int]:
    """Return the places of some Januaries, or of the first month where there is none."""
    found = [i for i, name in enumerate(names) if name.endswith("-01")]
    if not found:
        return [0]
    return found[:: math.ceil(len(found) / most)]


def _draw(axes: Axes, months: Sequence[IndexMonth]) -> None:
    known = sum(not m.held for m in months)
    _band(axes, months[:known], 0, hatch="///")
    if known < len(months):
        # The held part starts where the known part ends, so that the two meet.
        first = max(known - 1, 0)
        _band(axes, months[first:], first, hatch="xxx")
        held = [m.level for m in months[first:]]
        axes.plot(range(first, len(months)), held, color=INK, linewidth=1.4, linestyle=(0, (3, 2)))
    axes.plot(range(known), [m.level for m in months[:known]], color=INK, linewidth=1.6, zorder=4)
    axes.axhline(100.0, color=QUIET, linewidth=0.8, linestyle=":", zorder=3)
    thin = [i for i in range(known) if months[i].thin]
    style: dict[str, Any] = {"linestyle": "none", "zorder": 5}
    axes.plot(
        thin, [months[i].level for i in thin], "o", color=PAPER, markeredgecolor=INK,
        markeredgewidth=0.6, markersize=2.6, **style,
    )  # fmt: skip
    was = [(i, m.level - m.revised_by) for i, m in enumerate(months) if m.revised_by is not None]
    if was:
        places, levels = zip(*was, strict=True)
        axes.plot(places, levels, "x", color=QUIET, markersize=3.2, markeredgewidth=0.8, **style)


def _band(axes: Axes, months: Sequence[IndexMonth], first: int, *, hatch: str) -> None:
    places = range(first, first + len(months))
    outer = [m.lower95 for m in months], [m.upper95 for m in months]
    inner = [m.lower80 for m in months], [m.upper80 for m in months]
    axes.fill_between(places, *outer, facecolor=BAND_95, edgecolor=QUIET, linewidth=0.4, zorder=1)
    axes.fill_between(
        places, *inner, facecolor=BAND_80, edgecolor=PAPER, hatch=hatch, linewidth=0.0, zorder=2
    )


def _name(axes: Axes, segment: SegmentIndex) -> None:
    axes.set_title(
        shorten(segment.name, 34), loc="left", fontsize=9.5, color=INK, fontweight="bold",
        parse_math=False,
    )  # fmt: skip
    last = segment.latest
    at = next(i for i, m in enumerate(segment.months) if m.month == last.month)
    style: dict[str, Any] = {"fontsize": 9, "fontweight": "bold", "ha": "right", "va": "bottom"}
    ground = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.6, "alpha": 0.85}
    write_text(axes, at, last.level * 1.015, f"{last.level:.0f}", zorder=6, bbox=ground, **style)


def _describe(index: MarketIndex) -> str:
    said = [f"Level of each segment month by month, {month(index.base)} is 100."]
    for s in index.segments[:DRAWN]:
        m = s.latest
        year = "" if s.year is None else f", {s.year.change:+.1%} in a year"
        top, bottom = max(s.months, key=lambda x: x.level), min(s.months, key=lambda x: x.level)
        said.append(
            f"{s.name}: {m.level:.1f} in {month(m.month)}, 80% band {m.lower80:.1f} to "
            f"{m.upper80:.1f}{year}; highest {top.level:.1f} in {month(top.month)}, lowest "
            f"{bottom.level:.1f} in {month(bottom.month)}."
        )
    return " ".join(said)
