"""The page of the stock: charts first, then what to decide, then every car."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from valuation.money import format_money
from valuation.report.page import Block, Bullets, Cell, Figures, Grid, Page, Paragraph, Section
from valuation.report.render import render_page
from valuation.report.stock_charts import (
    age_chart,
    apart_ends,
    decide_chart,
    drawn,
    worth_chart,
)
from valuation.report.words import STANDING_CAUTION, capital, day, percent, plural
from valuation.results.stock_parts import CarWorth, StockWorth, WayOut
from valuation.results.stock_review import NO_PROMISE, ReviewedCar, StockReview
from valuation.results.words import INTERNAL

__all__ = ["render_stock", "stock_page"]


def render_stock(review: StockReview) -> str:
    """Return a review of the stock as one self-contained HTML document."""
    return render_page(stock_page(review))


def stock_page(review: StockReview) -> Page:
    """Return the page of a review of the stock as data.

    Parameters
    ----------
    review : StockReview
        What to show.

    Returns
    -------
    Page
        The stock as charts, what to decide first, every car, what moved, what it rests on.
    """
    return Page(
        "The stock",
        review.counted,
        tuple(_sections(review)),
        about="every car of the firm",
        notice=INTERNAL,
        landscape=True,
    )


def _sections(review: StockReview) -> Iterator[Section]:
    yield Section("glance", "At a glance", tuple(_glance(review)))
    yield Section("decide", "What to decide first", tuple(_decide(review)))
    if review.drifted:
        yield Section("moved", "What moved", tuple(_moved(review)))
    if review.cars:
        told = (_every_car(review), Paragraph(_HOW_TO_READ, "quiet"))
        yield Section("cars", "Every car", told)
    yield Section("rests", "What this rests on", tuple(_rests(review)))


def _glance(review: StockReview) -> Iterator[Block]:
    if not review.cars:
        yield Paragraph("The ledger has no car in stock.", "warning")
        return
    if review.worth:
        yield _figures(review, review.worth)
    if len(drawn(review)) >= 2:
        yield age_chart(review)
    if review.worth:
        yield worth_chart(review.worth, review.currency)
        low, high = (format_money(end, "") for end in apart_ends(review.worth))
        yield Paragraph(
            f"If the cars had nothing in common, the range would be {low} to {high}: what they "
            "share does not cancel in the sum.",
            "quiet",
        )
        left = [f"{capital(plural(n, 'car'))} not counted: {why}." for why, n in
                review.worth.left_out]  # fmt: skip
        if left:
            yield Bullets(tuple(left))
    else:
        yield Paragraph("No car has both a range and a stated purchase: nothing to add up.")


def _figures(review: StockReview, worth: StockWorth) -> Figures:
    ends = f"{format_money(worth.lower, '')} to {format_money(worth.upper, review.currency)}"
    return Figures(
        (
            ("Worth of the stock", review.money(worth.worth), f"80% range {ends}"),
            (
                "Paid and spent",
                review.money(worth.cost),
                f"{format_money(worth.holding, '')} of holding so far not counted",
            ),
            ("Chance to be worth less", _chance(worth.below_cost), "than was paid and spent"),
            (
                "To decide",
                plural(len(review.to_decide), "car"),
                f"on offer for {review.old_after_days} days and more",
            ),
        )
    )


def _chance(share: float) -> str:
    if 0 < share < 0.005:
        return "under 1%"
    return "over 99%" if 0.995 < share < 1 else percent(100 * share)


def _decide(review: StockReview) -> Iterator[Block]:
    if not review.to_decide:
        yield Paragraph(f"No car has been on offer for {review.old_after_days} days.")
        return
    chart = decide_chart(review)
    if chart:
        yield chart
    rows = tuple(
        row for k, car in enumerate(review.to_decide, start=1) for row in _way_rows(k, car, review)
    )
    columns = (
        Cell("No. and car"),
        Cell("Way out"),
        Cell("Asked", number=True),
        Cell(f"Sold within {review.target_days} days", number=True),
        Cell("Days to the money", number=True),
        Cell("Holding till then", number=True),
        Cell(f"Expected net, {review.currency}", number=True),
        Cell("Against holding, with what the money earns elsewhere", number=True),
    )
    yield Grid("Ways out of each car to decide about", columns, rows, style="stock ways")
    yield Paragraph(_ABOUT_WAYS, "quiet")
    yield Paragraph(f"Chances rest on: {review.basis}. {review.elsewhere}", "quiet")


_ABOUT_WAYS = (
    "Net is what the car earns in the mean after every cost, past ones included; cars not sold at "
    "last go to auction. The last column counts as well what the money in the car would earn "
    "elsewhere until it is free: by it the best way is chosen. A new asking price is the best one "
    "clearly below the present one, as nobody took that for so long; valuation ask weighs higher "
    "ones too. At auction a car goes at what is bid. Second lines hold the chance, or the mean, "
    "with 80%, and not what can happen to one car. Mind before you decide: offers in hand, a "
    "season ahead, work that is not done."
)

_HOW_TO_READ = (
    "Worth: central estimate with its 80% range. At the purchase: what was said then, else "
    "today's model moved back by the level of the market, which knows no more of the past than "
    "how the market moved. Holding so far follows from the cost settings."
)


def _way_rows(number: int, car: ReviewedCar, review: StockReview) -> Iterator[tuple[Cell, ...]]:
    name = f"{number}  {car.stock}"
    if not car.ways:
        blank = (Cell(""),) * 6
        why = " ".join(car.notes) or "Not all is known that a comparison needs."
        yield Cell(name, car.car), Cell("not compared", why), *blank
        return
    for k, way in enumerate(car.ways):
        yield Cell(name, "" if k else car.car), *_way_cells(way, car)


def _way_cells(way: WayOut, car: ReviewedCar) -> tuple[Cell, ...]:
    chance = Cell("at what is bid", number=True)
    if way.chance:
        ends = f"{100 * way.chance.lower:.0f}% to {100 * way.chance.upper:.0f}%"
        chance = Cell(percent(100 * way.chance.chance), ends, number=True)
    band = ""
    if way.lower is not None and way.upper is not None:
        band = f"{format_money(way.lower, '')} to {format_money(way.upper, '')}"
    return (
        Cell(capital(way.name), mark="leaves most" if way is car.best else ""),
        Cell("" if way.ask is None else format_money(way.ask, ""), number=True),
        chance,
        Cell(f"{way.days:.0f}", number=True),
        Cell(format_money(way.cost, ""), number=True),
        Cell(format_money(way.net, ""), band, number=True),
        Cell(format_money(way.beyond - car.ways[0].beyond, "", signed=True), number=True),
    )


def _moved(review: StockReview) -> Iterator[Block]:
    columns = (
        Cell("Car"),
        Cell("Together", number=True),
        Cell("Level of the market", number=True),
        Cell("The model", number=True),
        Cell("Worth today", number=True),
    )
    rows = tuple(
        (
            Cell(car.stock, car.car),
            Cell(_signed(car.drift.total), number=True),
            Cell(_signed(car.drift.market), number=True),
            Cell("not known" if car.drift.model is None else _signed(car.drift.model), number=True),
            _worth_cell(car.now),
        )
        for car in review.drifted
        if car.drift
    )
    said = f"Estimates that moved by more than {review.drift_percent:g}% since {day(review.since)}"
    yield Grid(said, columns, rows, style="stock moved")
    yield Paragraph(
        "The model: what today's says otherwise than the earlier one of the same car on the same "
        "day, from sales that came in since. A car that moved much deserves a look at its facts.",
        "quiet",
    )


def _signed(per_cent: float) -> str:
    return f"{per_cent:+.1f}%"


def _every_car(review: StockReview) -> Grid:
    columns = (
        Cell("Car"),
        Cell(f"Asked, {review.currency}", number=True),
        Cell("Worth today", number=True),
        Cell("At the purchase", number=True),
        Cell("Moved", number=True),
        Cell("Weeks in stock", number=True),
        Cell("Paid", number=True),
        Cell("Spent", number=True),
        Cell("Holding so far", number=True),
        Cell("Mind"),
    )
    rows = tuple(_car_row(car) for car in review.cars)
    return Grid("One line for each car, oldest first", columns, rows, style="stock every")


def _car_row(car: ReviewedCar) -> tuple[Cell, ...]:
    over = "" if car.over_estimate is None else f"{percent(car.over_estimate, signed=True)}"
    weeks = "" if car.days_in_stock is None else f"{car.days_in_stock / 7:.0f}"
    listed = f"on offer {car.days_listed / 7:.0f}" if car.days_listed is not None else ""
    facts = f"Known from: {car.facts}." if car.facts != "car file" else ""
    return (
        Cell(car.stock, car.car),
        Cell(_amount(car.ask), over, number=True),
        _worth_cell(car.now),
        _worth_cell(car.then, source=True),
        Cell(_signed(car.drift.total) if car.drift else "", number=True),
        Cell(weeks, listed, mark="to decide" if car.old else "", number=True),
        Cell(_amount(car.paid), number=True),
        Cell(_amount(car.spent), number=True),
        Cell(_amount(car.holding), number=True),
        Cell(" ".join(car.notes), facts),
    )


def _amount(amount: Decimal | None) -> str:
    return "" if amount is None else format_money(float(amount), "")


def _worth_cell(worth: CarWorth | None, *, source: bool = False) -> Cell:
    if worth is None:
        return Cell("not known", number=True)
    ends = "no range"
    if worth.lower is not None and worth.upper is not None:
        ends = f"{format_money(worth.lower, '')} to {format_money(worth.upper, '')}"
    said = "" if not source else "; moved back" if "moved back" in worth.source else "; said then"
    return Cell(format_money(worth.central, ""), ends + said, number=True)


def _rests(review: StockReview) -> Iterator[Block]:
    said = [
        f"Estimates: what the cars bring in the channel “{review.channel}”.",
        f"Chances to sell: {review.basis}.",
        *review.notes,
    ]
    yield Bullets((*said, NO_PROMISE, STANDING_CAUTION))
