"""The stock as pictures: age against price, worth against cost, and what to decide first."""

from __future__ import annotations

from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MaxNLocator

from valuation.money import format_money
from valuation.report.drawing import blank_axes, in_both_widths, money_axis, write_text
from valuation.report.page import Chart
from valuation.report.palette import FAINT, INK, PAPER, QUIET
from valuation.report.words import percent, shorten
from valuation.results.stock_parts import StockWorth
from valuation.results.stock_review import ReviewedCar, StockReview

__all__ = [
    "age_chart",
    "age_figure",
    "apart_ends",
    "decide_chart",
    "decide_figure",
    "drawn",
    "worth_chart",
    "worth_figure",
]

_NAMED = 25
_ROWS = 12

_YOUNG: dict[str, Any] = {"marker": "o", "color": INK, "markersize": 4.5}
_OLD: dict[str, Any] = {"marker": "D", "color": PAPER, "markersize": 7.5}
_EDGE: dict[str, Any] = {
    "markeredgecolor": INK, "markeredgewidth": 1.2, "linestyle": "none", "zorder": 4,
}  # fmt: skip

_WAYS: dict[str, dict[str, Any]] = {
    "new ask": {"marker": "^", "color": INK, "markersize": 7.5},
    "auction": {"marker": "s", "color": PAPER, "markersize": 6.5},
}

_AGE_CAPTION = (
    "Each mark is a car on offer: to the right the weeks since it was first offered, upwards what "
    "is asked over today's estimate. Filled circle: younger than {days} days. Open diamond: to "
    "decide, with its number in the table. Dashed line: from here on a car has to be decided "
    "about. Numbers stand where there is room."
)
_WORTH_CAPTION = (
    "Dot: the mean of what customers would pay for all cars together today. Bar: its 80% range, "
    "with what the cars have in common; between the short strokes it would lie if they had "
    "nothing in common. Diamonds: purchases and money spent; the same with holding so far. Costs "
    "of selling are not taken off. The scale does not start at 0."
)
_DECIDE_CAPTION = (
    "What each way out leaves more or less than holding at the present asking price, which is the "
    "line at 0: expected net, less what the money in the car would earn elsewhere until it is "
    "free. Filled triangle: the best lower asking price. Open square: auction today. At the end "
    "of the row the best of them, or hold."
)


def drawn(review: StockReview) -> tuple[ReviewedCar, ...]:
    """Return the cars that have an age and an asking price over an estimate."""
    return tuple(
        c for c in review.cars if c.days_listed is not None and c.over_estimate is not None
    )


def age_figure(review: StockReview, *, narrow: bool = False) -> Figure:
    """Draw a mark for each car on offer: weeks on offer against asking price over estimate."""
    figure, axes = blank_axes(3.7, 3.5) if narrow else blank_axes(7.4, 2.5)
    places = {c.stock: k for k, c in enumerate(review.to_decide, start=1)}
    limit = review.old_after_days / 7
    cars = drawn(review)
    weeks = [_weeks(c) for c in cars]
    over = [c.over_estimate or 0.0 for c in cars]
    axes.set_xlim(-0.5, 1.06 * max([*weeks, limit]) + 0.5)
    low, high = min([*over, -5.0]), max([*over, 5.0])
    room = 0.08 * (high - low)
    axes.set_ylim(low - room, high + room)
    axes.xaxis.set_major_locator(MaxNLocator(nbins=5 if narrow else 9, integer=True))
    axes.yaxis.set_major_locator(MaxNLocator(nbins=6))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda y, _: percent(y, signed=True)))
    axes.tick_params(axis="y", colors=INK, labelsize=9, length=0)
    axes.grid(color=FAINT, linewidth=0.6)
    axes.set_xlabel("Weeks on offer", color=QUIET, fontsize=9)
    axes.set_ylabel("Asked over the estimate", color=QUIET, fontsize=9)
    axes.axhline(0, color=QUIET, linewidth=1.0, zorder=1)
    axes.axvline(limit, color=INK, linewidth=1.0, linestyle=(0, (4, 3)), zorder=1)
    for car, x, y in zip(cars, weeks, over, strict=True):
        axes.plot([x], [y], **(_OLD if car.old else _YOUNG), **_EDGE)
    _numbers(axes, [(places[c.stock], x, y) for c, x, y in zip(cars, weeks, over, strict=True)
                    if c.old], narrow=narrow)  # fmt: skip
    return figure


def _weeks(car: ReviewedCar) -> float:
    return (car.days_listed or 0) / 7


def _numbers(axes: Axes, marks: list[tuple[int, float, float]], *, narrow: bool) -> None:
    """Write numbers beside their marks, the first ones first, where there is room."""
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    wide, tall = (0.08, 0.06) if narrow else (0.04, 0.06)
    taken: list[tuple[float, float]] = []
    for number, x, y in sorted(marks):
        at = (x - left) / (right - left), (y - low) / (high - low)
        if any(abs(at[0] - a) < wide and abs(at[1] - b) < tall for a, b in taken):
            continue
        taken.append(at)
        write_text(axes, x, y, str(number), shift=6, fontsize=9, va="bottom", zorder=5)


def age_chart(review: StockReview) -> Chart:
    """Return the chart of ages and prices with its text alternative."""
    wide, narrow = in_both_widths(
        lambda slim: age_figure(review, narrow=slim),
        name="stock-age",
        title="Weeks on offer and what is asked over the estimate",
        description=_describe_ages(review),
    )
    return Chart(wide, narrow, _AGE_CAPTION.format(days=review.old_after_days))


def _describe_ages(review: StockReview) -> str:
    old = [c for c in review.to_decide if c.over_estimate is not None]
    young = [c for c in drawn(review) if not c.old]
    said = [f"{len(old) + len(young):,} cars."]
    for k, car in enumerate(review.to_decide[:_NAMED], start=1):
        if car.over_estimate is not None:
            said.append(f"{k}, {car.stock}: {_place(car)}, to decide.")
    said += [f"{car.stock}: {_place(car)}." for car in young[:_NAMED]]
    more = max(len(review.to_decide) - _NAMED, 0) + max(len(young) - _NAMED, 0)
    if more:
        said.append(f"{more:,} more stand in the table.")
    return " ".join(said)


def _place(car: ReviewedCar) -> str:
    return f"{_weeks(car):.0f} weeks, {percent(car.over_estimate or 0.0, signed=True)}"


def worth_figure(worth: StockWorth, currency: str, *, narrow: bool = False) -> Figure:
    """Draw the worth of the stock with its range above the money in it."""
    figure, axes = blank_axes(3.7 if narrow else 7.4, 2.6 if narrow else 1.6)
    rows = _worth_rows(worth)
    apart = apart_ends(worth)
    ends = [worth.lower, worth.upper, *apart, *(x for _, x in rows)]
    room = 0.2 * (max(ends) - min(ends)) or 1.0
    axes.set_xlim(max(0.0, min(ends) - room), max(ends) + room)
    axes.set_ylim(-2.6, 0.9)
    for place, (name, amount) in enumerate(rows):
        y = -float(place)
        _worth_label(axes, name, y, narrow=narrow)
        style = _OLD if place else _YOUNG | {"markersize": 7.5}
        axes.plot([amount], [y], **style, **_EDGE)
        end = worth.upper if not place else amount
        write_text(axes, end, y, format_money(amount, ""), shift=8, fontweight="bold")
    axes.plot([worth.lower, worth.upper], [0, 0], color=INK, linewidth=2.0, zorder=3)
    axes.plot(apart, [0, 0], "|", color=INK, markersize=11, zorder=3)
    money_axis(axes, currency, 3 if narrow else 6)
    return figure


def _worth_rows(worth: StockWorth) -> list[tuple[str, float]]:
    return [
        ("Worth today", worth.worth),
        ("Paid and spent", worth.cost),
        ("With holding so far", worth.cost + worth.holding),
    ]


def apart_ends(worth: StockWorth) -> list[float]:
    """Return about where the range would end if the cars had nothing in common."""
    share = worth.sd_apart / worth.sd if worth.sd > 0 else 1.0
    return [worth.worth + share * (end - worth.worth) for end in (worth.lower, worth.upper)]


def _worth_label(axes: Axes, name: str, y: float, *, narrow: bool) -> None:
    left = axes.get_xlim()[0]
    if narrow:
        write_text(axes, left, y + 0.42, name, fontsize=9)
    else:
        write_text(axes, left, y, name, ha="right", shift=-8)


def worth_chart(worth: StockWorth, currency: str) -> Chart:
    """Return the chart of worth and cost with its text alternative."""
    said = [f"{name}: {format_money(amount, currency)}." for name, amount in _worth_rows(worth)]
    for words, ends in (
        ("80% range of the worth", (worth.lower, worth.upper)),
        ("With nothing in common", apart_ends(worth)),
    ):
        low, high = (format_money(x, "") for x in ends)
        said.append(f"{words}: {low} to {high}.")
    wide, narrow = in_both_widths(
        lambda slim: worth_figure(worth, currency, narrow=slim),
        name="stock-worth",
        title="What the stock is worth and what is in it",
        description=" ".join(said),
    )
    return Chart(wide, narrow, _WORTH_CAPTION)


def _decided(review: StockReview) -> tuple[ReviewedCar, ...]:
    return tuple(c for c in review.to_decide if c.ways)[:_ROWS]


def decide_figure(review: StockReview, *, narrow: bool = False) -> Figure:
    """Draw what ways out leave against holding, car by car, most to gain first."""
    cars = _decided(review)
    tall = 0.5 if narrow else 0.3
    figure, axes = blank_axes(3.7 if narrow else 7.4, tall * len(cars) + 0.8)
    ends = [0.0, *(x for c in cars for _, x in _against(c))]
    room = 0.08 * (max(ends) - min(ends)) or 1.0
    axes.set_xlim(min(ends) - room, max(ends) + (3.2 if narrow else 1.0) * room)
    axes.set_ylim(-len(cars) + 0.4, 0.8 if narrow else 0.6)
    money_axis(axes, review.currency, 4 if narrow else 6)
    axes.axvline(0, color=INK, linewidth=1.2, zorder=1)
    for row, car in enumerate(cars):
        _decide_row(axes, row, car, narrow=narrow)
    return figure


def _against(car: ReviewedCar) -> list[tuple[str, float]]:
    """Return the other ways out with what they leave more than holding."""
    hold = car.ways[0]
    return [(w.name, w.beyond - hold.beyond) for w in car.ways[1:]]


def _decide_row(axes: Axes, row: int, car: ReviewedCar, *, narrow: bool) -> None:
    (left, right), y = axes.get_xlim(), -float(row)
    name = f"{row + 1}  {car.stock}  {car.car}"
    for way, leaves in _against(car):
        axes.plot([0, leaves], [y, y], color=QUIET, linewidth=0.8, zorder=2)
        axes.plot([leaves], [y], **_WAYS[way], **_EDGE)
    if not narrow:
        write_text(axes, left, y, shorten(name, 40), ha="right", shift=-8)
        write_text(axes, right, y, _gain(car), shift=6, fontweight="bold")
        return
    ground = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.6}
    write_text(axes, left, y + 0.45, shorten(name, 40), fontsize=9, bbox=ground, zorder=5)
    write_text(axes, right, y, _gain(car), shift=-2, fontweight="bold", ha="right")


def _gain(car: ReviewedCar) -> str:
    return format_money(car.gain, "", signed=True) if round(car.gain) else "hold"


def decide_chart(review: StockReview) -> Chart | None:
    """Return the chart of what to decide first; None where nothing can be set side by side."""
    cars = _decided(review)
    if not cars:
        return None
    said = []
    for k, car in enumerate(cars, start=1):
        leaves = ", ".join(f"{n} {format_money(x, '', signed=True)}" for n, x in _against(car))
        said.append(f"{k}, {car.stock}, {car.car}: {leaves}; {_gain(car)}.")
    wide, narrow = in_both_widths(
        lambda slim: decide_figure(review, narrow=slim),
        name="stock-decide",
        title=f"What each way out leaves against holding, {review.currency}",
        description=" ".join(said),
    )
    return Chart(wide, narrow, _DECIDE_CAPTION)
