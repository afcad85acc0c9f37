"""The drawings of a bid sheet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from xml.etree import ElementTree as ET

import bid_sheets
import pytest
from matplotlib.axes import Axes
from matplotlib.patches import Polygon, Rectangle
from reading import words_in

from valuation.report.bid_words import breaks_words, risk_words
from valuation.report.ladder_chart import ladder_chart, ladder_figure
from valuation.report.page import Chart
from valuation.report.swing_chart import can_be_drawn, swing_chart, swing_figure
from valuation.results.bid_parts import Swing
from valuation.results.bid_sheet import BidSheet

CHARTS = [ladder_chart, swing_chart]
WITH_LADDER = [make for make in bid_sheets.ALL.values() if make().ladder]


def markers(axes: Axes) -> list[str]:
    return [str(line.get_marker()) for line in axes.lines if line.get_marker() in ("o", "s", "D")]


@pytest.mark.parametrize("draw", CHARTS)
@pytest.mark.parametrize("which", ["wide", "narrow"])
def test_a_chart_has_a_text_alternative_and_nothing_from_elsewhere(
    draw: Callable[[BidSheet], Chart], which: str
) -> None:
    svg = getattr(draw(bid_sheets.ordinary()), which)
    root = ET.fromstring(svg)  # noqa: S314
    title, description = (root.find(tag) for tag in ("title", "desc"))
    assert title is not None
    assert description is not None
    assert root.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"
    assert "38,000 EUR" in (description.text or "")
    assert "http" not in svg
    assert "<script" not in svg


@pytest.mark.parametrize("draw", CHARTS)
def test_the_same_sheet_gives_the_same_bytes(draw: Callable[[BidSheet], Chart]) -> None:
    assert draw(bid_sheets.ordinary()) == draw(bid_sheets.ordinary())


def test_two_sheets_in_one_notebook_share_no_ids() -> None:
    def ids(chart: Chart) -> set[str]:
        return {e.get("id", "") for e in ET.fromstring(chart.wide).iter()} - {""}  # noqa: S314

    one, other = ladder_chart(bid_sheets.ordinary()), ladder_chart(bid_sheets.risky())
    assert ids(one)
    assert not ids(one) & ids(other)


@pytest.mark.parametrize("make", WITH_LADDER)
@pytest.mark.parametrize("narrow", [False, True])
def test_a_bid_that_breaks_a_limit_differs_in_shape_and_filling(
    make: Callable[[], BidSheet], narrow: bool
) -> None:
    sheet = make()
    axes = ladder_figure(sheet, narrow=narrow).axes[0]
    bars = [p for p in axes.patches if isinstance(p, Rectangle)]
    broken = [bool(rung.breaks) for rung in sheet.ladder]
    assert [bool(bar.get_hatch()) for bar in bars] == broken
    best = sheet.walk_away if sheet.walk_away is not None else sheet.once_cured
    wanted = ["D" if r.bid == best else "s" if r.breaks else "o" for r in sheet.ladder]
    assert markers(axes) == wanted


@pytest.mark.parametrize("make", WITH_LADDER)
@pytest.mark.parametrize("which", ["wide", "narrow"])
def test_every_bid_is_written_with_its_risk_and_what_it_breaks(
    make: Callable[[], BidSheet], which: str
) -> None:
    sheet = make()
    said = words_in(getattr(ladder_chart(sheet), which))
    for rung in sheet.ladder:
        risk = risk_words(rung.loss_probability, sheet.loss_limit)
        words = f"{risk}, {breaks_words(rung.breaks)}" if rung.breaks else risk
        assert f"{rung.bid:,}" in said
        assert words in said


def test_bars_and_points_stand_where_the_numbers_say() -> None:
    sheet = bid_sheets.ordinary()
    axes = ladder_figure(sheet).axes[0]
    bars = [p for p in axes.patches if isinstance(p, Rectangle)]
    for bar, rung in zip(bars, sheet.ladder, strict=True):
        assert (bar.get_x(), bar.get_x() + bar.get_width()) == (rung.margin_p10, rung.margin_p90)
    points = [line for line in axes.lines if line.get_marker() in ("o", "s", "D")]
    assert [p.get_xdata()[0] for p in points] == [float(r.expected_margin) for r in sheet.ladder]
    (target,) = (line for line in axes.lines if line.get_linestyle() == "--")
    assert set(target.get_xdata()) == {5_000.0}


def test_the_bid_is_named_on_the_ladder() -> None:
    assert "walk-away bid  38,000" in words_in(ladder_chart(bid_sheets.ordinary()).wide)
    cured = ladder_chart(bid_sheets.until_cured())
    assert "walk-away bid once cured  38,000" in words_in(cured.wide)
    assert "Diamond: the walk-away bid once cured." in cured.caption
    assert "Diamond" not in ladder_chart(bid_sheets.senseless()).caption


@pytest.mark.parametrize(
    ("walk_away", "first", "last"),
    [(38_000, 34_500, 41_500), (20_000, 20_000, 27_000), (44_500, 37_500, 44_500),
     (None, 20_000, 27_000)],
)  # fmt: skip
def test_of_a_long_ladder_the_bids_around_the_answer_are_drawn(
    walk_away: int | None, first: int, last: int
) -> None:
    bid = None if walk_away is None else Decimal(walk_away)
    long = bid_sheets.ordinary(ladder=bid_sheets.ladder(range(20_000, 45_000, 500)), walk_away=bid)
    said = words_in(ladder_chart(long).wide)
    assert len(markers(ladder_figure(long).axes[0])) == 15
    assert f"Bid {first:,} EUR" in said
    assert f"Bid {last:,} EUR" in said
    assert f"Bid {first - 500:,} EUR" not in said
    assert f"Bid {last + 500:,} EUR" not in said


@pytest.mark.parametrize(
    ("target", "side"), [(5_000, "center"), (-7_000, "left"), (17_000, "right")]
)
def test_the_name_of_the_target_stays_inside_the_drawing(target: int, side: str) -> None:
    figure = ladder_figure(bid_sheets.ordinary(target_margin=Decimal(target)))
    (name,) = (t for t in figure.axes[0].texts if t.get_text().startswith("target"))
    assert name.get_horizontalalignment() == side


def test_one_certain_bid_can_be_drawn() -> None:
    rung = replace(bid_sheets.rung(38_000), margin_p10=Decimal(0), margin_p90=Decimal(0))
    flat = replace(rung, expected_margin=Decimal(0))
    alone = bid_sheets.ordinary(ladder=(flat,), target_margin=Decimal(0))
    assert "38,000" in words_in(ladder_chart(alone).wide)


@pytest.mark.parametrize("narrow", [False, True])
def test_arrows_point_the_way_the_bid_moves(narrow: bool) -> None:
    axes = swing_figure(bid_sheets.ordinary(), narrow=narrow).axes[0]
    arrows = [p for p in axes.patches if isinstance(p, Polygon)]
    ends = [(a.get_xy()[0, 0], a.get_xy()[2, 0], bool(a.get_hatch())) for a in arrows]
    assert ends == [
        (38_000, 29_000, True), (38_000, 47_000, False), (38_000, 37_500, True),
        (38_000, 37_500, True), (38_000, 38_500, False), (38_000, 38_500, False),
    ]  # fmt: skip
    dotted = [line for line in axes.lines if line.get_linestyle() == ":"]
    assert len(dotted) == 1
    assert dotted[0].get_xdata()[0] == axes.get_xlim()[0]


@pytest.mark.parametrize("which", ["wide", "narrow"])
def test_every_end_is_written_with_its_bid(which: str) -> None:
    said = words_in(getattr(swing_chart(bid_sheets.ordinary()), which))
    for swing in bid_sheets.SWINGS:
        assert swing.what in said
        for words, bid in ((swing.low, swing.low_bid), (swing.high, swing.high_bid)):
            assert words in said
            assert (f"{bid:,}" if bid is not None else "no bid") in said


def test_both_ends_may_lie_on_one_side_and_on_the_bid_itself() -> None:
    odd = (Swing("a", "x", "y", Decimal(39_000), Decimal(40_000)),
           Swing("b", "x", "y", Decimal(38_000), None))  # fmt: skip
    axes = swing_figure(bid_sheets.ordinary(swings=odd)).axes[0]
    assert len([p for p in axes.patches if isinstance(p, Polygon)]) == 2
    assert len([line for line in axes.lines if line.get_marker() == "|"]) == 1


def test_without_a_bid_to_start_from_nothing_is_drawn() -> None:
    assert can_be_drawn(bid_sheets.ordinary())
    assert can_be_drawn(bid_sheets.until_cured())
    assert not can_be_drawn(replace(bid_sheets.ordinary(), walk_away=None))
    assert not can_be_drawn(bid_sheets.ordinary(swings=()))


def test_signs_of_formulas_and_markup_stay_words() -> None:
    odd = bid_sheets.ordinary(
        car="<b>$x_1$</b>", swings=(Swing("$\\frac$ <i>", "$a$", "b", None, Decimal(1)),)
    )
    for chart in (ladder_chart(odd), swing_chart(odd)):
        assert "<b>" not in chart.wide
        assert "<i>" not in chart.wide
    assert "$\\frac$ <i>" in words_in(swing_chart(odd).wide)
