"""The first section of a bid sheet: the walk-away bid, why, and what forbids to bid."""

from __future__ import annotations

from valuation.report.bid_words import (
    amount,
    answer_words,
    binds_words,
    cost_words,
    risk_words,
    rung_at,
)
from valuation.report.page import Block, Bullets, Figures, Paragraph, Section
from valuation.report.words import capital, plural
from valuation.results.bid_parts import Stop
from valuation.results.bid_sheet import BidSheet
from valuation.results.bid_text import bid_words

__all__ = ["bid_section", "figures", "stop_words", "verdict"]

_STOPPED = {
    "no bid until cured": "Stop: no bid until this is cured.",
    "no bid makes sense": "Stop: no bid makes sense.",
    "evidence too thin to bid on": "Stop: the evidence is too thin to bid on.",
}


def bid_section(sheet: BidSheet) -> Section:
    """Return the section that says how much to bid.

    Parameters
    ----------
    sheet : BidSheet
        What to show.

    Returns
    -------
    Section
        The bid with margin and risk there, what stops the purchase, reasons and warnings.
    """
    blocks: list[Block] = [figures(sheet), *verdict(sheet)]
    blocks += [Paragraph(text, "warning") for text in sheet.warnings]
    return Section("bid", "How much to bid", tuple(blocks))


def figures(sheet: BidSheet) -> Figures:
    """Return the walk-away bid, the largest, and what is to be expected there."""
    first = ("Walk-away bid", answer_words(sheet), _first_meaning(sheet))
    pairs = [first]
    bid = sheet.walk_away
    if bid is None and sheet.once_cured is not None:
        bid = sheet.once_cured
        cured = bid_words(bid, sheet.currency)
        pairs.append(("Once cured", cured, "The walk-away bid when nothing stops it any more."))
    if rung := rung_at(sheet, bid):
        money = sheet.resale_currency
        target = amount(sheet.target_margin, money)
        between = f"{amount(rung.margin_p10)} and {amount(rung.margin_p90, money)}"
        meaning = f"Target: at least {target}. In 8 of 10 cases between {between}."
        pairs.append(("Expected margin there", amount(rung.expected_margin, money), meaning))
        risk = risk_words(rung.loss_probability, sheet.loss_limit)
        pairs.append(("Risk of loss there", risk, f"Limit: {100 * sheet.loss_limit:g}%."))
    return Figures(tuple(pairs), style="answer")


def _first_meaning(sheet: BidSheet) -> str:
    words = capital(binds_words(sheet.binds))
    if sheet.walk_away is not None:
        return f"{words}: the next higher bid breaks a limit." if words else ""
    if sheet.answer == "no bid makes sense" and words:
        return f"{words} at the lowest bid already."
    return "See why below."


def verdict(sheet: BidSheet) -> list[Block]:
    """Return what forbids to bid, so that nobody overlooks it, and the reasons of the answer."""
    stopped = _STOPPED.get(sheet.answer)
    cures = tuple(stop_words(stop) for stop in sheet.stops)
    others = [x for x in sheet.reasons if not any(stop.reason in x for stop in sheet.stops)]
    if sheet.broken:
        # Bids below that break a limit are named beside the ladder.
        others = [x for x in others if "break a limit although" not in x]
    blocks: list[Block] = []
    if stopped:
        # What is cured stands in the list below; any other stop has its reason beside it.
        why = [] if sheet.answer == "no bid until cured" else others
        blocks.append(Paragraph(_stop_sentence(stopped, why), "stop"))
        others = [x for x in others if x not in why]
    if cures:
        blocks.append(Bullets(cures))
    return blocks + [Paragraph(text, "lead") for text in others]


def _stop_sentence(stopped: str, why: list[str]) -> str:
    """Join a stop with its reasons; a reason that starts with the same words takes its place."""
    said = stopped.removeprefix("Stop: ").rstrip(".")
    if why and why[0].lower().startswith(said):
        return f"Stop: {why[0][:1].lower()}{' '.join(why)[1:]}"
    return " ".join((stopped, *why))


def stop_words(stop: Stop) -> str:
    """Say what stops a purchase, and how long its cure takes and costs where that is known.

    Examples
    --------
    >>> from decimal import Decimal as D
    >>> stop_words(Stop("The title is missing.", 45.0, D(300), D(1200), "EUR"))
    'The title is missing. To cure it: about 45 days, 300 to 1,200 EUR.'
    """
    days = f"about {plural(round(stop.days), 'day')}" if stop.days is not None else ""
    cost = cost_words(stop.low, stop.high, stop.currency)
    cure = ", ".join(part for part in (days, cost) if part)
    said = f"To cure it: {cure}." if cure else "How long the cure takes and costs is not known."
    return f"{stop.reason} {said}"
