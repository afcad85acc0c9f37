"""The page of bids on past lots, and what a notebook shows of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace as changed

from valuation.money import format_money
from valuation.report.notebook import Shown
from valuation.report.page import Block, Bullets, Cell, Grid, Page, Paragraph, Section
from valuation.report.render import render_page
from valuation.report.replay_chart import drawn_rules, replay_chart, rule_letter
from valuation.report.words import STANDING_CAUTION, capital, day
from valuation.results.replay import KINDS, AuctionResult, LossBand, Measured, Replay, RuleResult
from valuation.results.words import INTERNAL

__all__ = ["auctions_section", "render_replay", "replay_page", "show_auctions", "show_replay"]

CAUTIONS = (
    "Past lots say what a rule would have won and brought; they promise nothing of the next ones.",
    "Rules that are tried on the same lots differ by chance too: read the intervals first.",
)


def render_replay(replay: Replay) -> str:
    """Return replayed bids as one self-contained HTML document.

    Parameters
    ----------
    replay : Replay
        What to show.

    Returns
    -------
    str
        The document; the same replay gives the same text.
    """
    return render_page(replay_page(replay))


def replay_page(replay: Replay) -> Page:
    """Return the page of replayed bids as data.

    Parameters
    ----------
    replay : Replay
        What to show.

    Returns
    -------
    Page
        What the limits would have led to, rule by rule as chart and table, predicted and realised
        risk, what it rests on, cautions.
    """
    subtitle = f"{replay.seen:,} auction lots from {day(replay.first)} to {day(replay.last)}"
    return Page(
        "Would it have bought?",
        subtitle,
        tuple(_sections(replay)),
        about="bids on past lots",
        notice=INTERNAL,
        landscape=True,
    )


def show_replay(replay: Replay) -> Shown:
    """Show replayed bids in a notebook: in words, the rules as chart and table, the risk."""
    shown = [s for s in _sections(replay) if s.name in ("limits", "rules", "risk")]
    first = changed(shown[0], blocks=(Paragraph(INTERNAL, "notice"), *shown[0].blocks))
    return Shown((first, *shown[1:]), replay.summary())


def show_auctions(results: Sequence[AuctionResult], currency: str) -> Shown:
    """Show in a notebook what winners among equals expect and make."""
    return Shown((auctions_section(results, currency),), "\n".join(r.summary() for r in results))


def _sections(replay: Replay) -> Iterator[Section]:
    yield Section("limits", "What each loss limit would have led to", tuple(_limits(replay)))
    blocks: list[Block] = [replay_chart(replay)] if drawn_rules(replay) else []
    blocks += [_rules(replay), Paragraph(_HOW_TO_READ, "quiet")]
    yield Section("rules", "Rule by rule", tuple(blocks))
    if replay.bands:
        yield Section("risk", "Predicted and realised risk", tuple(_risk(replay)))
    left = tuple(f"{capital(reason)}: {n:,} lots left out." for reason, n in replay.left_out)
    learned = (
        f"The market was learned from {replay.fitted_on:,} sales before the first lot, and anew "
        f"with what came: {replay.fits} times in all."
    )
    yield Section(
        "basis",
        "What it rests on",
        (Bullets((learned, replay.resale, *replay.notes, replay.intervals, *left)),),
    )
    yield Section("cautions", "Before you rely on it", (Bullets((*CAUTIONS, STANDING_CAUTION)),))


def _limits(replay: Replay) -> Iterator[Block]:
    """Say of each loss limit in a sentence what it won and brought, and warn if it failed."""
    limits = [r for r in replay.rules if r.kind == KINDS[0] and r.corrected]
    yield Bullets(tuple(_sentence(rule, replay.currency) for rule in limits))
    short = [r for r in limits if _understated(r)]
    if short:
        names = " and ".join(f"{r.level or 0:.0%}" for r in short)
        yield Paragraph(
            f"The risk was understated (loss limit {names}): more of the lots won lost money than "
            "chance explains. What looked cheap was overrated.",
            "warning",
        )
    if replay.lessons:
        yield Bullets(replay.lessons)


def _understated(rule: RuleResult) -> bool:
    lost, predicted = rule.realised_loss, rule.predicted_loss
    return lost is not None and predicted is not None and lost.low > predicted


def _sentence(rule: RuleResult, currency: str) -> str:
    won = (
        f"{capital(rule.name)}: wins {rule.won:,} of {rule.seen:,} lots ({_share(rule.share_won)})"
    )
    if rule.realised_margin is None or rule.realised_loss is None:
        return f"{won}, of too few of which it is known what they brought."
    return (
        f"{won}. They brought {_money(rule.realised_margin.value, currency)} a lot where "
        f"{_money(rule.expected_of_known, currency)} was expected, and "
        f"{rule.realised_loss.value:.0%} lost money where {rule.predicted_loss or 0:.0%} was "
        f"predicted. Their resales lay {rule.overrated}."
    )


def _rules(replay: Replay) -> Grid:
    heads = ("Lots won", "Bid", "Expected", "Realised", "Predicted", "Lost money", "On outlay")
    columns = (Cell("Rule"), *(Cell(head, number=True) for head in heads))
    rows = tuple(_row(replay, rule) for rule in replay.rules)
    caption = f"What each rule would have won and brought, {replay.currency}"
    return Grid(caption, columns, rows, style="rules")


def _row(replay: Replay, rule: RuleResult) -> tuple[Cell, ...]:
    share = _share(rule.share_won)
    known = f"{share}; {rule.known:,} known" if rule.known < rule.won else share
    bid = NOTHING if rule.bid_to_estimate is None else f"{rule.bid_to_estimate:.0%}"
    told = rule.return_on_outlay is not None
    risk = NOTHING if rule.predicted_loss is None else f"{rule.predicted_loss:.1%}"
    earned = _measured(rule.return_on_outlay)
    in_all = f"{earned.note}; {_money(rule.realised_total)} in all" if told else ""
    return (
        _named(replay, rule),
        Cell(f"{rule.won:,}", known, number=True),
        Cell(bid, number=True),
        Cell(_money(rule.expected_of_known if told else rule.expected_margin), number=True),
        _measured(rule.realised_margin, percent=False),
        Cell(risk, number=True),
        _measured(rule.realised_loss),
        Cell(earned.text, in_all, number=True),
    )


def _named(replay: Replay, rule: RuleResult) -> Cell:
    name, _, more = rule.name.partition(", ")
    if rule.matches is not None:
        more = f"as many as limit {rule.matches:.0%}"
    # A name that breaks would make a tall row of a low one.
    return Cell(f"{rule_letter(replay, rule)} {capital(name)}".replace(" ", "\u00a0"), more)


NOTHING = "–"


def _measured(m: Measured | None, *, percent: bool = True) -> Cell:
    if m is None:
        return Cell(NOTHING, number=True)
    words = (f"{x:.1%}" if percent else _money(x) for x in (m.value, m.low, m.high))
    value, low, high = words
    return Cell(value, f"{low} to {high}", number=True)


def _share(m: Measured) -> str:
    return f"{m.value:.1%}; {m.low:.1%} to {m.high:.1%}"


def _money(amount: float | None, currency: str = "") -> str:
    return NOTHING if amount is None else format_money(amount, currency)


_HOW_TO_READ = (
    "Bid: median, as a share of the central estimate of the resale in the selling channel. "
    "Expected and realised: margin a lot. Predicted: mean risk of loss at the price paid. On "
    "outlay: margin per unit of outlay, all lots together. A share that wins as many lots as a "
    "limit lets both be compared. Every lot: what all bring at their price, unselected. Small "
    "figures: 95% intervals. A dash: fewer than five lots of which it is known what they brought."
)


def _risk(replay: Replay) -> Iterator[Block]:
    columns = (
        Cell("Predicted risk"),
        Cell("Lots", number=True),
        Cell("Predicted, mean", number=True),
        Cell("Lost money", number=True),
    )
    rows = tuple(_band(b) for b in replay.bands)
    yield Grid("Had every lot been bought at its price", columns, rows, style="risk")
    yield Paragraph(
        "Predicted without the correction for winning. If a price told nothing that the estimate "
        "does not know, both columns would agree.",
        "quiet",
    )


def _band(band: LossBand) -> tuple[Cell, ...]:
    return (
        Cell(f"{band.low:.0%} to {band.high:.0%}"),
        Cell(f"{band.lots:,}", number=True),
        Cell(f"{band.predicted:.1%}", number=True),
        _measured(band.realised),
    )


def auctions_section(results: Sequence[AuctionResult], currency: str) -> Section:
    """Return the section on what winners among bidders of equal skill expect and make.

    Parameters
    ----------
    results : sequence of AuctionResult
        One row each.
    currency : str
        Of the margins.
    """
    columns = (
        Cell("Rivals"),
        Cell("Winning"),
        Cell(f"Expected margin, {currency}", number=True),
        Cell(f"Realised margin, {currency}", number=True),
        Cell("Realised less expected", number=True),
        Cell("Predicted risk", number=True),
        Cell("Lost money", number=True),
    )
    rows = tuple(
        (
            Cell(f"{r.rivals}"),
            Cell("corrected" if r.corrected else "not corrected"),
            Cell(_money(r.expected.value), number=True),
            _measured(r.realised, percent=False),
            _measured(r.difference, percent=False),
            Cell(f"{r.predicted_loss:.1%}", number=True),
            _measured(r.realised_loss),
        )
        for r in results
    )
    lots = f"{results[0].lots:,} invented lots" if results else "No lots"
    said = f"{lots}; every bidder follows the same rule. Small figures: 95% intervals."
    grid = Grid("What winners expect and make", columns, rows, style="rules")
    return Section("auctions", "Winning among equals", (grid, Paragraph(said, "quiet")))
