"""The section of the customer's sheet that says what the car is worth, and what is asked."""

from __future__ import annotations

from valuation.money import format_money
from valuation.report.page import Block, Figures, Paragraph, Section
from valuation.report.sheet_points_chart import points_chart
from valuation.report.words import in_hundred, percent, range_words
from valuation.results.customer_sheet import CustomerSheet
from valuation.results.customer_sheet_words import asking_words, evidence_words, rank_words
from valuation.results.valuation import NoRange

__all__ = ["worth_section"]

_LARGE = 60
"""Per cent of steps beyond which a sale says little, see the closest sales."""


def worth_section(sheet: CustomerSheet) -> Section:
    """Return the section with range, central estimate and asking price.

    Parameters
    ----------
    sheet : CustomerSheet
        What to show.

    Returns
    -------
    Section
        Figures, what they are, how strong the evidence is, and each comparable sale brought to
        this car, over time.
    """
    dated = sheet.as_of is not None
    blocks: list[Block] = [_figures(sheet)]
    if isinstance(sheet.range, NoRange):
        blocks.append(Paragraph(f"No range is given. {sheet.range.reason}", "warning"))
    blocks.append(Paragraph(f"All amounts are for a car {sheet.meaning}."))
    if sheet.asking is not None:
        rank = rank_words(sheet.asking, dated=dated, offers=sheet.offers)
        blocks.append(Paragraph(f"{asking_words(sheet.asking, sheet.currency)} {rank}"))
    blocks.append(Paragraph(f"Evidence. {evidence_words(sheet.evidence)}"))
    if dated and sheet.points:
        blocks.append(points_chart(sheet))
    if sheet.far:
        blocks.append(Paragraph(_far(sheet), "quiet"))
    return Section("worth", "What it is worth", tuple(blocks))


def _figures(sheet: CustomerSheet) -> Figures:
    money = sheet.currency
    meaning = "As likely to bring more as to bring less."
    if sheet.evidence.outside:
        meaning = "A guess: the car lies outside what the sales have seen."
    middle = ("Central estimate", format_money(sheet.central, money), meaning)
    if isinstance(sheet.range, NoRange):
        first = ("Price range", "none", "See the reason below.")
    else:
        level = sheet.range.level
        name = f"{percent(100 * level)} range"
        first = (name, range_words(sheet.range, money), in_hundred(level))
    if sheet.asking is None:
        return Figures((first, middle))
    asked = sheet.asking
    side = "above" if asked.above > 0 else "below"
    apart = f"{format_money(abs(asked.above), money)} {side} the central estimate."
    said = apart if asked.above else "The central estimate itself."
    return Figures((first, middle, ("Asking price", format_money(asked.amount, money), said)))


def _far(sheet: CustomerSheet) -> str:
    noun, every = "offer" if sheet.offers else "sale", len(sheet.points)
    if every > sheet.far:
        which = f"{sheet.far:,} of the {every:,} comparable {noun}s"
    else:
        which = f"All {every:,} comparable {noun}s"
    verb = "differs" if sheet.far == 1 else "differ"
    return (
        f"{which} {verb} from this car by more than {_LARGE}% of the price, all steps counted "
        "without their sign: each of them alone says little, together they say more."
    )
