"""The range as a picture, with the prices that the closest sales point to."""

from __future__ import annotations

from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from valuation.money import format_money
from valuation.report.drawing import blank_axes, in_both_widths, money_axis, write_text
from valuation.report.page import Chart
from valuation.report.palette import BAND_50, BAND_80, BAND_95, INK, PAPER, QUIET
from valuation.report.words import percent, range_words, shorten
from valuation.results.valuation import Comparable, NoRange, PriceRange, Valuation

__all__ = ["range_chart", "range_figure"]

_BANDS = (BAND_95, BAND_80, BAND_50)
_SHOWN = 6


def range_figure(valuation: Valuation, *, narrow: bool = False) -> Figure:
    """Draw the range as nested bars and each closest sale as an arrow to its adjusted price.

    Parameters
    ----------
    valuation : Valuation
        What to draw.
    narrow : bool, default False
        True for a phone: labels stand above their row.

    Returns
    -------
    matplotlib.figure.Figure
        One axes; bars grow thicker towards the middle, so they can be told without colour.
    """
    sales = valuation.comparables[:_SHOWN]
    step = 1.5 if narrow else 1.0
    bottom = -(1.6 + step * len(sales))
    figure, axes = blank_axes(3.7 if narrow else 7.4, (1.3 - bottom) * (0.36 if narrow else 0.38))
    axes.set_ylim(bottom, 1.3)
    _limits(axes, valuation, sales)
    _draw_bands(axes, valuation)
    dashes: dict[str, Any] = {"linewidth": 0.9, "linestyle": (0, (4, 3)), "zorder": 1}
    axes.plot([valuation.central] * 2, [bottom, 0.7], color=INK, **dashes)
    axes.plot([valuation.central], [0], "D", color=INK, markeredgecolor=PAPER, markersize=9)
    central = format_money(valuation.central, valuation.currency)
    write_text(axes, valuation.central, 1.05, central, ha="center", fontweight="bold", fontsize=11)
    for number, sale in enumerate(sales):
        _draw_sale(axes, sale, number, -1.6 - step * number, narrow=narrow)
    money_axis(axes, valuation.currency, 4 if narrow else 6)
    return figure


def range_chart(valuation: Valuation) -> Chart:
    """Return the range chart in both widths with its text alternative."""
    wide, narrow = in_both_widths(
        lambda slim: range_figure(valuation, narrow=slim),
        name="range",
        title=f"Price range of {valuation.car}",
        description=_describe(valuation),
    )
    return Chart(wide, narrow, _caption(valuation))


def _limits(axes: Axes, valuation: Valuation, sales: tuple[Comparable, ...]) -> None:
    amounts = [float(valuation.central)]
    amounts += [bound for r in _ranges(valuation) for bound in (r.lower, r.upper)]
    amounts += [float(p) for s in sales for p in (s.price, s.adjusted_price)]
    low, high = min(amounts), max(amounts)
    margin = 0.04 * (high - low) or 0.1 * high
    axes.set_xlim(max(0.0, low - margin), high + margin)


def _ranges(valuation: Valuation) -> list[PriceRange]:
    if isinstance(valuation.range, NoRange):
        return []
    levels = {r.level: r for r in (*valuation.ranges, valuation.range)}
    return [levels[level] for level in sorted(levels, reverse=True)]


def _draw_bands(axes: Axes, valuation: Valuation) -> None:
    ranges = _ranges(valuation)
    for place, r in enumerate(ranges):
        half = 0.22 + 0.13 * place
        colour = _BANDS[min(place, len(_BANDS) - 1)] if len(ranges) > 1 else BAND_80
        box = Rectangle((r.lower, -half), r.upper - r.lower, 2 * half, facecolor=colour)
        box.set_edgecolor(INK)
        box.set_linewidth(0.7)
        axes.add_patch(box)


def _draw_sale(axes: Axes, sale: Comparable, number: int, y: float, *, narrow: bool) -> None:
    axes.plot([sale.price], [y], "o", color=PAPER, markeredgecolor=QUIET, markersize=7)
    if sale.price != sale.adjusted_price:
        arrow = {"arrowstyle": "-|>", "color": QUIET, "shrinkA": 4, "shrinkB": 0}
        axes.annotate("", (sale.adjusted_price, y), (sale.price, y), arrowprops=arrow)
    axes.plot([sale.adjusted_price], [y], "o", color=INK, markersize=6)
    label = f"{number + 1}  {shorten(sale.title, 36)}"
    adjusted = format_money(sale.adjusted_price, "")
    left, right = axes.get_xlim()
    if narrow:
        ground = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.8}
        write_text(axes, left, y + 0.62, label, fontsize=9, bbox=ground)
        write_text(axes, right, y + 0.62, adjusted, ha="right", fontsize=9, bbox=ground)
    else:
        write_text(axes, left, y, label, ha="right", shift=-10)
        write_text(axes, right, y, adjusted, shift=10)


def _caption(valuation: Valuation) -> str:
    levels = [percent(100 * r.level) for r in reversed(_ranges(valuation))]
    bars = ""
    if levels:
        bars = f"Bars: {', '.join(levels)} range, thickest to thinnest. "
    sales = ""
    if valuation.comparables:
        sales = (
            "Open circle: what a closest sale brought; filled circle and amount: the "
            "same with all its adjustments to this car. "
        )
    return f"{bars}Diamond and dashed line: central estimate. {sales}The scale does not start at 0."


def _describe(valuation: Valuation) -> str:
    money = valuation.currency
    said = [f"Central estimate {format_money(valuation.central, money)}."]
    said += [
        f"{percent(100 * r.level)} range {range_words(r, money)}."
        for r in reversed(_ranges(valuation))
    ]
    said += [
        f"Sale {n}, {s.title}: brought {format_money(s.price, money)}, "
        f"adjusted {format_money(s.adjusted_price, money)}."
        for n, s in enumerate(valuation.comparables[:_SHOWN], start=1)
    ]
    return " ".join(said)
