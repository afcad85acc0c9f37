"""Words of the pages about bids: what binds, what breaks, how likely a loss is."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from valuation.money import format_money
from valuation.report.words import capital
from valuation.results.bid_parts import Rung
from valuation.results.bid_sheet import BidSheet
from valuation.results.bid_text import LIMIT_WORDS, bid_words

__all__ = [
    "ANSWER_WORDS",
    "amount",
    "answer_words",
    "binds_words",
    "breaks_words",
    "change_words",
    "cost_words",
    "margin_words",
    "reference_bid",
    "risk_words",
    "rung_at",
    "rungs_near",
]

ANSWER_WORDS = {
    "no bid until cured": "No bid until cured",
    "no bid makes sense": "No bid makes sense",
    "evidence too thin to bid on": "Evidence too thin to bid on",
}
"""What is said in the place of a bid."""

_BINDING = {"margin": "the margin", "risk": "the risk of loss", "outlay": "the outlay"}


def amount(value: Decimal, currency: str = "") -> str:
    """Write an exact amount in whole units."""
    return format_money(float(value), currency)


def binds_words(binds: Iterable[str]) -> str:
    """Say which limits bind.

    Examples
    --------
    >>> binds_words(["margin"]), binds_words(["margin", "risk"]), binds_words([])
    ('the margin binds', 'the margin and the risk of loss bind', '')
    """
    names = [_BINDING.get(name, name) for name in binds]
    if not names:
        return ""
    return f"{' and '.join(names)} {'binds' if len(names) == 1 else 'bind'}"


def breaks_words(breaks: Iterable[str]) -> str:
    """Say which limits a bid breaks.

    Examples
    --------
    >>> breaks_words(["margin", "risk"])
    'margin too small, risk too high'
    """
    return ", ".join(LIMIT_WORDS.get(name, name) for name in breaks)


def risk_words(chance: float, limit: float | None = None) -> str:
    """Write a probability of loss; what breaks the limit never looks as if it kept it.

    Examples
    --------
    >>> risk_words(1 / 3), risk_words(0.00002), risk_words(0.0), risk_words(0.20001, 0.2)
    ('33.3%', 'under 0.1%', '0%', 'over 20.0%')
    """
    if chance in (0.0, 1.0):
        return f"{chance:.0%}"
    if not 0.0005 <= chance <= 0.9995:
        return "under 0.1%" if chance < 0.5 else "over 99.9%"
    said = f"{chance:.1%}"
    hidden = limit is not None and chance > limit and said == f"{limit:.1%}"
    return f"over {said}" if hidden else said


def margin_words(rung: Rung, target: Decimal) -> str:
    """Write an expected margin, to the cent where whole units would hide that it is too small.

    Examples
    --------
    >>> from decimal import Decimal as D
    >>> close = Rung(D(1), D(1), D("4999.80"), D(0), D(0), 0.1, ("margin",))
    >>> margin_words(close, D(5000))
    '4,999.80'
    """
    said = amount(rung.expected_margin)
    hidden = "margin" in rung.breaks and said == amount(target)
    return f"{rung.expected_margin:,.2f}" if hidden else said


def change_words(bid: Decimal | None, reference: Decimal | None) -> str:
    """Write how far a bid lies from the walk-away bid; nothing where one of them is none.

    Examples
    --------
    >>> change_words(Decimal(36_000), Decimal(38_000)), change_words(None, Decimal(38_000))
    ('-2,000', '')
    """
    if bid is None or reference is None:
        return ""
    change = bid - reference
    if not change:
        return "no change"
    return f"{'+' if change > 0 else ''}{bid_words(change, '')}"


def cost_words(low: Decimal | None, high: Decimal | None, currency: str) -> str:
    """Write a cost that lies between two amounts; nothing where neither is known.

    Examples
    --------
    >>> cost_words(Decimal(900), Decimal(1500), "EUR"), cost_words(Decimal(0), Decimal(0), "EUR")
    ('900 to 1,500 EUR', '0 EUR')
    """
    known = sorted({x for x in (low, high) if x is not None})
    if not known:
        return ""
    ends = [amount(x) for x in known]
    return f"{' to '.join(dict.fromkeys(ends))} {currency}".strip()


def answer_words(sheet: BidSheet) -> str:
    """Write the walk-away bid, or what stands in its place."""
    if sheet.walk_away is not None:
        return bid_words(sheet.walk_away, sheet.currency)
    return ANSWER_WORDS.get(sheet.answer, capital(sheet.answer))


def reference_bid(sheet: BidSheet) -> Decimal | None:
    """Return the bid that others are compared with: the walk-away bid, or that once cured."""
    return sheet.walk_away if sheet.walk_away is not None else sheet.once_cured


def rungs_near(sheet: BidSheet, count: int) -> tuple[Rung, ...]:
    """Return at most `count` rungs: those around the marked bid, or the lowest."""
    bids = [rung.bid for rung in sheet.ladder]
    reference = reference_bid(sheet)
    middle = bids.index(reference) if reference in bids else 0
    first = max(0, min(middle - count // 2, len(bids) - count))
    return sheet.ladder[first : first + count]


def rung_at(sheet: BidSheet, bid: Decimal | None) -> Rung | None:
    """Return the rung of a bid, None if the ladder has none."""
    return next((r for r in sheet.ladder if r.bid == bid), None)
