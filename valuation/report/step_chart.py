"""The explanation as a picture: step by step from the typical car to this one."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from valuation.money import format_money
from valuation.report.drawing import arrow, blank_axes, in_both_widths, money_axis, write_text
from valuation.report.page import Chart
from valuation.report.palette import INK, PAPER, QUIET
from valuation.report.steps import Stairs, Step, stairs_of
from valuation.report.words import capital, shorten
from valuation.results.valuation import Valuation

__all__ = ["step_chart", "step_figure"]

_CAPTION = (
    "Read from top to bottom. A plain bar pointing right raises the price, a hatched bar pointing "
    "left lowers it. Thin lines: 90% interval of a step. The scale does not start at 0."
)


def step_figure(shown: Valuation | Stairs, *, narrow: bool = False) -> Figure:
    """Draw every step from the start to the central estimate as a bar that points its way.

    Parameters
    ----------
    shown : Valuation or Stairs
        What to explain.
    narrow : bool, default False
        True for a phone: labels stand above their bar.

    Returns
    -------
    matplotlib.figure.Figure
        One axes, a row for the start, one for each step and one for the central estimate.
    """
    stairs = _stairs(shown)
    rows = len(stairs.steps) + 2
    gap = 1.75 if narrow else 1.0
    height = (rows * gap + 0.8) * (0.34 if narrow else 0.4)
    figure, axes = blank_axes(3.7 if narrow else 7.4, height)
    axes.set_ylim(-(rows - 1) * gap - 0.7, 0.7 if not narrow else 1.1)
    _limits(axes, stairs)
    _draw_level(axes, stairs.start_label, stairs.start, 0, narrow=narrow)
    for place, step in enumerate(stairs.steps, start=1):
        _draw_step(axes, step, -place * gap, gap, narrow=narrow)
    _draw_level(axes, stairs.end_label, stairs.central, -(rows - 1) * gap, narrow=narrow)
    money_axis(axes, stairs.currency, 4 if narrow else 7)
    return figure


def step_chart(shown: Valuation | Stairs, *, caption: str = _CAPTION) -> Chart:
    """Return the step chart in both widths with its text alternative."""
    stairs = _stairs(shown)
    wide, narrow = in_both_widths(
        lambda slim: step_figure(stairs, narrow=slim),
        name="steps",
        title=stairs.title or f"From the typical car to {stairs.car}",
        description=_describe(stairs),
    )
    return Chart(wide, narrow, caption)


def _stairs(shown: Valuation | Stairs) -> Stairs:
    return shown if isinstance(shown, Stairs) else stairs_of(shown)


def _limits(axes: Axes, stairs: Stairs) -> None:
    reached = [float(stairs.start), float(stairs.central)]
    reached += [float(s.before + s.amount) for s in stairs.steps]
    reached += [s.before + end for s in stairs.steps if s.interval for end in s.interval]
    low, high = min(reached), max(reached)
    span = (high - low) or 0.2 * high
    axes.set_xlim(max(0.0, low - 0.22 * span), high + 0.22 * span)


def _draw_level(axes: Axes, label: str, amount: int, y: float, *, narrow: bool) -> None:
    axes.plot([amount], [y], "D", color=INK, markersize=8)
    written = format_money(amount, "")
    write_text(axes, amount, y, written, shift=9, fontweight="bold", fontsize=10.5)
    _draw_label(axes, capital(label), y, narrow=narrow, bold=True)


def _draw_step(axes: Axes, step: Step, y: float, gap: float, *, narrow: bool) -> None:
    after = step.before + step.amount
    axes.plot([step.before] * 2, [y + gap, y], color=QUIET, linewidth=0.7, zorder=0)
    axes.add_patch(arrow(axes, step.before, after, y))
    if step.interval:
        ends = [step.before + end for end in step.interval]
        axes.plot(ends, [y, y], color=INK, linewidth=1.1, marker="|", markersize=6, zorder=4)
    right = max(step.before, after, *(step.before + e for e in step.interval or (0.0,)))
    axes.plot([after] * 2, [y, y - gap], color=QUIET, linewidth=0.7, zorder=0)
    write_text(axes, right, y, format_money(step.amount, "", signed=True), shift=7)
    label = f"{step.label}: {step.value}" if step.value else step.label
    _draw_label(axes, label, y, narrow=narrow, bold=False)


def _draw_label(axes: Axes, label: str, y: float, *, narrow: bool, bold: bool) -> None:
    weight = "bold" if bold else "normal"
    left = axes.get_xlim()[0]
    if narrow:
        ground = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.8}
        written = shorten(label, 46)
        write_text(axes, left, y + 0.7, written, fontsize=9, fontweight=weight, bbox=ground)
    else:
        write_text(axes, left, y, shorten(label, 42), ha="right", shift=-10, fontweight=weight)


def _describe(stairs: Stairs) -> str:
    money = stairs.currency
    said = [f"{capital(stairs.start_label)}: {format_money(stairs.start, money)}."]
    said += [
        f"{s.label}{f' ({s.value})' if s.value else ''}: "
        f"{format_money(s.amount, money, signed=True)}."
        for s in stairs.steps
    ]
    said.append(f"{stairs.end_label}: {format_money(stairs.central, money)}.")
    return " ".join(said)
