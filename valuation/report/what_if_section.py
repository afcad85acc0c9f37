"""Sections of the answers to what-if questions: the answers, what to mind, the sales behind."""

from __future__ import annotations

from collections.abc import Iterator

from valuation.money import format_money
from valuation.report.page import Block, Bullets, Cell, Figures, Grid, Paragraph, Section
from valuation.report.what_if_chart import can_be_drawn, what_if_chart
from valuation.report.words import STANDING_CAUTION, capital, percent, range_words
from valuation.results.valuation import NoRange, PriceRange
from valuation.results.what_if import (
    NEED_NOT_ADD_UP,
    NO_FORECAST,
    NOT_THE_WORK,
    TOGETHER,
    WhatIf,
    WhatIfs,
    change_words,
    evidence_of,
    interval_words,
    pay_back_words,
)
from valuation.results.what_if_parts import AskedCar, StatedSide

__all__ = ["what_if_cautions", "what_if_sections"]


_EVIDENCE = (
    "Evidence is the share of a change that sales show, the rest is starting assumption. The "
    "closest sales are held fixed, and so is all that no question names."
)


def what_if_sections(answers: WhatIf | WhatIfs) -> tuple[Section, ...]:
    """Return the sections of some answers, in the order of the page.

    Parameters
    ----------
    answers : WhatIf or WhatIfs
        What to show.

    Returns
    -------
    tuple of Section
        The answers with chart and table; what to mind, and the sales behind them, where there is
        anything to say.
    """
    every = answers if isinstance(answers, WhatIfs) else WhatIfs(answers.of, (answers,))
    made = [_answers_section(every)]
    if any(a.warnings or a.notes for a in every.all) or every.not_asked:
        made.append(_mind_section(every))
    if any(a.sides for a in every.answers):
        made.append(_sales_section(every))
    return tuple(made)


def what_if_cautions(answers: WhatIf | WhatIfs) -> Section:
    """Return the section of what to know before relying on it."""
    said = (NOT_THE_WORK, *answers.cautions)
    return Section("cautions", "Before you rely on it", (Bullets((*said, STANDING_CAUTION)),))


def _answers_section(every: WhatIfs) -> Section:
    blocks: list[Block] = [_figures(every)]
    if len(every.answers) == 1:
        only = every.answers[0]
        blocks.append(Paragraph(f"{only.ask} {change_words(only)}", "lead"))
        if only.pay_back is not None:
            blocks.append(Paragraph(pay_back_words(only, only.pay_back)))
            blocks.append(Paragraph(NO_FORECAST, "quiet"))
    if can_be_drawn(every):
        blocks.append(what_if_chart(every))
    if every.all:
        blocks.append(_table(every))
    if every.apart:
        blocks.append(Paragraph(f"They can't be asked all together. {every.apart}", "quiet"))
    if every.together is not None:
        blocks.append(Paragraph(NEED_NOT_ADD_UP, "quiet"))
    if can_be_drawn(every):
        blocks.append(Paragraph(_EVIDENCE, "quiet"))
    blocks.append(Paragraph(NOT_THE_WORK, "quiet"))
    return Section("what-if", "What it would be worth otherwise", tuple(blocks))


def _figures(every: WhatIfs) -> Figures:
    of = every.of
    pairs = [("As it is", of.money(of.central), _ranged(of, of.range))]
    if len(every.answers) == 1 and every.answers[0].facts:
        only = every.answers[0]
        pairs.append(("If it were so", of.money(only.after), _ranged(of, only.range_after)))
        interval = f"90% interval {interval_words(only)}"
        pairs.append(("Change", of.money(only.change, signed=True), interval))
    return Figures(tuple(pairs))


def _ranged(of: AskedCar, answer: PriceRange | NoRange) -> str:
    words = range_words(answer, of.currency)
    return f"{answer.level:.0%} range {words}" if isinstance(answer, PriceRange) else words


def _table(every: WhatIfs) -> Grid:
    columns = (
        Cell("What if"),
        Cell(f"Change, {every.of.currency}", number=True),
        Cell("Comes to", number=True),
        Cell("Otherwise"),
        Cell("Rests on"),
    )
    rows = tuple(_row(a) for a in every.all)
    totals = (len(rows) - 1,) if every.together is not None else ()
    caption = "What each question changes"
    if every.together is not None:
        caption += ", alone and all together"
    return Grid(caption, columns, rows, totals=totals, style="checks")


def _row(answer: WhatIf) -> tuple[Cell, ...]:
    name = Cell(capital(answer.name))
    if not answer.facts:
        empty = Cell("0", number=True)
        return (name, empty, _after(answer), Cell("The car is that today"), Cell("–"))
    spans = interval_words(answer).removesuffix(f" {answer.of.currency}")
    either = "either way: " if answer.either_way else ""
    change = Cell(format_money(answer.change, "", signed=True), f"{either}{spans}", number=True)
    return (name, change, _after(answer), _otherwise(answer), _rests_on(answer))


def _after(answer: WhatIf) -> Cell:
    ranged = range_words(answer.range_after, "")
    return Cell(format_money(answer.after, ""), ranged, number=True)


def _otherwise(answer: WhatIf) -> Cell:
    if answer.name == TOGETHER:
        parts = [f"{s.label} {format_money(s.amount, '', signed=True)}" for s in answer.steps]
        return Cell("All of it", "; ".join(parts))
    said = [f"{f.label}: {f.after}" for f in answer.facts]
    today = "; ".join(f"{f.before}" for f in answer.facts)
    return Cell("; ".join(said), f"today {today}")


def _rests_on(answer: WhatIf) -> Cell:
    if not answer.steps:
        return Cell("nothing the sales show")
    change = 100 * (answer.after / answer.of.central - 1)
    shown = evidence_of(answer).partition(",")[0]
    return Cell(shown, f"{percent(change, signed=True)} of the estimate")


def _mind_section(every: WhatIfs) -> Section:
    blocks: list[Block] = []
    for answer in every.all:
        said = (*answer.warnings, *answer.notes)
        if said:
            blocks += [Paragraph(capital(answer.name), "lead"), Bullets(said)]
    if every.not_asked:
        blocks.append(Paragraph("Not asked of this car", "lead"))
        blocks.append(Bullets(tuple(f"{q.ask} {q.reason}" for q in every.not_asked)))
    return Section("what-if-mind", "What to mind", tuple(blocks))


def _sales_section(every: WhatIfs) -> Section:
    columns = (
        Cell("What they state"),
        Cell("Sales", number=True),
        Cell("Of this model line", number=True),
        Cell("Some of them"),
        Cell("The car"),
    )
    rows = tuple(_side_row(s) for s in _each_once(every))
    return Section(
        "what-if-sales",
        "The sales behind it",
        (
            Paragraph(
                "How many sales are as the car is, and how many as it would be. The change is not "
                "the difference of their prices: they differ in much else, which is taken out."
            ),
            Grid("Sales on both sides", columns, rows, style="checks"),
        ),
    )


def _each_once(every: WhatIfs) -> Iterator[StatedSide]:
    seen = set()
    for side in (s for a in every.answers for s in a.sides):
        if side not in seen:
            seen.add(side)
            yield side


def _side_row(side: StatedSide) -> tuple[Cell, ...]:
    return (
        Cell(f"{side.label}: {side.value}"),
        Cell(f"{side.sales:,}", number=True),
        Cell(f"{side.of_model_line:,}", number=True),
        Cell("; ".join(side.examples) or "none that can be shown"),
        Cell(side.side),
    )
