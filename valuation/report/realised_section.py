"""What was said of cars against what they brought, as sections of a page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal

from valuation.report.dot_chart import Dot, dots_figure, ratio_scale
from valuation.report.drawing import in_both_widths
from valuation.report.page import Block, Bullets, Cell, Chart, Figures, Grid, Paragraph, Section
from valuation.report.words import capital, day, plural
from valuation.results.bid_text import bid_words
from valuation.results.pair import Pair
from valuation.results.realised import Accuracy, Duel, Figure, Margins, Realised

__all__ = ["realised_chart", "realised_section", "realised_table"]

NOTHING = "–"

DRAWN = 24
"""Pairs of each kind that are drawn: the last ones."""

LISTED = 200
"""Pairs that the table shows: the last ones."""

_KINDS = {
    "prices": ("Price of the next sale", "the estimate"),
    "resales": ("Price of the resale", "the resale that was foretold"),
}

_CAPTION = (
    "{title}: each row is a car, the last sold at the bottom. Bar: the range that was said. "
    "Circle: the price, inside it; open diamond and bold: outside; open circle: no range was said. "
    "{people}Dashed: as estimated; hatched: within 10% of it.{more}"
)

_PEOPLE = "Small square: the person's own figure; triangle: a figure set in the model's place. "


def realised_section(study: Realised) -> Section:
    """Return figures, findings and charts of predicted against realised.

    Parameters
    ----------
    study : Realised
        What to show.
    """
    blocks: list[Block] = [Paragraph(study.headline(), "lead")]
    figures = tuple(_figures(study))
    if figures:
        blocks.append(Figures(figures))
    blocks.append(Bullets(tuple(study.sentences())))
    for accuracy in study.accuracy:
        chart = realised_chart(study, accuracy.what)
        if chart is not None:
            blocks.append(chart)
    if not study.pairs:
        blocks.append(
            Paragraph(
                "Keep what is said with --log, and read in sales and the stock ledger: each car "
                "that sells is then held against it.",
                "quiet",
            )
        )
    return Section("realised", "Did it come true?", tuple(blocks))


def _figures(study: Realised) -> Iterator[tuple[str, str, str]]:
    for accuracy in study.accuracy:
        yield from _of_accuracy(accuracy)
    for margins in study.margins:
        yield from _of_margins(margins)
    for duel in (study.own, study.overrides):
        if duel is not None and duel.difference is not None:
            yield _of_duel(duel)


def _of_accuracy(a: Accuracy) -> Iterator[tuple[str, str, str]]:
    name = a.what
    if a.inside is not None and a.level is not None:
        told = f"of {plural(a.ranges, 'range')} of {a.level:.0%}{_sure(a.inside, '.0%')}"
        yield f"{capital(name)} inside the range", f"{a.inside.value:.0%}", told
    if a.ratio is not None and a.error is not None:
        told = f"median error {a.error:.1%}; {plural(a.pairs, 'pair')}{_sure(a.ratio, '.2f')}"
        yield f"Estimate over price, {name}", f"{a.ratio.value:.2f}", told


def _of_margins(m: Margins) -> Iterator[tuple[str, str, str]]:
    told = f"expected {bid_words(m.expected, m.currency)}; {plural(m.pairs, 'car')}"
    yield "Mean margin realised", bid_words(m.realised, m.currency), told


def _of_duel(d: Duel) -> tuple[str, str, str]:
    told = f"{d.nearer_model:,} of {d.pairs:,} times nearer than the {d.other}"
    return f"Model against {d.other}", f"{d.nearer_model / d.pairs:.0%}", told


def _sure(figure: Figure, form: str) -> str:
    if figure.low is None or figure.high is None:
        return "; too few for an interval"
    return f"; {figure.low:{form}} to {figure.high:{form}}"


def realised_chart(study: Realised, what: str) -> Chart | None:
    """Draw the last pairs of one kind: the price within, below or above its range.

    Parameters
    ----------
    study : Realised
        What to show.
    what : {"prices", "resales"}
        Which pairs.

    Returns
    -------
    Chart or None
        None if there are none.
    """
    pairs = [p for p in study.compared if p.of_resale == (what == "resales")]
    drawn = pairs[-DRAWN:]
    if not drawn:
        return None
    title, estimate = _KINDS[what]
    dots = [_dot(p) for p in drawn]
    scale = ratio_scale("Price over estimate", (0.9, 1.1))
    wide, narrow = in_both_widths(
        lambda slim: dots_figure(dots, scale, narrow=slim),
        name=f"realised-{what}",
        title=f"{title} against {estimate}, car by car",
        description=_describe(drawn),
    )
    left = len(pairs) - len(drawn)
    more = f" The {plural(left, 'car')} sold before are in the figures." if left else ""
    people = _PEOPLE if any(dot.others for dot in dots) else ""
    return Chart(wide, narrow, _CAPTION.format(title=title, people=people, more=more))


def _dot(p: Pair) -> Dot:
    central = _central(p)

    def share(amount: Decimal | None) -> float | None:
        return None if amount is None else float(amount / central)

    others = ((share(p.own_figure), "s"), (share(p.override), "^"))
    shape = {True: "inside", False: "beyond", None: "doubtful"}[p.inside]
    return Dot(
        p.car,
        float(p.price / central),
        share(p.lower),
        share(p.upper),
        _off(p),
        shape,
        tuple((at, mark) for at, mark in others if at is not None),
    )


def _central(p: Pair) -> Decimal:
    if p.central is None:
        raise ValueError("a pair without an estimate is not compared")
    return p.central


def _off(p: Pair) -> str:
    """Say by how much the price lay above or below the estimate."""
    percent = 100 * (p.price / _central(p) - 1)
    return f"{percent:+.0f}%" if round(percent) else "0%"


def _describe(pairs: Sequence[Pair]) -> str:
    words = {True: "inside its range", False: "outside its range", None: "without a range"}
    return " ".join(f"{p.car}: {_off(p)}, {words[p.inside]}{_people_said(p)}." for p in pairs)


def _people_said(p: Pair) -> str:
    """Say of the figures of people that are drawn beside the price which came nearer to it."""
    figures = (("own figure", p.own_figure), ("figure set in its place", p.override))
    return "".join(f"; {name} {_nearness(p, figure)}" for name, figure in figures if figure)


def _nearness(p: Pair, figure: Decimal) -> str:
    gained = abs(_central(p) - p.price) - abs(figure - p.price)
    return "nearer" if gained > 0 else "further off" if gained < 0 else "as near"


def realised_table(study: Realised) -> Section:
    """Return the pairs one by one, the last sold first, with those that are not compared.

    Parameters
    ----------
    study : Realised
        What to show.
    """
    listed = tuple(reversed(study.pairs))[:LISTED]
    own = any(p.own_figure or p.override for p in listed)
    margin = any(p.margin for p in listed)
    heads = ["Estimate", "Range", "Brought"]
    heads += (["Own figure"] if own else []) + (["Margin expected", "realised"] if margin else [])
    columns = (Cell("Car"), *(Cell(h, number=True) for h in heads), Cell("How it compares"))
    rows = tuple(_row(p, own=own, margin=margin) for p in listed)
    grid = Grid("What was said last, and what the car brought", columns, rows, style="rules")
    blocks: list[Block] = [grid]
    left = len(study.pairs) - len(listed)
    if left:
        blocks.append(Paragraph(f"{plural(left, 'earlier sale')} not shown.", "quiet"))
    return Section("pairs", "Car by car", tuple(blocks))


def _row(p: Pair, *, own: bool, margin: bool) -> tuple[Cell, ...]:
    said = f"said {day(p.said_on)} by {p.by}, sold {day(p.sold_on)}"
    cells = [
        Cell(p.car, said),
        Cell(_amount(p.central, p.currency), "resale" if p.of_resale else "", number=True),
        Cell(_range(p), number=True),
        Cell(bid_words(p.price, p.currency), _how(p), number=True),
    ]
    if own:
        cells.append(_own(p))
    if margin:
        m = p.margin
        cells.append(Cell(NOTHING if m is None else bid_words(m.expected, ""), number=True))
        cells.append(Cell(NOTHING if m is None else bid_words(m.realised, ""), number=True))
    return (*cells, _verdict(p))


def _verdict(p: Pair) -> Cell:
    if p.left_out:
        return Cell("not compared", p.left_out)
    if p.inside is None:
        return Cell(_off(p), "no range was said")
    return Cell(_off(p), mark="" if p.inside else "outside")


def _own(p: Pair) -> Cell:
    if p.override is not None:
        own = "" if p.own_figure is None else f"; own figure {bid_words(p.own_figure, '')}"
        return Cell(bid_words(p.override, ""), f"set: {p.override_reason}{own}", number=True)
    return Cell(_amount(p.own_figure, ""), number=True)


def _amount(amount: Decimal | None, currency: str) -> str:
    return NOTHING if amount is None else bid_words(amount, currency)


def _range(p: Pair) -> str:
    if p.lower is None or p.upper is None:
        return NOTHING
    return f"{bid_words(p.lower, '')} to {bid_words(p.upper, '')}"


def _how(p: Pair) -> str:
    found = {"chassis": "by chassis", "lot": "by lot", "stock number": "by stock number"}
    return f"{p.source}, {found[p.matched_by]}"
