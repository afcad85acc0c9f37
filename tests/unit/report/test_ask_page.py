"""The page of what to ask: the same numbers in words, table and chart, and for whom it is."""

from __future__ import annotations

import asks
import pytest
from syrupy.assertion import SnapshotAssertion

from valuation.report.ask_page import ask_page
from valuation.report.page import Grid
from valuation.report.render import render_page
from valuation.results.stock_ask import StockAsk
from valuation.results.words import INTERNAL

BOTH = {"answer": asks.answer, "assumed": asks.assumed}


@pytest.fixture(params=list(BOTH))
def answer(request: pytest.FixtureRequest) -> StockAsk:
    return BOTH[request.param]()


def test_words(answer: StockAsk, snapshot: SnapshotAssertion) -> None:
    assert answer.summary() == snapshot


def test_the_table_holds_the_prices_that_have_a_name(answer: StockAsk) -> None:
    page = ask_page(answer)
    (grid,) = [b for s in page.sections for b in s.blocks if isinstance(b, Grid)]
    assert [row[0].text.lower() for row in grid.rows] == [name for name, _ in answer.named]
    for row, (_, p) in zip(grid.rows, answer.named, strict=True):
        assert row[1].text == f"{p.ask:,}"
        assert row[2].text == f"{100 * p.chance.chance:.0f}%"
        assert row[4].text.replace("\N{MINUS SIGN}", "-") == f"{p.net.value:,.0f}"
        assert row[5].text == f"{p.a_day.value:.2f}"


def test_it_is_for_the_firm_and_its_words_are_escaped(answer: StockAsk) -> None:
    page = ask_page(answer)
    assert page.notice == INTERNAL
    html = render_page(page)
    assert "&lt;b&gt;Coupe&lt;/b&gt;" in html
    assert "<b>Coupe" not in html
    assert answer.basis in html
