"""Single costs of the settings: lines between a low and a high amount, fees, freight and duty."""

from __future__ import annotations

from decimal import Decimal

from valuation.bidding.costs import LANDED_ON, CostLine, Fee, LandingLine
from valuation.bidding.costs_file_entries import AMOUNT, CostEntries, percent_to

__all__ = ["cost_between", "fee", "landing_lines", "line_of", "listed_lines", "percent_on"]

ZERO = Decimal(0)
DUTY = 400


def cost_between(e: CostEntries) -> tuple[Decimal, Decimal] | None:
    """Return between which amounts a table says a cost lies: by cost, or by low and high."""
    ends = e.stated("low", "high")
    e.ask("cost", "low", "high")
    if not e.has("cost"):
        if ends:
            return e.ends(AMOUNT)
        e.wrong("cost", "nothing", f"{AMOUNT.said}, or low and high in its place")
        return None
    if ends:
        e.wrong("cost", f"{' and '.join(ends)} too", "left out beside low and high")
        return None
    cost = e.exact("cost", AMOUNT)
    return None if cost is None else (cost, cost)


def line_of(e: CostEntries, key: str, currencies: tuple[str, ...]) -> tuple[CostLine, ...] | None:
    """Return an entry that is an amount, or a table with cost or low, high and perhaps currency.

    Returns
    -------
    tuple of CostLine or None
        Empty if it costs nothing; None if nothing is said.
    """
    if not e.has(key):
        return None
    part, currency = e.part(key), ""
    if part is None:
        ends = e.span(key, AMOUNT)
    else:
        ends, currency = cost_between(part), part.code("currency", currencies)
        part.end()
    return (CostLine(key, *ends, currency),) if ends and ends[1] else ()


def listed_lines(
    e: CostEntries, key: str, currencies: tuple[str, ...] = ()
) -> tuple[CostLine, ...] | None:
    """Return a list of named costs; without currencies to choose from a line names none."""
    parts = e.tables(key)
    if parts is None:
        return None
    made = []
    for part in parts:
        what, ends = part.text("what"), cost_between(part)
        currency = part.code("currency", currencies) if currencies else ""
        part.end()
        if ends and ends[1]:
            made.append(CostLine(what, *ends, currency))
    return tuple(made)


def landing_lines(
    e: CostEntries, key: str, currencies: tuple[str, ...]
) -> tuple[LandingLine, ...] | None:
    """Return what freight, duty and import tax cost, in the order in which they stand."""
    parts = e.tables(key)
    if parts is None:
        return None
    made = []
    for part in parts:
        what = part.text("what")
        if part.stated("percent", "on"):
            line = _share(part, what)
        else:
            ends, currency = cost_between(part), part.code("currency", currencies)
            line = LandingLine(what, *ends, currency=currency) if ends else None
        part.end()
        if line:
            made.append(line)
    return tuple(made)


def _share(e: CostEntries, what: str) -> LandingLine | None:
    for key in e.stated("cost", "low", "high", "currency"):
        e.wrong(key, "percent too", "left out beside percent and on")
    e.ask("cost", "low", "high", "currency")
    percent, on = e.exact("percent", percent_to(DUTY), needed=True), e.word("on", LANDED_ON)
    return None if percent is None else LandingLine(what, percent=percent, on=on)


def fee(e: CostEntries, key: str) -> Fee | None:
    """Return a fee that is a per cent, or a table of percent, amount, minimum and cap."""
    most = percent_to(100)
    part = e.part(key)
    if part is None:
        percent = e.exact(key, most)
        return None if percent is None else Fee(percent)
    made = Fee(
        part.exact("percent", most) or ZERO,
        part.exact("amount", AMOUNT) or ZERO,
        part.exact("minimum", AMOUNT),
        part.exact("cap", AMOUNT),
    )
    part.end()
    _check_fee(part, made)
    return made


def _check_fee(e: CostEntries, made: Fee) -> None:
    limits = e.stated("minimum", "cap")
    if limits and not e.stated("percent", "amount"):
        e.wrong(limits[0], "neither", "beside a percent or an amount")
    least = max(made.minimum or ZERO, made.amount)
    if made.cap is not None and made.cap < least:
        named = "minimum" if least == made.minimum else "amount"
        e.wrong("cap", str(made.cap), f"{least} or more, as {named} is")


def percent_on(e: CostEntries, allowed: tuple[str, ...]) -> tuple[Decimal, str]:
    """Return the rate of a tax, and what it is taken of; the first word allowed is none."""
    kind = percent_to(100)
    percent, on = e.exact("percent", kind), e.choice("on", allowed)
    # A wrong word was told already; an absent one, or none, is no answer beside a per cent.
    no_answer = not e.has("on") or on == allowed[0]
    if no_answer and e.has("percent") and percent != 0:
        got = repr(on) if on else "nothing"
        e.wrong("on", got, " or ".join(allowed[1:]) + ", where percent is stated")
    if on not in ("", allowed[0]) and not e.has("percent"):
        e.wrong("percent", "nothing", kind.said)
    return percent or ZERO, on or allowed[0]
