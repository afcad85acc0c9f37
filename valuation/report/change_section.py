"""What moved between two models as sections, as a page, and for a notebook."""

from __future__ import annotations

from collections.abc import Sequence

from valuation.money import format_money
from valuation.report.index_section import revision_section
from valuation.report.notebook import Shown
from valuation.report.page import Block, Bullets, Cell, Grid, Page, Paragraph, Section
from valuation.report.render import render_page
from valuation.report.words import STANDING_CAUTION, capital, day, percent, plural, shorten
from valuation.results.change import (
    AttributeChange,
    CarChange,
    Cause,
    LineChange,
    ModelChange,
    sales_words,
)
from valuation.results.words import INTERNAL

__all__ = [
    "causes_section",
    "change_page",
    "effects_section",
    "panel_section",
    "render_changes",
    "show_changes",
]

SHOWN_EFFECTS = 25
"""Effects that stand on the page: all that moved, and the largest other steps."""

SHOWN_CARS = 6
"""Cars whose causes stand on the page: those of the firm, then those that moved most."""

SHOWN_CAUSES = 3
"""Sales that stand on the page for each car, each way."""

SHOWN_LINES = 6
"""Lines of an explanation that stand on the page; the others are one line."""


def render_changes(change: ModelChange) -> str:
    """Return what moved between two models as one self-contained HTML document.

    Parameters
    ----------
    change : ModelChange
        What to show.

    Returns
    -------
    str
        The document; the same change gives the same text.
    """
    return render_page(change_page(change))


def change_page(change: ModelChange) -> Page:
    """Return the page as data: panel, causes, effects, levels, what it rests on."""
    before, after = day(change.old_as_of), day(change.new_as_of)
    return Page(
        "What moved between two models",
        f"From the model of {before} to that of {after}",
        (*_sections(change), _trust_section(change)),
        about="change between models",
        notice=INTERNAL,
    )


def show_changes(change: ModelChange) -> Shown:
    """Show in a notebook what moved between two models."""
    return Shown(tuple(_sections(change)), change.summary())


def _sections(change: ModelChange) -> list[Section]:
    sections = [panel_section(change)]
    if any(car.up or car.down for car in change.cars):
        sections.append(causes_section(change))
    sections.append(effects_section(change))
    if change.index is not None and change.index.against is not None:
        sections.append(revision_section(change.index))
    return sections


def panel_section(change: ModelChange) -> Section:
    """Return what each car of the panel was and is worth, and what made the difference."""
    money = change.currency
    said = (
        f"The earlier model rests on {plural(change.old_sales, 'sale')}, the later one on "
        f"{change.new_sales:,}: {sales_words(change)}. Both price the same cars for the same day."
    )
    columns = ("Car", "Earlier", "Later", "By sales", "Closest sales", "Re-estimated", "Change")
    grid = Grid(
        f"The panel by both models, {money}",
        (Cell(columns[0]), *(Cell(c, number=True) for c in columns[1:])),
        tuple(_panel_row(car) for car in change.cars),
        style="moved",
    )
    blocks: tuple[Block, ...] = (Paragraph(said, "lead"),)
    if change.cars:
        blocks += (
            grid,
            Paragraph(
                "By sales: the sales that came, went or were corrected, all else kept. "
                "Re-estimated: what learning penalties, weights, columns and calibration anew did "
                "beside it. The three add up to the change.",
                "quiet",
            ),
        )
    return Section("change-panel", "Cars priced by both", blocks)


def _panel_row(car: CarChange) -> tuple[Cell, ...]:
    note = "" if car.typical else "car of the firm"
    parts = (car.from_sales, car.closest_sales, car.rest)
    return (
        Cell(car.car, note),
        Cell(format_money(car.old, ""), number=True),
        Cell(format_money(car.new, ""), number=True),
        *(Cell(format_money(part, "", signed=True), number=True) for part in parts),
        Cell(format_money(car.step, "", signed=True), f"{car.percent:+.1f}%", number=True),
    )


def causes_section(change: ModelChange) -> Section:
    """Return the sales that moved each car most, and the lines of its explanation that moved."""
    blocks: list[Block] = [
        Paragraph(
            "A sale moves a price by what it brought beyond what the earlier model expected of it, "
            "as far as it tells of this car. One that stands out may be an error of the record: "
            "look at it before you trust the step."
        )
    ]
    ranked = sorted(change.cars, key=lambda car: (car.typical, -abs(car.percent)))
    if len(ranked) > SHOWN_CARS:
        said = f"Shown are {SHOWN_CARS} of {len(ranked)} cars: those of the firm first, then those "
        blocks.append(Paragraph(f"{said}that moved most.", "quiet"))
    for car in ranked[:SHOWN_CARS]:
        if car.up or car.down:
            blocks.append(_cause_grid(car, change.currency))
        if any(line.step for line in car.lines):
            blocks.append(_line_grid(car, change.currency))
    return Section("change-causes", "What moved each car", tuple(blocks))


def _cause_grid(car: CarChange, currency: str) -> Grid:
    causes = sorted(
        (*car.up[:SHOWN_CAUSES], *car.down[:SHOWN_CAUSES]), key=lambda c: -abs(c.amount)
    )
    heads = ("Sale", "Brought", "Expected", "Moved it by")
    return Grid(
        f"{car.car}: the sales that moved it most, of {car.sales:,}; {currency}",
        (Cell(heads[0]), *(Cell(h, number=True) for h in heads[1:])),
        tuple(_cause_row(c) for c in causes),
        style="moved",
    )


def _cause_row(c: Cause) -> tuple[Cell, ...]:
    off = percent(100.0 * (c.price / c.expected - 1.0), signed=True)
    return (
        Cell(shorten(c.title, 70), f"{c.kind}; {day(c.sale_date)}; {c.where}"),
        Cell(format_money(round(c.price), ""), number=True),
        Cell(format_money(round(c.expected), ""), off, number=True),
        Cell(format_money(round(c.amount), "", signed=True), f"{c.percent:+.2f}%", number=True),
    )


def _line_grid(car: CarChange, currency: str) -> Grid:
    heads = ("Line", "Earlier", "Later", "Change")
    lines = _largest(car.lines)
    total = LineChange("central", "Central estimate", "", car.old, car.new)
    return Grid(
        f"{car.car}: lines of its explanation that moved; {currency}",
        (Cell(heads[0]), *(Cell(h, number=True) for h in heads[1:])),
        tuple(_line_row(line) for line in (*lines, total)),
        totals=(len(lines),),
        style="small",
    )


def _largest(lines: Sequence[LineChange]) -> list[LineChange]:
    """Return the start, the lines that moved most in their order, and all others as one."""
    start, *rest = lines
    ranked = sorted(range(len(rest)), key=lambda i: (-abs(rest[i].step), i))
    chosen = sorted(i for i in ranked[:SHOWN_LINES] if rest[i].step)
    others = [line for i, line in enumerate(rest) if i not in chosen]
    kept = [start, *(rest[i] for i in chosen)]
    if any(line.old or line.new for line in others):
        name = plural(len(others), "other line")
        amounts = sum(line.old for line in others), sum(line.new for line in others)
        kept.append(LineChange("others", name, "", *amounts))
    return kept


def _line_row(line: LineChange) -> tuple[Cell, ...]:
    signed = line.attribute not in ("start", "central")
    return (
        Cell(capital(line.label), shorten(line.value, 60)),
        Cell(format_money(line.old, "", signed=signed), number=True),
        Cell(format_money(line.new, "", signed=signed), number=True),
        Cell(format_money(line.step, "", signed=True), number=True),
    )


def effects_section(change: ModelChange) -> Section:
    """Return the effects of the attributes by both models, those that moved first."""
    moved = sum(a.moved for a in change.attributes)
    shown = change.attributes[: max(SHOWN_EFFECTS, moved)]
    if not shown:
        none = Paragraph("No attribute is stated by enough sales.")
        return Section("change-effects", "Effects of the attributes", (none,))
    said = (
        f"Of {plural(len(change.attributes), 'effect')}, {moved} moved so far that one model's "
        "lies outside the 90% interval of the other. Each is the mean over the same sales, all "
        "stated one way against all stated the other."
    )
    heads = ("Attribute", "Sales", "Earlier", "Later", "Step")
    grid = Grid(
        f"Effect on the price in per cent, with its 90% interval; {len(shown)} of "
        f"{len(change.attributes)}",
        (Cell(heads[0]), *(Cell(h, number=True) for h in heads[1:])),
        tuple(_effect_row(a) for a in shown),
        style="moved",
    )
    return Section("change-effects", "Effects of the attributes", (Paragraph(said), grid))


def _effect_row(a: AttributeChange) -> tuple[Cell, ...]:
    old = Cell("–", "no such sale", number=True)
    if a.old is not None and a.old_low is not None and a.old_high is not None:
        old = _effect(a.old, a.old_low, a.old_high)
    step = "–" if a.old is None else f"{a.step:+.1f}"
    return (
        Cell(a.label, a.contrast),
        Cell(f"{a.sales:,}", number=True),
        old,
        _effect(a.new, a.new_low, a.new_high),
        Cell(step, "", "moved" if a.moved else "", number=True),
    )


def _effect(middle: float, low: float, high: float) -> Cell:
    return Cell(f"{middle:+.1f}%", f"{low:+.1f} to {high:+.1f}", number=True)


def _trust_section(change: ModelChange) -> Section:
    said = (*change.notes, STANDING_CAUTION)
    return Section("trust", "Before you rely on it", (Bullets(said),))
