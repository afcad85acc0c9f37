"""Sections of what to ask for a car: the price, the others beside it, and what it rests on."""

from __future__ import annotations

from valuation.money import format_money
from valuation.report.ask_chart import ask_chart
from valuation.report.page import Bullets, Cell, Figures, Grid, Paragraph, Section
from valuation.report.words import STANDING_CAUTION, capital, percent
from valuation.results.stock_ask import NO_PROMISE, AskPoint, StockAsk

__all__ = ["ask_basis_section", "ask_cautions", "ask_section"]


def ask_section(answer: StockAsk) -> Section:
    """Return the recommended price with chart and alternatives.

    Parameters
    ----------
    answer : StockAsk
        What to show.
    """
    return Section(
        "ask",
        "What to ask",
        (
            _figures(answer),
            Paragraph(answer.rule),
            ask_chart(answer),
            _table(answer),
            Paragraph(NO_PROMISE, "quiet"),
        ),
    )


def ask_basis_section(answer: StockAsk) -> Section:
    """Return what the answer rests on.

    Parameters
    ----------
    answer : StockAsk
        What to show.
    """
    spread = "no range: past forecasts are too few"
    if answer.spread:
        spread = "80% range " + " to ".join(answer.money(x) for x in answer.spread)
    where = answer.auction_channel or "no such sale in the evidence"
    days = f"{answer.days_held:,} days so far"
    pairs = (
        ("Estimate", answer.money(answer.estimate), f"{answer.channel}; {spread}"),
        ("Money in the car", answer.money(answer.outlay), days),
        ("A day more costs", f"{answer.holding_a_day:,.2f} {answer.currency}", "by your settings"),
        ("An auction leaves", answer.money(answer.auction.value), where),
        ("Sent there today", answer.money(answer.auction_now), "net of everything"),
    )
    weight = "plain" if answer.own else "warning"
    return Section(
        "ask-basis",
        "What it rests on",
        (
            Figures(pairs),
            Paragraph(f"Chance to sell of {answer.kind}: {answer.basis}.", weight),
            Paragraph(answer.elsewhere.words()),
        ),
    )


def ask_cautions(answer: StockAsk) -> Section:
    """Return what to know before relying on it.

    Parameters
    ----------
    answer : StockAsk
        What to show.
    """
    said = (*answer.notes, STANDING_CAUTION)
    return Section("cautions", "Before you rely on it", (Bullets(said),))


def _figures(answer: StockAsk) -> Figures:
    best = answer.best
    now = "" if answer.asked_now is None else f"; asked now {answer.money(answer.asked_now)}"
    over = f"{percent(best.percent, signed=True)} against the estimate{now}"
    chance = f"Sold within {answer.target_days} days"
    return Figures(
        (
            ("Ask", answer.money(best.ask), over),
            (chance, percent(100 * best.chance.chance), best.chance.words()),
            ("Days on offer", f"{best.days.days:.0f}", best.days.words()),
            ("Expected net", answer.money(best.net.value), best.net.words()),
        )
    )


def _table(answer: StockAsk) -> Grid:
    columns = (
        Cell("Price"),
        Cell(f"Ask, {answer.currency}", number=True),
        Cell(f"Sold within {answer.target_days} days", number=True),
        Cell("Days on offer", number=True),
        Cell(f"Expected net, {answer.currency}", number=True),
        Cell("Net a day for every 1,000", number=True),
    )
    rows = tuple(_row(name, p) for name, p in answer.named)
    return Grid("Asking prices side by side", columns, rows, style="checks")


def _row(name: str, p: AskPoint) -> tuple[Cell, ...]:
    c, d, n, a = p.chance, p.days, p.net, p.a_day
    return (
        Cell(capital(name)),
        Cell(format_money(p.ask, ""), percent(p.percent, signed=True), number=True),
        Cell(percent(100 * c.chance), f"{100 * c.lower:.0f}% to {100 * c.upper:.0f}%", number=True),
        Cell(f"{d.days:.0f}", f"{d.lower:.0f} to {d.upper:.0f}", number=True),
        Cell(
            format_money(n.value, ""),
            f"{format_money(n.lower, '')} to {format_money(n.upper, '')}",
            number=True,
        ),
        Cell(f"{a.value:.2f}", f"{a.lower:.2f} to {a.upper:.2f}", number=True),
    )
