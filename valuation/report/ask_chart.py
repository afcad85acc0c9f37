"""Asking prices as a picture: the chance to sell above, the expected net below."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MaxNLocator

from valuation.money import format_money
from valuation.report.drawing import in_both_widths, money_axis, write_text
from valuation.report.page import Chart
from valuation.report.palette import BAND_95, FAINT, INK, MIDDLE, PAPER, QUIET
from valuation.results.stock_ask import AskPoint, StockAsk

__all__ = ["ask_chart", "ask_figure"]

_CAPTION = (
    "Both drawings share their asking prices. Above: the chance to be sold within {days} days; "
    "below: what the car earns in the mean after every cost. Line: what to reckon with; hatched: "
    "80% band of how sure we are of it. Filled diamond: recommended; triangle pointing left: "
    "quicker; triangle pointing right: patient. Dashed upright line: the estimate."
)
_TARGET = " Dotted line: the chance that the target asks for."


def ask_figure(answer: StockAsk, *, narrow: bool = False) -> Figure:
    """Draw chance and expected net over the asking price.

    Parameters
    ----------
    answer : StockAsk
        What to draw.
    narrow : bool, default False
        True for a phone.

    Returns
    -------
    matplotlib.figure.Figure
        Two axes, one above the other.
    """
    figure = Figure(figsize=(3.7 if narrow else 7.4, 5.0), layout="constrained")
    above, below = figure.subplots(2, 1, sharex=True)
    points = answer.points
    chances = [(p.chance.chance, p.chance.lower, p.chance.upper) for p in points]
    nets = [(p.net.value, p.net.lower, p.net.upper) for p in points]
    _draw(above, answer, [(100 * a, 100 * b, 100 * c) for a, b, c in chances])
    _draw(below, answer, nets)
    above.set_ylim(0, 105)
    above.yaxis.set_major_formatter(FuncFormatter(lambda x, _: f"{x:.0f}%"))
    below.yaxis.set_major_formatter(FuncFormatter(lambda x, _: format_money(x, "")))
    _title(above, f"Chance to be sold within {answer.target_days} days")
    _title(below, f"Expected net, {answer.currency}")
    if answer.target_percent is not None:
        above.axhline(answer.target_percent, color=INK, linewidth=1.0, linestyle=":")
    below.axhline(0, color=QUIET, linewidth=0.8)
    money_axis(below, f"Asking price, {answer.currency}", 4 if narrow else 7)
    return figure


def ask_chart(answer: StockAsk) -> Chart:
    """Return the chart in both widths with its text alternative."""
    wide, narrow = in_both_widths(
        lambda slim: ask_figure(answer, narrow=slim),
        name="ask",
        title=f"What asking prices lead to, {answer.car}",
        description=_describe(answer),
    )
    told = _CAPTION.format(days=answer.target_days)
    return Chart(wide, narrow, told + _TARGET * (answer.target_percent is not None))


def _draw(axes: Axes, answer: StockAsk, values: list[tuple[float, float, float]]) -> None:
    asks = [p.ask for p in answer.points]
    middle, low, high = (list(row) for row in zip(*values, strict=True))
    axes.fill_between(
        asks, low, high, facecolor=BAND_95, edgecolor=MIDDLE, hatch="....", linewidth=0.6
    )
    axes.plot(asks, middle, color=INK, linewidth=1.8, zorder=3)
    axes.axvline(answer.estimate, color=QUIET, linewidth=1.0, linestyle="--", zorder=1)
    marks = ((answer.quicker, "<", PAPER), (answer.patient, ">", PAPER))
    for place, shape, fill in (*marks, (answer.recommended, "D", INK)):
        axes.plot(
            [asks[place]], [middle[place]], shape, color=INK, markerfacecolor=fill,
            markersize=9, zorder=4,
        )  # fmt: skip
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(QUIET)
    axes.tick_params(colors=INK, labelsize=9)
    axes.yaxis.set_major_locator(MaxNLocator(nbins=5))
    axes.grid(axis="both", color=FAINT, linewidth=0.6)
    axes.set_axisbelow(True)


def _title(axes: Axes, text: str) -> None:
    low, high = axes.get_xlim()[0], axes.get_ylim()[1]
    write_text(axes, low, high, text, va="bottom", color=QUIET, fontsize=9)


def _describe(answer: StockAsk) -> str:
    said = [f"Estimate {answer.money(answer.estimate)}."]
    said += [f"{name}: {_said(answer, p)}" for name, p in answer.named]
    return " ".join(said)


def _said(answer: StockAsk, p: AskPoint) -> str:
    return (
        f"ask {answer.money(p.ask)}, chance within {answer.target_days} days {p.chance.words()}, "
        f"expected net {p.net.words(answer.currency)}."
    )
