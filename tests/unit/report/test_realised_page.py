"""Predicted against realised on a page: what it says, what it draws, and what it leaves out."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from said import PAIR, many_pairs
from syrupy.assertion import SnapshotAssertion

from valuation.report.page import Bullets, Chart, Figures, Grid, Section
from valuation.report.realised_page import realised_page, render_realised, show_realised
from valuation.report.realised_section import DRAWN, realised_chart, realised_section
from valuation.results.pair import Pair
from valuation.results.realised import Realised
from valuation.study.realised import realised_study

LEFT_OUT = replace(PAIR, said_id="f" * 16, left_out="said for another channel")
NO_RANGE = replace(
    PAIR, said_id="e" * 16, lower=None, upper=None, level=None, car="<b>1971</b> Skarnholt $Nordic$"
)


def study(pairs: tuple[Pair, ...]) -> Realised:
    return realised_study(pairs, as_of=date(2025, 1, 1), said=25, waiting=8)


@pytest.fixture(scope="module")
def full() -> Realised:
    return study((*many_pairs(14), LEFT_OUT, NO_RANGE))


def of_kind(section: Section, kind: type) -> list[object]:
    return [b for b in section.blocks if isinstance(b, kind)]


def without_charts(html: str) -> str:
    return re.sub(r"<svg.*?</svg>", "<svg>", html, flags=re.DOTALL)


def test_the_page_says_what_was_found(full: Realised, snapshot: SnapshotAssertion) -> None:
    page = realised_page(full)
    plain = [(s.heading, [b for b in s.blocks if not isinstance(b, Chart)]) for s in page.sections]
    assert plain == snapshot


def test_the_same_study_gives_the_same_page_and_nothing_from_elsewhere(full: Realised) -> None:
    html = render_realised(full)
    assert html == render_realised(full)
    assert "http" not in html.replace("http://www.w3.org", "")
    assert "Internal: not for customers." in html
    assert "<b>1971</b>" not in html


def test_the_chart_tells_in_words_what_it_draws(full: Realised) -> None:
    chart = realised_chart(full, "prices")
    assert chart is not None
    assert "1962 Torvane GT: minus 34%, outside its range; own figure nearer." in chart.wide
    assert "&lt;b&gt;1971&lt;/b&gt; Skarnholt $Nordic$: minus 2%, without a range." in chart.narrow
    assert "said for another channel" not in chart.wide
    assert chart.caption.startswith("Price of the next sale: each row is a car")


def test_only_the_last_cars_are_drawn_and_the_others_counted() -> None:
    many = tuple(replace(p, kind="price", margin=None) for p in many_pairs(DRAWN + 3))
    chart = realised_chart(study(many), "prices")
    assert chart is not None
    assert chart.caption.endswith("The 3 cars sold before are in the figures.")


def test_the_table_shows_the_last_sale_first_with_those_not_compared(full: Realised) -> None:
    (grid,) = of_kind(realised_page(full).sections[1], Grid)
    assert isinstance(grid, Grid)
    days = [row[0].note.split("sold ")[1] for row in grid.rows]
    assert days[0] == "21 Jul 2024"
    assert len(grid.rows) == 16
    told = {(row[-1].text, row[-1].note) for row in grid.rows}
    assert ("not compared", "said for another channel") in told
    assert sum(row[-1].mark == "outside" for row in grid.rows) == 2


def test_columns_nobody_needs_are_left_out() -> None:
    (grid,) = of_kind(realised_page(study((PAIR,))).sections[1], Grid)
    assert isinstance(grid, Grid)
    assert [c.text for c in grid.columns] == [
        "Car", "Estimate", "Range", "Brought", "How it compares",
    ]  # fmt: skip


def test_without_a_pair_the_page_says_how_to_get_some() -> None:
    section = realised_section(study(()))
    assert not of_kind(section, Figures)
    assert not of_kind(section, Chart)
    assert "Keep what is said with --log" in render_realised(study(()))


def test_few_pairs_stand_in_words_and_not_in_figures() -> None:
    section = realised_section(study(many_pairs(4)))
    assert [name for name, _, _ in of_kind(section, Figures)[0].pairs] == ["Mean margin realised"]
    (said,) = of_kind(section, Bullets)
    assert "Prices of the next sale: 2 pairs only, too few for a figure." in said.items


def test_a_notebook_shows_the_same(full: Realised) -> None:
    shown = show_realised(full)
    assert repr(shown) == full.summary()
    assert "Did it come true?" in without_charts(shown._repr_html_())


def test_everything_is_there_as_data(full: Realised) -> None:
    told = full.to_dict()
    assert told["format"] == 1
    assert (told["said"], told["waiting"], told["won"]) == (25, 8, 7)
    assert [m["expected"] for m in told["margins"]] == ["3700.00"]
    back = [Pair.from_dict(p) for p in told["pairs"]]
    assert tuple(back) == full.pairs
    assert Decimal(told["pairs"][0]["price"]) == full.pairs[0].price
