"""The sales to look at: one line a sale, what is odd, what hangs on it, how to set it aside."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from valuation.money import format_money
from valuation.report.look_chart import can_be_drawn, look_chart
from valuation.report.notebook import Shown
from valuation.report.page import Block, Bullets, Cell, Grid, Page, Paragraph, Section
from valuation.report.render import render_page
from valuation.report.words import capital, day, plural, shorten
from valuation.results.look import Change, LookList, LookPattern, SaleToLookAt
from valuation.results.words import INTERNAL

__all__ = ["look_page", "look_section", "patterns_section", "render_look", "show_look"]

_HOW_TO_READ = (
    "“The others say” is the estimate without this sale. “Left out” is what would change in the "
    "estimates if it were set aside and nothing else: exact for the weights and penalties of this "
    "fit. The list starts with the sales on which most money hangs. Being on it is no proof: look "
    "at the source, correct what is wrong, set aside only what is no sale of such a car, and "
    "leave what is merely unusual."
)

_CAUTIONS = (
    "A sale that is set aside because its price is unwelcome makes every later test look better "
    "than it is. Give the reason that you would give a colleague.",
    "A number or a claim that two sales tell differently is a question, not an answer: never alter "
    "a number, and leave judgement of papers and stampings to the authorities and experts that "
    "local law names.",
)


def look_section(looked: LookList, *, heading: str = "Sales to look at") -> Section:
    """Return the section of the sales to look at.

    Parameters
    ----------
    looked : LookList
        What to show.
    heading : str
        Its heading.

    Returns
    -------
    Section
        How many, the chart, one line a sale, how to read it.
    """
    if not looked.sales:
        return Section("look", heading, (Paragraph(looked.head, "lead"),))
    counts = "; ".join(f"{kind}: {n:,}" for kind, n in looked.found.items())
    blocks: list[Block] = [Paragraph(looked.head, "lead"), Paragraph(f"{capital(counts)}.")]
    blocks += [look_chart(looked)] if can_be_drawn(looked) else []
    blocks += [_table(looked), Paragraph(_HOW_TO_READ, "quiet")]
    blocks += [Paragraph(note, "quiet") for note in looked.notes]
    blocks.append(Paragraph(" ".join(_CAUTIONS), "quiet"))
    return Section("look", heading, tuple(blocks))


def patterns_section(looked: LookList) -> Section:
    """Return the section of whole sources that look wrong."""
    said = tuple(_pattern_words(p) for p in looked.patterns)
    blocks: tuple[Block, ...] = (
        Bullets(said) if said else Paragraph("No venue, file or batch is off as a whole."),
        Paragraph(
            "A source is off where its prices lie a common factor from what the other sales say. "
            "It may be right for all that: a venue can be dear. Ask what its amounts are before "
            "you change their basis, their currency or their batch.",
            "quiet",
        ),
    )
    return Section("sources", "Sources that look wrong", blocks)


def look_page(looked: LookList) -> Page:
    """Return the page of the sales to look at as data."""
    when = f", model of {day(looked.as_of)}" if looked.as_of else ", undated list"
    subtitle = f"{plural(looked.judged, 'sale')}{when}"
    sections = [look_section(looked, heading="Sale by sale"), patterns_section(looked)]
    return Page(
        "Sales to look at",
        subtitle,
        tuple(sections),
        about="sales to look at",
        notice=INTERNAL,
        landscape=True,
    )


def render_look(looked: LookList) -> str:
    """Return the sales to look at as one self-contained HTML document.

    Parameters
    ----------
    looked : LookList
        What to show.

    Returns
    -------
    str
        The document; the same list gives the same text.
    """
    return render_page(look_page(looked))


def show_look(looked: LookList, *, first: int | None = None) -> Shown:
    """Show the sales to look at in a notebook.

    Parameters
    ----------
    looked : LookList
        What to show.
    first : int, optional
        Shows so many; all without it.
    """
    kept = replace(
        looked,
        sales=looked.sales[:first],
        left_out=looked.left_out + len(looked.sales) - len(looked.sales[:first]),
    )
    sections = [look_section(kept)]
    if looked.patterns:
        sections.append(patterns_section(kept))
    head = replace(sections[0], blocks=(Paragraph(INTERNAL, "notice"), *sections[0].blocks))
    return Shown((head, *sections[1:]), kept.summary())


def _pattern_words(pattern: LookPattern) -> str:
    return f"{pattern.who} ({pattern.kind}): {pattern.sentence}"


def _table(looked: LookList) -> Grid:
    columns = (
        Cell("Sale"),
        Cell(f"Price, {looked.currency}", number=True),
        Cell("What is odd"),
        Cell("Left out"),
        Cell("To set it aside"),
    )
    rows = tuple(_row(k, sale, looked.currency) for k, sale in enumerate(looked.sales, start=1))
    return Grid("Sales to look at, those on which most hangs first", columns, rows, style="look")


def _row(number: int, sale: SaleToLookAt, currency: str) -> tuple[Cell, ...]:
    told = [day(sale.sale_date), sale.venue, sale.basis, sale.outcome, sale.place]
    where = ", ".join(t for t in told if t and t != "unknown")
    price = format_money(sale.price, "")
    others = f"the others say {format_money(sale.estimate, '')} ({_off(sale)})"
    reasons = " ".join(capital(r.sentence) for r in sale.reasons)
    return (
        Cell(f"{number}  {shorten(sale.car, 60)}", where),
        Cell(price, others, number=True),
        Cell("", reasons, ", ".join(sale.kinds)),
        _left_out(sale, currency),
        _command(sale),
    )


def _command(sale: SaleToLookAt) -> Cell:
    """Return the command that sets a sale aside; its last word stands on a line of its own."""
    command, sign, reason = sale.command.partition("--reason")
    if not command:
        return Cell("in no workspace: put it right in its file")
    return Cell(command.strip(), f"{sign}{reason}")


def _off(sale: SaleToLookAt) -> str:
    if sale.price > 3 * sale.estimate:
        return f"{sale.price / sale.estimate:.3g} times that"
    return f"{sale.off:+.0f}%"


def _left_out(sale: SaleToLookAt, currency: str) -> Cell:
    changes: Sequence[Change] = [c for c in (sale.own, sale.typical, sale.line) if c is not None]
    most, *rest = sorted(changes, key=lambda c: -abs(c.money))
    said = "; ".join(_change_words(c, "") for c in rest)
    return Cell(capital(_change_words(most, currency)), f"{capital(said)}." if said else "")


def _change_words(change: Change, currency: str) -> str:
    step = format_money(change.money, currency, signed=True)
    return f"{change.of} {step} ({change.per_cent:+.1f}%)"
