"""The sheet that a salesperson hands to a customer: what a car is worth, why, and what is open."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from valuation.money import format_money
from valuation.results.customer_sheet_parts import (
    STANDINGS,
    AdjustedSale,
    AskingPrice,
    CarFact,
    CarPicture,
    GridSale,
    LineCourse,
    NoCourse,
    OpenQuestion,
    PriceLine,
    SheetEvidence,
)
from valuation.results.customer_sheet_words import (
    asking_words,
    counted,
    evidence_words,
    question_words,
    rank_words,
    rest_words,
)
from valuation.results.valuation import NoRange, PriceRange

__all__ = ["CustomerSheet"]

FORMAT = 1
"""Version of the machine-readable form."""


@dataclass(frozen=True)
class CustomerSheet:
    """What a customer may see of one car's price; nothing in it tells what the firm paid.

    Parameters
    ----------
    heading : str
        Year, make, model, variant and body.
    basics : tuple of CarFact
        What car it is: engine, gearbox, mileage, colours.
    picture : CarPicture or None
        The car.
    as_of : datetime.date or None
        Day of the sheet; None for an undated list.
    currency : str
        ISO 4217 code of all amounts.
    meaning : str
        What the amounts are, such as "sold by a dealer, the price paid".
    offers : bool
        True where the evidence is of offers and asking prices, not of sales.
    central : int
        Central estimate, whole currency units.
    range : PriceRange or NoRange
        The range; its bounds are whole units.
    asking : AskingPrice or None
        The firm's asking price beside them.
    start_label, start : str, int
        The typical car and its price.
    lines : tuple of PriceLine
        From start to central, largest first, remainders last.
    points : tuple of AdjustedSale
        Comparable sales brought to this car, oldest first.
    far : int
        How many of them differ a lot from this car.
    sales : tuple of GridSale
        The closest ones side by side.
    course : LineCourse or NoCourse
        The market of the model line.
    papers : tuple of CarFact
        Documents.
    findings : tuple of CarFact
        State, originality and history of the car.
    questions : tuple of OpenQuestion
        What is open, contradictions first.
    evidence : SheetEvidence
        How much stands behind it.
    notes : tuple of str
        What must be said about this car's figures.
    version : str
        Version of the model.
    cautions : tuple of str
        What the reader must know before relying on it.
    """

    heading: str
    basics: tuple[CarFact, ...]
    picture: CarPicture | None
    as_of: date | None
    currency: str
    meaning: str
    offers: bool
    central: int
    range: PriceRange | NoRange
    asking: AskingPrice | None
    start_label: str
    start: int
    lines: tuple[PriceLine, ...]
    points: tuple[AdjustedSale, ...]
    far: int
    sales: tuple[GridSale, ...]
    course: LineCourse | NoCourse
    papers: tuple[CarFact, ...]
    findings: tuple[CarFact, ...]
    questions: tuple[OpenQuestion, ...]
    evidence: SheetEvidence
    notes: tuple[str, ...]
    version: str
    cautions: tuple[str, ...]

    def summary(self) -> str:
        """Return the sheet as plain text, with the same numbers as the page."""
        return "\n".join(_text(self))

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``), as safe for customers as the page."""
        out: dict[str, Any] = {"format": FORMAT} | asdict(self)
        out["as_of"] = self.as_of.isoformat() if self.as_of else None
        picture = self.picture
        out["picture"] = picture and {"width": picture.width, "height": picture.height}
        if isinstance(self.range, PriceRange):
            r = self.range
            out["range"] = {"level": r.level, "lower": round(r.lower), "upper": round(r.upper)}
        for point in out["points"]:
            point["on"] = point["on"].isoformat() if point["on"] else None
        for line in out["lines"]:
            share = line["evidence_share"]
            line["evidence_share"] = None if share is None else round(share, 2)
        for sale in out["sales"]:
            sale |= {"net": round(sale["net"]), "gross": round(sale["gross"])}
        return out


def _text(sheet: CustomerSheet) -> Iterator[str]:
    money = sheet.currency
    day = f" on {sheet.as_of.isoformat()}" if sheet.as_of else ""
    yield f"{sheet.heading}{day}"
    yield from (f"  {f.label}: {f.value} ({STANDINGS[f.standing]})" for f in sheet.basics)
    yield ""
    yield f"What it is worth ({sheet.meaning})"
    if isinstance(sheet.range, PriceRange):
        low = format_money(sheet.range.lower, "")
        high = format_money(sheet.range.upper, money)
        yield f"  {sheet.range.level:.0%} range         {low} to {high}"
    else:
        yield f"  no range: {sheet.range.reason}"
    yield f"  central estimate  {format_money(sheet.central, money)}"
    yield f"  {evidence_words(sheet.evidence)}"
    if sheet.asking is not None:
        yield f"  {asking_words(sheet.asking, money)}"
        dated = sheet.as_of is not None
        yield f"  {rank_words(sheet.asking, dated=dated, offers=sheet.offers)}"
    yield ""
    yield from _lines_text(sheet)
    yield from _sales_text(sheet)
    yield from _facts_text(sheet)
    yield ""
    yield from (f"  note: {text}" for text in sheet.notes)
    yield from (f"  caution: {text}" for text in sheet.cautions)
    yield f"  model {sheet.version}, {counted(sheet.evidence.all_sales, 'sale')}"


def _lines_text(sheet: CustomerSheet) -> Iterator[str]:
    yield f"What raised and what lowered the price, {sheet.currency}"
    yield f"  {sheet.start_label[:57]:<58}{format_money(sheet.start, ''):>12}"
    for line in sheet.lines:
        text = f"{line.label}: {line.value}" if line.value else line.label
        amount = format_money(line.amount, "", signed=True)
        yield f"  {text[:57]:<58}{amount:>12}  {rest_words(line)}".rstrip()
    yield f"  {'= central estimate':<58}{format_money(sheet.central, ''):>12}"


def _sales_text(sheet: CustomerSheet) -> Iterator[str]:
    if not sheet.sales:
        yield from ("", "No sale is close enough to be compared.")
    for sale in sheet.sales:
        yield ""
        yield f"Sale {sale.number}: {sale.title}, {sale.when} ({sale.how})"
        yield f"  {'price':<58}{format_money(sale.price, ''):>12}"
        for step in (s for s in sale.steps if s.amount):
            values = f"{step.theirs} to {step.ours}" if step.theirs and step.ours else ""
            text = f"{step.label}: {values}" if values else step.label
            yield f"  {text[:57]:<58}{format_money(step.amount, '', signed=True):>12}"
        yield f"  {'= as this car':<58}{format_money(sale.adjusted, ''):>12}"


def _facts_text(sheet: CustomerSheet) -> Iterator[str]:
    yield from ("", "Papers and facts")
    for fact in (*sheet.papers, *sheet.findings):
        yield f"  {fact.label}: {fact.value} ({STANDINGS[fact.standing]})"
    yield from (f"  open: {question_words(q, sheet.currency)}" for q in sheet.questions)
    if isinstance(sheet.course, NoCourse):
        yield from ("", sheet.course.reason)
        return
    yield from ("", f"The market of the {sheet.course.name}, {sheet.currency}")
    for m in sheet.course.months[:: -max(len(sheet.course.months) // 6, 1)]:
        yield f"  {m.month}  {format_money(m.amount, '')}"
