"""From the resale to the margin: what a bid rests on, line by line, and what winning says."""

from __future__ import annotations

from decimal import Decimal

from valuation.cents import half_up, in_cents
from valuation.money import format_money, whole_units
from valuation.report.bid_words import amount
from valuation.report.page import Block, Cell, Grid, Paragraph, Section
from valuation.report.words import capital, day
from valuation.results.bid_parts import AccountLine, Resale
from valuation.results.bid_sheet import BidSheet
from valuation.results.bid_text import bid_words

__all__ = ["account_grid", "account_section", "resale_words", "winning_section"]


def account_section(sheet: BidSheet) -> Section:
    """Return the section that leads from the resale to the margin.

    Parameters
    ----------
    sheet : BidSheet
        With a resale or an account.

    Returns
    -------
    Section
        What the resale rests on in one sentence, and a table whose lines add up to the margin.
    """
    blocks: list[Block] = []
    if sheet.resale:
        blocks.append(Paragraph(resale_words(sheet.resale, sheet.resale_currency), "lead"))
    if sheet.account:
        blocks.append(account_grid(sheet))
        blocks.append(
            Paragraph(
                "Means, rounded to whole units so that they add up. Below a mean: between which "
                "amounts it lies; these don't add up. "
                "The resale is that after the work and after what winning says.",
                "quiet",
            )
        )
    return Section("account", "From resale to margin", tuple(blocks))


def resale_words(resale: Resale, currency: str) -> str:
    """Say what the car should bring, when and where.

    Examples
    --------
    >>> from decimal import Decimal as D
    >>> r = Resale(D(5), D(4), D(6), D(5), D(5), 0.0, "", None, "dealer", "price paid")
    >>> resale_words(r, "EUR")
    'Resale after the work, dealer, price paid: 4 to 6 EUR (80% range), median 5, mean 5 EUR.'
    """
    when = f"about {day(resale.sale_on)}" if resale.sale_on else ""
    said = ", ".join(x for x in (when, resale.channel, resale.basis) if x)
    return (
        f"Resale after the work{', ' * bool(said)}{said}: {amount(resale.lower)} to "
        f"{amount(resale.upper, currency)} (80% range), median {amount(resale.central)}, "
        f"mean {amount(resale.mean, currency)}."
    )


def account_grid(sheet: BidSheet, *, most: int | None = None) -> Grid:
    """Return the account as a table; its last row is the sum of all others.

    Parameters
    ----------
    sheet : BidSheet
        With an account.
    most : int, optional
        Number of lines; if there are more, the smallest are joined.

    Returns
    -------
    Grid
        The sum is the expected margin as the ladder has it at that bid.
    """
    columns = (
        Cell("What"),
        Cell("Where it arises"),
        Cell(f"Mean, {sheet.resale_currency}", number=True),
    )
    lines = _joined(sheet.account, most)
    means = [line.expected for line in lines]
    total = _whole(sum(means, Decimal(0)))
    whole = whole_units([float(x) for x in means], total=total)
    rows = [_row(line, x) for line, x in zip(lines, whole, strict=True)]
    target = f"target: at least {amount(sheet.target_margin)}"
    last = (Cell("Expected margin", target), Cell(""), _money(sum(whole)))
    return Grid(_caption(sheet), columns, (*rows, last), totals=(len(rows),), style="account")


def _joined(lines: tuple[AccountLine, ...], most: int | None) -> tuple[AccountLine, ...]:
    if most is None or len(lines) <= most:
        return lines
    by_size = sorted(range(len(lines)), key=lambda i: (-abs(lines[i].expected), i))
    kept, rest = sorted(by_size[: most - 1]), [lines[i] for i in by_size[most - 1 :]]
    low, high, mean = (
        sum(amounts, Decimal(0))
        for amounts in zip(*((x.low, x.high, x.expected) for x in rest), strict=True)
    )
    together = AccountLine(f"{len(rest)} smaller lines together", low, high, mean, "several")
    return (*(lines[i] for i in kept), together)


def _caption(sheet: BidSheet) -> str:
    if sheet.account_at is None:
        return "From resale to margin"
    bid = bid_words(sheet.account_at, sheet.currency)
    if sheet.account_at == sheet.walk_away:
        return f"From resale to margin at the walk-away bid, {bid}"
    return f"From resale to margin at a bid of {bid}"


def _whole(total: Decimal) -> int:
    """Round as amounts are rounded everywhere else: a half goes away from zero."""
    return int(half_up(in_cents(total), 100))


def _row(line: AccountLine, whole: int) -> tuple[Cell, ...]:
    ends = [amount(x) for x in sorted((line.low, line.high))]
    span = f"{ends[0]} to {ends[1]}" if ends[0] != ends[1] else ""
    return (Cell(capital(line.what)), Cell(capital(line.part)), _money(whole, span))


def _money(whole: int, span: str = "") -> Cell:
    return Cell(format_money(whole, ""), span, number=True)


def winning_section(sheet: BidSheet, resale: Resale) -> Section:
    """Return the section on what winning itself says of the estimate, apart from everything else.

    Parameters
    ----------
    sheet : BidSheet
        For its currency.
    resale : Resale
        With the correction.

    Returns
    -------
    Section
        Mean before, correction, mean after, and what the correction rests on.
    """
    money = sheet.resale_currency
    why = (
        "Of the lots one bids for, one wins above all those that one rates too high. "
        "Winning itself therefore lowers what the car should be expected to bring."
    )
    if not resale.winning_percent:
        why_not = f": {resale.winning_source}" if resale.winning_source else ""
        none = f"No correction is made{why_not}."
        return Section("winning", "What winning itself says", (Paragraph(why), Paragraph(none)))
    step = _whole(resale.mean) - _whole(resale.before_winning)
    rows = (
        (Cell("Mean resale before it is won"), _exact(resale.before_winning)),
        (
            Cell("Correction for winning", f"{resale.winning_percent:+.1f}%"),
            Cell(format_money(step, "", signed=True), number=True),
        ),
        (Cell("Mean resale that the bid rests on"), _exact(resale.mean)),
    )
    columns = (Cell("What"), Cell(f"Amount, {money}", number=True))
    grid = Grid("The correction for winning", columns, rows, totals=(2,), style="small")
    source = Paragraph(f"It rests on: {resale.winning_source}.", "quiet")
    return Section("winning", "What winning itself says", (Paragraph(why), grid, source))


def _exact(value: Decimal) -> Cell:
    return Cell(amount(value), number=True)
