"""Sales to look at as a picture: how far each price is off, and what hangs on it."""

from __future__ import annotations

import math
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, NullLocator

from valuation.report.drawing import blank_axes, in_both_widths, write_text
from valuation.report.page import Chart
from valuation.report.palette import FAINT, INK, PAPER, QUIET
from valuation.results.look import LOOK_KINDS, LookList, SaleToLookAt

__all__ = ["can_be_drawn", "look_chart", "look_figure"]

_SHAPES = {
    "price off by a factor": ("s", True),
    "contradictory": ("^", True),
    "odd": ("o", False),
    "influential": ("D", False),
}
"""Shape and filling of the clearest kind of a sale; kinds of whole sources have none of theirs."""

_OTHER = ("o", False)

_TIMES = (0.001, 0.01, 0.1, 0.25, 0.5, 1.0, 2.0, 4.0, 10.0, 100.0, 1000.0)
_BETWEEN = (0.25, 0.5, 2.0, 4.0)
"""Ticks that a phone has no room for."""

_CHANGES = (0.1, 0.3, 1.0, 3.0, 10.0, 30.0, 100.0)
_LEAST_CHANGE = 0.05
_NAMED = 25

_CAPTION = (
    "Each mark is a sale of the table, with its number there: to the right prices above what the "
    "other sales say, to the left below; upwards what changes most if it is left out, per cent. "
    "Filled square: a price off by a factor. Filled triangle: contradictory. Open circle: odd. "
    "Open diamond: influential alone. Numbers stand where there is room."
)


def can_be_drawn(looked: LookList) -> bool:
    """Tell whether there are sales enough for a picture."""
    return len(looked.sales) >= 3


def look_figure(looked: LookList, *, narrow: bool = False) -> Figure:
    """Draw a mark for each sale: price beside the others' estimate against its largest change.

    Parameters
    ----------
    looked : LookList
        Of which :func:`can_be_drawn` is true.
    narrow : bool, default False
        True for a phone.

    Returns
    -------
    matplotlib.figure.Figure
        One axes, both scales logarithmic.
    """
    figure, axes = blank_axes(3.7 if narrow else 7.4, 3.6)
    places = [(_times(sale), _largest(sale)) for sale in looked.sales]
    _scales(axes, places, narrow=narrow)
    for sale, (x, y) in zip(looked.sales, places, strict=True):
        axes.plot([x], [y], **_style(sale))
    _numbers(axes, places, narrow=narrow)
    return figure


def look_chart(looked: LookList) -> Chart:
    """Return the chart in both widths with its text alternative."""
    wide, narrow = in_both_widths(
        lambda slim: look_figure(looked, narrow=slim),
        name="look",
        title="How far each price is off, and what changes most without the sale",
        description=_describe(looked),
    )
    return Chart(wide, narrow, _CAPTION)


def _times(sale: SaleToLookAt) -> float:
    return sale.price / sale.estimate


def _off(sale: SaleToLookAt) -> str:
    """Say how far a price is off with the figure that the table has."""
    if sale.price > 3 * sale.estimate:
        return f"{_times(sale):.3g} times"
    return f"{abs(sale.off):.0f}% {'below' if sale.off < 0 else 'above'}"


def _largest(sale: SaleToLookAt) -> float:
    changes = [abs(c.per_cent) for c in (sale.own, sale.typical, sale.line) if c is not None]
    return max(*changes, _LEAST_CHANGE)


def _style(sale: SaleToLookAt) -> dict[str, Any]:
    first = min(sale.kinds, key=LOOK_KINDS.index)
    shape, filled = _SHAPES.get(first, _OTHER)
    return {
        "marker": shape,
        "color": INK if filled else PAPER,
        "markeredgecolor": INK,
        "markeredgewidth": 1.1,
        "markersize": 6.5,
        "linestyle": "none",
        "zorder": 4,
    }


def _scales(axes: Axes, places: list[tuple[float, float]], *, narrow: bool) -> None:
    across = [math.log(x) for x, _ in places] + [math.log(0.7), math.log(1.4)]
    up = [math.log(y) for _, y in places]
    room = 0.08 * (max(across) - min(across))
    axes.set_xscale("log")
    axes.set_yscale("log")
    axes.set_xlim(math.exp(min(across) - room), math.exp(max(across) + 1.6 * room))
    tall = 0.1 * (max(up) - min(up)) + 0.15
    axes.set_ylim(math.exp(min(up) - tall), math.exp(max(up) + 1.3 * tall))
    left, right = axes.get_xlim()
    low, high = axes.get_ylim()
    times = [t for t in _TIMES if left <= t <= right and not (narrow and t in _BETWEEN)]
    changes = [c for c in _CHANGES if low <= c <= high]
    for axis, marked in ((axes.xaxis, times), (axes.yaxis, changes)):
        axis.set_major_locator(FixedLocator(marked))
        axis.set_minor_locator(NullLocator())
    axes.set_xticks(times, [_times_words(t) for t in times])
    axes.set_yticks(changes, [f"{c:g}%" for c in changes])
    axes.tick_params(axis="y", colors=INK, labelsize=9, length=0)
    axes.grid(color=FAINT, linewidth=0.6)
    label: dict[str, Any] = {"color": QUIET, "fontsize": 9}
    axes.set_xlabel("Price over what the others say", **label)
    axes.set_ylabel("Largest change without it", **label)
    axes.plot([1, 1], [low, high], color=QUIET, linewidth=1.0, zorder=1)


def _times_words(times: float) -> str:
    return f"{times:,.0f} ×" if times >= 1 else f"1/{1 / times:,.0f}"


def _numbers(axes: Axes, places: list[tuple[float, float]], *, narrow: bool) -> None:
    """Write the numbers of the first sales beside their marks, where there is room for them."""
    width, height = (0.07, 0.055) if narrow else (0.034, 0.055)
    marks = [_within(axes, x, y) for x, y in places]
    taken: list[tuple[float, float]] = []
    for k, (x, y) in enumerate(places[:_NAMED], start=1):
        across, up = marks[k - 1]
        at = across + 0.7 * width, up + 0.5 * height
        others = [m for j, m in enumerate(marks) if j != k - 1]
        near = [(a, b) for a, b in others if abs(at[0] - a) < 0.7 * width]
        if any(abs(at[1] - b) < 0.8 * height for _, b in near):
            continue
        if any(abs(at[0] - a) < width and abs(at[1] - b) < height for a, b in taken):
            continue
        taken.append(at)
        write_text(axes, x, y, str(k), shift=6, fontsize=9, va="bottom", zorder=5)


def _within(axes: Axes, x: float, y: float) -> tuple[float, float]:
    """Return where a point lies on the axes, 0 to 1 both ways."""
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    across = math.log(x / left) / math.log(right / left)
    return across, math.log(y / low) / math.log(high / low)


def _describe(looked: LookList) -> str:
    said = [
        f"{k}, {sale.car}: {', '.join(sale.kinds)}; {_off(sale)} what the others say; largest "
        f"change without it {_largest(sale):.1f}%."
        for k, sale in enumerate(looked.sales[:_NAMED], start=1)
    ]
    more = len(looked.sales) - len(said)
    return " ".join([*said, *([f"{more} more sales follow in the table."] if more > 0 else [])])
