"""Comparable sales over time, each brought to this car, with the asking price as a line."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from valuation.money import format_money
from valuation.report.drawing import in_both_widths, write_text
from valuation.report.page import Chart
from valuation.report.palette import FAINT, INK, PAPER, QUIET
from valuation.report.words import day, plural
from valuation.results.customer_sheet import CustomerSheet
from valuation.results.customer_sheet_parts import AdjustedSale
from valuation.results.words import quarter_words

__all__ = ["points_chart", "points_figure"]

_NEAR = 0.05
"""Share of an axis within which two marks crowd each other."""


def points_figure(sheet: CustomerSheet, *, narrow: bool = False) -> Figure:
    """Draw each comparable sale at its day and at what it comes to as this car.

    Parameters
    ----------
    sheet : CustomerSheet
        With at least one dated point.
    narrow : bool, default False
        True for a phone.

    Returns
    -------
    matplotlib.figure.Figure
        One axes; kinds of sales differ in shape, the two lines in their dashes.
    """
    figure = Figure(figsize=(3.7, 3.5) if narrow else (7.4, 3.2), layout="constrained")
    axes = figure.add_subplot()
    points = [p for p in sheet.points if p.on]
    _frame(axes, sheet, points, narrow=narrow)
    for shown in (False, True):
        for ours in (False, True):
            _draw(axes, [p for p in points if bool(p.number) is shown and p.ours is ours])
    for p in points:
        _number(axes, p, points)
    asking = sheet.asking
    above = asking is None or asking.above < 0
    _line(axes, sheet.central, "central", above=above)
    if asking is not None:
        _line(axes, asking.amount, "asking", above=not above, plain=True)
    return figure


def points_chart(sheet: CustomerSheet) -> Chart:
    """Return the chart in both widths with its text alternative."""
    wide, narrow = in_both_widths(
        lambda slim: points_figure(sheet, narrow=slim),
        name="points",
        title=f"Comparable {_noun(sheet)}s brought to the {sheet.heading}",
        description=_describe(sheet),
    )
    return Chart(wide, narrow, _caption(sheet))


def _noun(sheet: CustomerSheet) -> str:
    return "offer" if sheet.offers else "sale"


def _frame(axes: Axes, sheet: CustomerSheet, points: list[AdjustedSale], *, narrow: bool) -> None:
    amounts = [p.adjusted for p in points] + [sheet.central]
    amounts += [sheet.asking.amount] if sheet.asking else []
    low, high = min(amounts), max(amounts)
    room = 0.12 * (high - low) or 0.1 * high
    axes.set_ylim(max(0.0, low - room), high + room)
    axes.yaxis.set_major_locator(MaxNLocator(nbins=5, steps=[1, 2, 2.5, 5, 10]))
    axes.yaxis.set_major_formatter(lambda amount, _: f"{amount:,.0f}")
    axes.set_ylabel(sheet.currency, color=QUIET, fontsize=9)
    days = [p.on.toordinal() for p in points if p.on]
    last = max([*days, sheet.as_of.toordinal() if sheet.as_of else 0])
    first = min(days)
    side = max((0.07 if narrow else 0.03) * (last - first), 20)
    axes.set_xlim(first - side, last + side)
    years = range(date.fromordinal(first).year, date.fromordinal(last).year + 1)
    marks = [date(y, 1, 1).toordinal() for y in years]
    shown = [m for m in marks if first - side <= m <= last + side] or [first]
    shown = shown[:: math.ceil(len(shown) / (5 if narrow else 9))]
    names = [date.fromordinal(m).strftime("%Y") for m in shown] if len(marks) > 1 else []
    axes.set_xticks(shown, names or [day(date.fromordinal(m)) for m in shown])
    axes.tick_params(axis="both", colors=INK, labelsize=9)
    for place in ("top", "right"):
        axes.spines[place].set_visible(False)
    for place in ("left", "bottom"):
        axes.spines[place].set_color(QUIET)
    axes.set_axisbelow(True)
    axes.grid(axis="y", color=FAINT, linewidth=0.6)


def _draw(axes: Axes, alike: list[AdjustedSale]) -> None:
    """Draw the marks of one kind together, which takes a third of the time."""
    if not alike:
        return
    shown, ours = bool(alike[0].number), alike[0].ours
    axes.plot(
        [p.on.toordinal() for p in alike if p.on],
        [p.adjusted for p in alike if p.on],
        "D" if ours else "o",
        color=INK if shown else PAPER,
        markeredgecolor=INK if shown else QUIET,
        markersize=6 if ours else 7,
        linestyle="none",
        zorder=4 if shown else 3,
    )


def _number(axes: Axes, p: AdjustedSale, points: list[AdjustedSale]) -> None:
    if p.on is None or not p.number:
        return
    left = any(_beside(axes, p, other) for other in points)
    ground = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.3, "alpha": 0.85}
    style: dict[str, Any] = {
        "bbox": ground,
        "ha": "right" if left else "left",
        "shift": -6 if left else 6,
    }
    write_text(
        axes, p.on.toordinal(), p.adjusted, str(p.number), fontsize=9.5, fontweight="bold",
        zorder=6, **style,
    )  # fmt: skip


def _beside(axes: Axes, p: AdjustedSale, other: AdjustedSale) -> bool:
    """Whether another sale stands where the number of this one would be written."""
    if p.on is None or other.on is None:
        return False
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    far = (other.on - p.on).days / (right - left)
    return 0 < far < _NEAR and abs(other.adjusted - p.adjusted) / (high - low) < _NEAR


def _line(axes: Axes, amount: int, named: str, *, above: bool, plain: bool = False) -> None:
    """Draw an amount as a line, named beside the chart, where it hides no sale."""
    dashes = "-" if plain else (0, (5, 3))
    axes.axhline(amount, color=INK, linewidth=1.6 if plain else 1.1, linestyle=dashes, zorder=2)
    written = f"{named}\n{format_money(amount, '')}"
    style = {"va": "bottom" if above else "top", "fontweight": "bold" if plain else "normal"}
    write_text(axes, axes.get_xlim()[1], amount, written, shift=5, fontsize=9, **style)


def _caption(sheet: CustomerSheet) -> str:
    noun = _noun(sheet)
    said = [
        f"Each mark is one comparable {noun}, brought to this car and to today, at the day of the "
        f"{noun}. Filled and numbered: the closest {noun}s, shown below."
    ]
    if any(p.ours for p in sheet.points):
        said.append(
            "Square on its corner: a car sold by us, its price rounded and placed in the middle of "
            "its quarter."
        )
    lines = "Dashed line: central estimate."
    said.append(f"Plain line: asking price. {lines}" if sheet.asking else lines)
    return " ".join([*said, "The scale does not start at 0."])


def _describe(sheet: CustomerSheet) -> str:
    money, noun = sheet.currency, _noun(sheet)
    points = [p for p in sheet.points if p.on]
    amounts = sorted(p.adjusted for p in points)
    said = [f"Central estimate {format_money(sheet.central, money)}."]
    if sheet.asking:
        said.insert(0, f"Asking price {format_money(sheet.asking.amount, money)}.")
    said.append(
        f"{plural(len(points), f'comparable {noun}')} as this car and today: the lowest "
        f"{format_money(amounts[0], money)}, the highest {format_money(amounts[-1], money)}."
    )
    said += [
        f"Sale {p.number}, {quarter_words(p.on) if p.ours and p.on else day(p.on)}: "
        f"{format_money(p.adjusted, money)}."
        for p in sorted(points, key=lambda p: p.number)
        if p.number
    ]
    return " ".join(said)
