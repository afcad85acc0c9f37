"""Sections about two cars side by side."""

from __future__ import annotations

from valuation.money import format_money
from valuation.report.beside_chart import beside_chart
from valuation.report.page import Block, Bullets, Cell, Figures, Grid, Paragraph, Section
from valuation.report.words import STANDING_CAUTION, capital
from valuation.results.beside import Beside
from valuation.results.beside_parts import BesideCar, BesidePrice, DifferenceLine, LeftOut
from valuation.results.beside_words import (
    better_buy_words,
    chance_in_hundred,
    difference_words,
    gap_words,
    place_words,
    price_words,
    range_line,
    rests_on_words,
    strength_words,
)

__all__ = [
    "beside_answer_section",
    "beside_cautions_section",
    "beside_evidence_section",
    "beside_lines_section",
    "beside_prices_section",
    "beside_sections",
    "left_out_section",
]


def beside_sections(found: Beside) -> tuple[Section, ...]:
    """Return every section that a comparison has something for, in order.

    Parameters
    ----------
    found : Beside
        What to show.

    Returns
    -------
    tuple of Section
        The answer, prices, the difference line by line, what the other advert leaves out, what
        stands behind it, cautions.
    """
    return (
        beside_answer_section(found),
        *((beside_prices_section(found),) if found.our_price or found.their_price else ()),
        beside_lines_section(found),
        *((left_out_section(found),) if found.left_out else ()),
        beside_evidence_section(found),
        beside_cautions_section(found),
    )


def beside_answer_section(found: Beside) -> Section:
    """Return the section that says what both cars come to, and which is the better buy."""
    money = found.currency
    pairs = tuple(
        (
            name,
            format_money(car.central, money),
            f"{car.heading}. {capital(range_line(car, money))}",
        )
        for name, car in (("This car", found.ours), ("The other car", found.theirs))
    )
    blocks: list[Block] = [Figures(pairs)]
    between = difference_words(found.difference, found.lower, found.upper, money)
    blocks.append(Paragraph(between, "lead"))
    if found.told is not None:
        blocks.append(Paragraph(better_buy_words(found.told), "lead"))
    return Section("answer", "Two cars side by side", tuple(blocks))


def beside_prices_section(found: Beside) -> Section:
    """Return the section that holds the prices against the cars."""
    money = found.currency
    blocks: list[Block] = []
    both = (
        ("This car", found.our_price, found.ours),
        ("The other car", found.their_price, found.theirs),
    )
    rows = tuple(_price_row(name, price, car) for name, price, car in both if price is not None)
    columns = (
        Cell("Car"),
        Cell("Price", number=True),
        Cell("As it is compared", number=True),
        Cell("Central estimate", number=True),
        Cell("Price less estimate", number=True),
    )
    if found.gap is not None:
        blocks.append(Paragraph(gap_words(found.gap, money), "lead"))
    blocks.append(Grid(f"Both prices beside both cars, {money}", columns, rows, style="checks"))
    said = [
        f"{price_words(name, price, money)} {place_words(price, car.central, money)}".rstrip()
        for name, price, car in both
        if price is not None
    ]
    blocks.append(Bullets(tuple(said)))
    return Section("prices", "What the prices make of it", tuple(blocks))


def _price_row(name: str, price: BesidePrice, car: BesideCar) -> tuple[Cell, ...]:
    apart = format_money(price.compared - car.central, "", signed=True) if price.straight else ""
    return (
        Cell(name),
        Cell(
            format_money(price.amount, ""),
            "asked" if price.kind == "asking" else "paid",
            number=True,
        ),
        Cell(format_money(price.compared, "") if price.straight else "", number=True),
        Cell(format_money(car.central, ""), number=True),
        Cell(apart, number=True),
    )


def beside_lines_section(found: Beside) -> Section:
    """Return the section that leads from the other car to this one, line by line."""
    heading = "What sets them apart"
    if not found.lines:
        return Section("apart", heading, (Paragraph("Nothing that is known sets them apart."),))
    columns = (
        Cell("What"),
        Cell("The other car"),
        Cell("This car"),
        Cell(f"Amount, {found.currency}", number=True),
        Cell("90% interval", number=True),
        Cell("Rests on"),
    )
    start = (Cell("The other car"), Cell(""), Cell(""), _amount(found.theirs.central), *_none(2))
    end = (Cell("This car"), Cell(""), Cell(""), _amount(found.ours.central), *_none(2))
    rows = (start, *(_line_row(x) for x in found.lines), end)
    grid = Grid("From the other car to this one", columns, rows, (0, len(rows) - 1), "beside")
    added = (
        "The amounts add up exactly; the intervals don't, each stands for its line alone. What is "
        "said of a car for its model is measured from what is usual there."
    )
    return Section("apart", heading, (beside_chart(found), grid, Paragraph(added, "quiet")))


def _none(count: int) -> tuple[Cell, ...]:
    return (Cell(""),) * count


def _amount(amount: int) -> Cell:
    return Cell(format_money(amount, ""), number=True)


def _line_row(line: DifferenceLine) -> tuple[Cell, ...]:
    interval = ""
    if line.lower is not None and line.upper is not None:
        ends = [format_money(end, "", signed=True) for end in (line.lower, line.upper)]
        interval = " to ".join(ends)
    return (
        Cell(line.label),
        Cell(line.theirs),
        Cell(line.ours),
        Cell(format_money(line.amount, "", signed=True), number=True),
        Cell(interval, number=True),
        Cell(rests_on_words(line)),
    )


def left_out_section(found: Beside) -> Section:
    """Return the section on what the advert of the other car leaves out, with what to ask."""
    columns = (
        Cell("What"),
        Cell("If as on this car", number=True),
        Cell("If bad", number=True),
        Cell("What to ask the seller"),
        Cell(f"Money at stake, {found.currency}", number=True),
    )
    rows = tuple(_left_out_row(x) for x in found.left_out)
    today = format_money(found.theirs.central, found.currency)
    all_as_ours = format_money(found.all_as_ours, found.currency)
    lead = (
        f"This car states what follows, the advert of the other says nothing of it. As it stands "
        f"the other car comes to {today}: that of cars whose sellers are silent. If all of it were "
        f"as on this car, it would come to {all_as_ours}."
    )
    quiet = (
        "Each line gives the central estimate of the other car if this one fact turns out so and "
        "all others stay as they are. Silence says nothing against a car: ask before you judge it."
    )
    blocks = (
        Paragraph(lead),
        Grid("Facts to ask for, most money first", columns, rows, style="checks"),
        Paragraph(quiet, "quiet"),
    )
    return Section("left-out", "What is not said of the other car", blocks)


def _left_out_row(left: LeftOut) -> tuple[Cell, ...]:
    bad = Cell("", "nobody can say", number=True)
    if left.bad is not None and left.bad_chance is not None:
        chance = chance_in_hundred(left.bad_chance)
        bad = _turned_out(left, left.bad, f"{left.if_bad}, {chance} such cars")
    return (
        Cell(left.label),
        _turned_out(left, left.as_ours, left.ours),
        bad,
        Cell(left.question, left.how),
        Cell(format_money(left.stake, ""), number=True),
    )


def _turned_out(left: LeftOut, amount: int, words: str) -> Cell:
    change = format_money(amount - left.today, "", signed=True)
    return Cell(format_money(amount, ""), f"{change}: {words}", number=True)


def beside_evidence_section(found: Beside) -> Section:
    """Return the section on what stands behind the figures."""
    said = [
        f"{name}: {strength_words(car)}"
        for name, car in (("This car", found.ours), ("The other car", found.theirs))
    ]
    return Section("evidence", "What stands behind it", (Bullets((*said, *found.notes)),))


def beside_cautions_section(found: Beside) -> Section:
    """Return the section of cautions."""
    cautions = tuple(dict.fromkeys((*found.cautions, STANDING_CAUTION)))
    return Section("cautions", "Before you rely on it", (Bullets(cautions),))
