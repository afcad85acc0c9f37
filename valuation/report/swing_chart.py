"""What moves the bid as a picture: from the walk-away bid to the bid at each end of each input."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from valuation.report.bid_words import reference_bid
from valuation.report.drawing import arrow, blank_axes, in_both_widths, money_axis, write_text
from valuation.report.ladder_chart import marked
from valuation.report.page import Chart
from valuation.report.palette import INK, PAPER
from valuation.report.words import capital, shorten
from valuation.results.bid_parts import Swing
from valuation.results.bid_sheet import BidSheet
from valuation.results.bid_text import bid_words

__all__ = ["can_be_drawn", "swing_chart", "swing_figure"]

_SHOWN = 10
_CAPTION = (
    "Each input has two arrows, one for each of its ends: from the {marked}, dashed, to what it "
    "would be there. A plain arrow to the right raises the bid, a hatched one to the left lowers "
    "it; a dotted line to the left edge leaves no bid. The scale does not start at 0."
)


def can_be_drawn(sheet: BidSheet) -> bool:
    """Tell whether there is a bid to start from and an input that moves it."""
    return reference_bid(sheet) is not None and bool(sheet.swings)


def swing_figure(sheet: BidSheet, *, narrow: bool = False) -> Figure:
    """Draw for each input two arrows that start at the walk-away bid.

    Parameters
    ----------
    sheet : BidSheet
        Of which :func:`can_be_drawn` is true.
    narrow : bool, default False
        True for a phone: the input stands above its arrows.

    Returns
    -------
    matplotlib.figure.Figure
        One axes; arrows differ in direction and filling, and each has its bid in figures.
    """
    swings = sheet.swings[:_SHOWN]
    gap = 4.6 if narrow else 2.2
    bottom, top = -(len(swings) - 1) * gap - (2.2 if narrow else 1.1), 2.1 if narrow else 1.3
    height = (top - bottom) * (0.21 if narrow else 0.24) + 0.6
    figure, axes = blank_axes(3.7 if narrow else 7.4, height)
    axes.set_ylim(bottom, top)
    centre = float(reference_bid(sheet) or 0)
    _limits(axes, swings, centre, narrow=narrow)
    line: dict[str, Any] = {"linewidth": 0.9, "linestyle": (0, (4, 3)), "zorder": 1}
    axes.plot([centre] * 2, [bottom, top], color=INK, **line)
    for place, swing in enumerate(swings):
        _draw_input(axes, swing, -place * gap, centre, narrow=narrow)
    money_axis(axes, f"{capital(marked(sheet))}, {sheet.currency}", 4 if narrow else 6)
    return figure


def swing_chart(sheet: BidSheet) -> Chart:
    """Return the chart in both widths with its text alternative."""
    wide, narrow = in_both_widths(
        lambda slim: swing_figure(sheet, narrow=slim),
        name="swings",
        title=f"What moves the bid for {sheet.car}",
        description=_describe(sheet),
    )
    return Chart(wide, narrow, _CAPTION.format(marked=marked(sheet)))


def _limits(axes: Axes, swings: tuple[Swing, ...], centre: float, *, narrow: bool) -> None:
    bids = [float(b) for s in swings for b in (s.low_bid, s.high_bid) if b is not None]
    low, high = min([centre, *bids]), max([centre, *bids])
    span = (high - low) or 0.2 * high or 1.0
    # On a wide chart words stand beside the arrows and need room of their own.
    room = 0.06 if narrow else 0.55
    axes.set_xlim(low - room * span, high + room * span)


def _draw_input(axes: Axes, swing: Swing, y: float, centre: float, *, narrow: bool) -> None:
    ends = ((swing.low, swing.low_bid), (swing.high, swing.high_bid))
    left, right = axes.get_xlim()
    ground = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.8}
    if narrow:
        title = capital(shorten(swing.what, 46))
        write_text(axes, left, y + 1.6, title, fontsize=9, fontweight="bold", bbox=ground)
        for (words, bid), at in zip(ends, (y, y - 1.7), strict=True):
            write_text(axes, left, at + 0.72, shorten(words, 34), fontsize=9, bbox=ground)
            style: dict[str, Any] = {"ha": "right", "fontsize": 9, "bbox": ground}
            write_text(axes, right, at + 0.72, bid_words(bid, ""), **style)
            _draw_arrow(axes, bid, at, centre)
        return
    write_text(axes, left, y, capital(shorten(swing.what, 34)), ha="right", shift=-10)
    for (words, bid), at in zip(ends, (y + 0.42, y - 0.42), strict=True):
        end = _draw_arrow(axes, bid, at, centre)
        said = f"{shorten(words, 28)}: {bid_words(bid, '')}"
        if bid is None:
            write_text(axes, left, at, said, shift=4, fontsize=9, bbox=ground)
        elif end < centre:
            write_text(axes, end, at, said, ha="right", shift=-6, fontsize=9)
        else:
            write_text(axes, end, at, said, shift=7, fontsize=9)


def _draw_arrow(axes: Axes, bid: Decimal | None, y: float, centre: float) -> float:
    """Draw from the centre to a bid, to the left edge for no bid; return where it ends."""
    end = axes.get_xlim()[0] if bid is None else float(bid)
    if bid is None:
        axes.plot([end, centre], [y, y], color=INK, linewidth=1.1, linestyle=":")
    elif end == centre:
        axes.plot([centre], [y], "|", color=INK, markersize=9, zorder=4)
    else:
        axes.add_patch(arrow(axes, centre, end, y, half=0.26))
    return end


def _describe(sheet: BidSheet) -> str:
    said = [f"The {marked(sheet)} is {bid_words(reference_bid(sheet), sheet.currency)}."]
    said += [
        f"{capital(s.what)}, {end}: {_bid_said(bid, sheet.currency)}."
        for s in sheet.swings[:_SHOWN]
        for end, bid in ((s.low, s.low_bid), (s.high, s.high_bid))
    ]
    return " ".join(said)


def _bid_said(bid: Decimal | None, currency: str) -> str:
    said = bid_words(bid, currency)
    return said if bid is None else f"bid {said}"
