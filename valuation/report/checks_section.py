"""The section of what to check before bidding: money, chances, and how to look."""

from __future__ import annotations

from collections.abc import Sequence

from valuation.inspection.cautions import NUMBER_LAW, SAFETY
from valuation.money import format_money
from valuation.report.page import Cell, Grid, Paragraph, Section
from valuation.report.words import capital, plural
from valuation.results.valuation import Check, Valuation, chance_words
from valuation.results.words import contradicted_words

__all__ = ["checks_section"]


def checks_section(valuation: Valuation) -> Section:
    """Return the section that names the facts to check, the one most worth knowing first.

    Parameters
    ----------
    valuation : Valuation
        With at least one check.

    Returns
    -------
    Section
        One sentence, what is contradicted, the table, how to read it, and what to mind while
        looking.
    """
    first = valuation.checks[0]
    worth = format_money(first.worth, valuation.currency)
    return Section(
        "checks",
        "What to check before bidding",
        (
            Paragraph(f"First: {_lower(first.label)}. Knowing it is worth {worth}.", "lead"),
            *(Paragraph(text, "warning") for text in _aloud(valuation.checks)),
            _table(valuation),
            Paragraph(
                "Each line gives the central estimate if this one fact turns out so and all others "
                "stay as they are, and how likely that is among such cars in the evidence. Worth "
                "knowing is what a buyer who would pay today's central estimate, and may still "
                "walk away, can expect to gain by knowing the fact before the bid.",
                "quiet",
            ),
            Paragraph(" ".join((SAFETY[0], NUMBER_LAW)), "quiet"),
        ),
    )


def _aloud(checks: Sequence[Check]) -> list[str]:
    """Say each contradiction."""
    told = [c for c in checks if c.contradiction]
    return [contradicted_words(c.label, c.claim, c.contradiction) for c in told]


def _lower(label: str) -> str:
    return label[:1].lower() + label[1:]


def _table(valuation: Valuation) -> Grid:
    columns = (
        Cell("What"),
        Cell("If bad", number=True),
        Cell("If good", number=True),
        Cell("How to check"),
        Cell(f"Worth knowing, {valuation.currency}", number=True),
    )
    rows = tuple(_row(check) for check in valuation.checks)
    return Grid("Facts that are not settled", columns, rows, style="checks")


def _row(check: Check) -> tuple[Cell, ...]:
    contradicted = check.state == "contradicted"
    stands = "Could be " if contradicted else f"{capital(check.state)}: "
    claim = f" Claimed: {check.claim}." if check.claim else ""
    return (
        Cell(check.label, f"{stands}{check.possible}.{claim}", "contradicted" * contradicted),
        _side(check.bad, check.fall, check.if_bad, check.bad_chance),
        _side(check.good, check.rise, check.if_good, check.good_chance),
        Cell(check.how, _with_what(check)),
        Cell(format_money(check.worth, ""), number=True),
    )


def _side(central: int, step: int, words: str, chance: float) -> Cell:
    change = format_money(step, "", signed=True)
    note = f"{change}: {words}, {chance_words(chance)}"
    return Cell(format_money(central, ""), note, number=True)


def _with_what(check: Check) -> str:
    time = plural(round(check.minutes), "minute") if check.minutes else ""
    said = (capital(check.where), check.tool, time)
    return "; ".join(s for s in said if s)
