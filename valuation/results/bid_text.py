"""A bid sheet in plain text, part by part."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from valuation.money import format_money
from valuation.results.bid_parts import BidCheck, MarketCourse, Resale, Rung, Swing, WorkStep
from valuation.results.valuation import chance_words

__all__ = [
    "LIMIT_WORDS",
    "bid_words",
    "check_lines",
    "course_lines",
    "ladder_lines",
    "resale_lines",
    "swing_lines",
    "work_lines",
]

LIMIT_WORDS = {"margin": "margin too small", "risk": "risk too high", "outlay": "outlay too high"}
"""What a bid does that breaks a limit."""


def bid_words(bid: Decimal | None, currency: str) -> str:
    """Say a bid: whole where it is whole, to the cent where it is not.

    Examples
    --------
    >>> bid_words(Decimal("38000"), "USD"), bid_words(Decimal("0.50"), "USD"), bid_words(None, "")
    ('38,000 USD', '0.50 USD', 'no bid')
    """
    if bid is None:
        return "no bid"
    whole = bid == bid.to_integral_value()
    return f"{bid:,.0f} {currency}".strip() if whole else f"{bid:,.2f} {currency}".strip()


def resale_lines(resale: Resale, currency: str) -> list[str]:
    """Say what the resale rests on."""
    day = f" about {resale.sale_on.isoformat()}" if resale.sale_on else ""
    place = f", {resale.channel}" if resale.channel else ""
    basis = f", {resale.basis}" if resale.basis else ""
    low = format_money(float(resale.lower), "")
    lines = [
        f"  resale{day}{place}{basis}: {low} to {format_money(float(resale.upper), currency)} "
        f"(80% range), mean {format_money(float(resale.mean), currency)}"
    ]
    if resale.winning_percent:
        lines.append(
            f"  corrected for winning by {resale.winning_percent:.1f}%, from "
            f"{format_money(float(resale.before_winning), currency)}: {resale.winning_source}"
        )
    return lines


def ladder_lines(
    ladder: Sequence[Rung], walk_away: Decimal | None, currency: str, resale_currency: str
) -> list[str]:
    """Say what each bid of the ladder leads to."""
    if not ladder:
        return []
    head = f"  {'bid ' + currency:>14}{'outlay ' + resale_currency:>14}{'margin':>10}"
    lines = ["", f"{head}{'10%':>10}{'90%':>10}{'loss':>8}"]
    for rung in ladder:
        money = [rung.outlay, rung.expected_margin, rung.margin_p10, rung.margin_p90]
        cells = [format_money(float(x), "") for x in money]
        loss = f"{rung.loss_probability:.1%}"
        notes = [LIMIT_WORDS[b] for b in rung.breaks]
        if rung.bid == walk_away:
            notes.insert(0, "<- walk-away bid")
        row = f"  {bid_words(rung.bid, ''):>14}{cells[0]:>14}{cells[1]:>10}{cells[2]:>10}"
        lines.append(f"{row}{cells[3]:>10}{loss:>8}  {', '.join(notes)}".rstrip())
    return lines


def work_lines(work: Sequence[WorkStep], currency: str) -> list[str]:
    """Say after which work the car is sold, and what each line restores."""
    if not work:
        return []
    lines = ["", "  Sold after this work"]
    for w in work:
        to = "" if w.low == w.high else f" to {w.high:,f}"
        cost = f"{w.low:,f}{to} {w.currency or currency}"
        place = f"{w.zone} " if w.zone else ""
        lines.append(f"  - {w.what}, {cost}: {place}{w.restores}".rstrip(": "))
    return lines


def course_lines(courses: Sequence[MarketCourse], currency: str) -> list[str]:
    """Say what the bid would be on each course of the market."""
    if not courses:
        return []
    lines = ["", "  If the market until the sale"]
    for c in courses:
        bid = bid_words(c.walk_away, currency)
        lines.append(f"  - {c.name} ({c.percent:+.1f}%): {bid}")
    return lines


def check_lines(checks: Sequence[BidCheck], currency: str) -> list[str]:
    """Say what to check first, in money of the walk-away bid."""
    if not checks:
        return []
    lines = ["", "  What to check first, in money of the walk-away bid"]
    for c in checks:
        time = f" {c.minutes:g} minutes." if c.minutes is not None else ""
        lines += [
            f"  - {c.label}, {c.state}",
            f"    {c.if_bad}: {bid_words(c.bad_bid, currency)} ({chance_words(c.bad_chance)})",
            f"    {c.if_good}: {bid_words(c.good_bid, currency)} ({chance_words(c.good_chance)})",
            f"    {c.how}{time}",
        ]
    return lines


def swing_lines(swings: Sequence[Swing], currency: str) -> list[str]:
    """Say how far each input moves the bid."""
    if not swings:
        return []
    lines = ["", "  What moves the walk-away bid"]
    for s in swings:
        low, high = bid_words(s.low_bid, currency), bid_words(s.high_bid, currency)
        lines.append(f"  - {s.what}: {s.low} {low}; {s.high} {high}")
    return lines
