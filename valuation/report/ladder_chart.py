"""The ladder of bids as a picture: the margin to expect at each, its span, and the risk."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from valuation.report.bid_words import (
    amount,
    breaks_words,
    margin_words,
    reference_bid,
    risk_words,
    rungs_near,
)
from valuation.report.drawing import blank_axes, in_both_widths, money_axis, write_text
from valuation.report.page import Chart
from valuation.report.palette import BAND_80, INK, LOWERS, PAPER, QUIET
from valuation.results.bid_parts import Rung
from valuation.results.bid_sheet import BidSheet
from valuation.results.bid_text import bid_words

__all__ = ["ladder_chart", "ladder_figure", "marked"]

_SHOWN = 15
_CAPTION = (
    "Each row is a bid. Filled circle: expected margin of a bid that keeps every limit. Open "
    "square and hatched bar: a bid that breaks a limit, with the word for it. {diamond}Bar: the "
    "margin lies within it in 8 of 10 cases. Dashed line: target margin. Solid line: neither gain "
    "nor loss. Per cent: risk of losing money."
)


def ladder_figure(sheet: BidSheet, *, narrow: bool = False) -> Figure:
    """Draw a row for each bid: expected margin, its span, the risk, and what the bid breaks.

    Parameters
    ----------
    sheet : BidSheet
        With at least one rung.
    narrow : bool, default False
        True for a phone: words stand above their row.

    Returns
    -------
    matplotlib.figure.Figure
        One axes; bids that break a limit differ in shape, filling and words, not in colour alone.
    """
    rungs = rungs_near(sheet, _SHOWN)
    gap = 1.7 if narrow else 1.0
    bottom = -(len(rungs) - 1) * gap - 0.7
    top = 1.9 if narrow else 1.4
    figure, axes = blank_axes(3.7 if narrow else 7.4, (top - bottom) * 0.32 + 0.5)
    axes.set_ylim(bottom, top)
    _limits(axes, sheet, rungs)
    line: dict[str, Any] = {"color": INK, "zorder": 1}
    ends = [bottom, top - 0.7]
    axes.plot([0, 0], ends, linewidth=1.0, **line)
    target = float(sheet.target_margin)
    axes.plot([target] * 2, ends, linewidth=1.0, linestyle=(0, (4, 3)), **line)
    _write_target(axes, sheet.target_margin, top - 0.35)
    for place, rung in enumerate(rungs):
        _draw_bar(axes, rung, -place * gap, best=rung.bid == reference_bid(sheet))
        _write_row(axes, sheet, rung, -place * gap, narrow=narrow)
    if not narrow:
        _write_heads(axes, sheet, top - 0.35)
    money_axis(axes, f"Margin, {sheet.resale_currency}", 4 if narrow else 6)
    return figure


def ladder_chart(sheet: BidSheet) -> Chart:
    """Return the ladder in both widths with its text alternative."""
    wide, narrow = in_both_widths(
        lambda slim: ladder_figure(sheet, narrow=slim),
        name="ladder",
        title=f"Margin and risk at each bid for {sheet.car}",
        description=_describe(sheet),
    )
    diamond = f"Diamond: the {marked(sheet)}. " if reference_bid(sheet) is not None else ""
    return Chart(wide, narrow, _CAPTION.format(diamond=diamond))


def marked(sheet: BidSheet) -> str:
    """Name the bid that is marked on the ladder."""
    return "walk-away bid" if sheet.walk_away is not None else "walk-away bid once cured"


def _limits(axes: Axes, sheet: BidSheet, rungs: tuple[Rung, ...]) -> None:
    reached = [0.0, float(sheet.target_margin)]
    reached += [float(end) for r in rungs for end in (r.margin_p10, r.margin_p90)]
    low, high = min(reached), max(reached)
    room = 0.05 * (high - low) or 1.0
    axes.set_xlim(low - room, high + room)


def _draw_bar(axes: Axes, rung: Rung, y: float, *, best: bool) -> None:
    low, high = float(rung.margin_p10), float(rung.margin_p90)
    style: dict[str, Any] = {"facecolor": BAND_80, "edgecolor": INK, "linewidth": 0.7}
    if rung.breaks:
        style |= {"facecolor": PAPER, "edgecolor": LOWERS, "hatch": "////"}
    axes.add_patch(Rectangle((low, y - 0.2), high - low, 0.4, zorder=2, **style))
    at = [float(rung.expected_margin)]
    point: dict[str, Any] = {"markeredgecolor": INK, "zorder": 4}
    if best:
        axes.plot(at, [y], "D", color=INK, markersize=10, **(point | {"markeredgecolor": PAPER}))
    elif rung.breaks:
        axes.plot(at, [y], "s", color=PAPER, markersize=7, markeredgewidth=1.4, **point)
    else:
        axes.plot(at, [y], "o", color=INK, markersize=6, **point)


def _write_row(axes: Axes, sheet: BidSheet, rung: Rung, y: float, *, narrow: bool) -> None:
    best = rung.bid == reference_bid(sheet)
    bid = bid_words(rung.bid, "")
    name = f"{marked(sheet)}  {bid}" if best else bid
    risk = risk_words(rung.loss_probability, sheet.loss_limit)
    words = breaks_words(rung.breaks)
    said = f"{risk}, {words}" if words else risk
    weight = "bold" if best else "normal"
    left, right = axes.get_xlim()
    if narrow:
        ground = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.8}
        style: dict[str, Any] = {"fontsize": 9, "fontweight": weight, "bbox": ground}
        write_text(axes, left, y + 0.66, name, **style)
        write_text(axes, right, y + 0.66, said, ha="right", **style)
    else:
        write_text(axes, left, y, name, ha="right", shift=-10, fontweight=weight)
        write_text(axes, right, y, said, shift=10, fontweight=weight)


def _write_target(axes: Axes, target: Decimal, y: float) -> None:
    """Name the line of the target; near an edge the words stand on its inner side."""
    left, right = axes.get_xlim()
    place = (float(target) - left) / (right - left)
    side = "left" if place < 0.2 else "right" if place > 0.8 else "center"
    ground = {"facecolor": PAPER, "edgecolor": "none", "pad": 1.5}
    shift = {"left": -3, "right": 3}.get(side, 0)
    said = f"target {amount(target)}"
    write_text(axes, float(target), y, said, ha=side, shift=shift, fontsize=9, bbox=ground)


def _write_heads(axes: Axes, sheet: BidSheet, y: float) -> None:
    left, right = axes.get_xlim()
    head: dict[str, Any] = {"color": QUIET, "fontsize": 9}
    write_text(axes, left, y, f"Bid, {sheet.currency}", ha="right", shift=-10, **head)
    write_text(axes, right, y, "Risk of loss", shift=10, **head)


def _describe(sheet: BidSheet) -> str:
    said = [f"Target margin {amount(sheet.target_margin, sheet.resale_currency)}."]
    for rung in rungs_near(sheet, _SHOWN):
        best = f", the {marked(sheet)}" if rung.bid == reference_bid(sheet) else ""
        broken = f"; {breaks_words(rung.breaks)}" if rung.breaks else ""
        said.append(
            f"Bid {bid_words(rung.bid, sheet.currency)}{best}: expected margin "
            f"{margin_words(rung, sheet.target_margin)} {sheet.resale_currency}, from "
            f"{amount(rung.margin_p10)} to {amount(rung.margin_p90)} in 8 of 10 cases; "
            f"risk of loss {risk_words(rung.loss_probability, sheet.loss_limit)}{broken}."
        )
    return " ".join(said)
