"""The page and the workbook of the stock say what the review holds, and who may read them."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import openpyxl
import pytest
import stock_reviews

from valuation.report.pdf import render_pdf
from valuation.report.stock_charts import age_chart, decide_chart, drawn, worth_chart
from valuation.report.stock_page import render_stock, stock_page
from valuation.report.stock_workbook import stock_workbook
from valuation.results.words import INTERNAL

REVIEW = stock_reviews.review()


def test_what_has_most_to_gain_stands_first_and_the_unknown_last() -> None:
    assert [c.stock for c in REVIEW.to_decide] == ["S-101", "S-090"]
    best = stock_reviews.OLD.best
    assert best is not None
    assert best.name == "new ask"
    assert stock_reviews.OLD.gain == 556.0
    assert stock_reviews.BARE_OLD.gain == 0.0
    assert [c.stock for c in REVIEW.drifted] == ["S-101"]
    assert stock_reviews.OLD.over_estimate == pytest.approx(17.03, abs=0.01)


def test_the_page_starts_with_charts_and_says_for_whom_it_is() -> None:
    page = stock_page(REVIEW)
    assert page.notice == INTERNAL
    kinds = [b.kind for b in page.sections[0].blocks]
    assert kinds[:3] == ["figures", "chart", "chart"]
    assert page.sections[1].blocks[0].kind == "chart"
    text = render_stock(REVIEW)
    for said in ("66,900 EUR", "57,300 to 77,200", "56,951 EUR", "8%", "+556", "-222",
                 "38%", "28% to 49%", "1,651", "2,210", "-4.3%", "said then", "moved back",
                 "not compared", "leaves most"):  # fmt: skip
        assert said in text, said
    assert render_stock(REVIEW) == text


def test_charts_say_what_they_draw() -> None:
    assert REVIEW.worth is not None
    decide = decide_chart(REVIEW)
    assert decide is not None
    assert (
        "1, S-101, 1968 Torvane GT: new ask plus 556, auction minus 222; plus 556." in decide.wide
    )
    ages = age_chart(REVIEW).wide
    assert len(drawn(REVIEW)) == 2
    assert "1, S-101: 31 weeks, plus 17%, to decide." in ages
    assert "S-114: 2 weeks, plus 11%." in ages
    worth = worth_chart(REVIEW.worth, "EUR").wide
    for said in ("66,900 EUR", "56,951 EUR", "59,359 EUR", "57,300 to 77,200"):
        assert said in worth
    assert decide_chart(replace(REVIEW, cars=(stock_reviews.YOUNG,))) is None


def test_more_cars_than_are_named_are_told() -> None:
    many = tuple(replace(stock_reviews.YOUNG, stock=f"S-{k}", days_listed=k) for k in range(40))
    assert "15 more stand in the table." in age_chart(replace(REVIEW, cars=many)).wide


def test_an_empty_stock_has_a_page() -> None:
    text = render_stock(stock_reviews.empty())
    assert "The ledger has no car in stock." in text
    assert "<svg" not in text
    assert render_pdf(stock_page(REVIEW)).startswith(b"%PDF")


def test_the_workbook_runs_nothing_and_holds_every_car() -> None:
    content = stock_workbook(REVIEW)
    assert stock_workbook(REVIEW) == content
    book = openpyxl.load_workbook(io.BytesIO(content))
    assert book.sheetnames == ["Cars", "To decide", "About"]
    cars = list(book["Cars"].iter_rows(values_only=True))
    heads, rows = cars[0], cars[1:]
    assert [r[0] for r in rows] == ["S-090", "S-101", "S-114", "=S-120"]
    assert all(c.data_type != "f" for sheet in book for row in sheet.iter_rows() for c in row)
    old = dict(zip(heads, rows[1], strict=True))
    assert (old["asked"], old["paid"], old["spent"]) == (48_450, 35_500, 1_650.5)
    assert old["weeks in stock"] == 34.6
    ways = list(book["To decide"].iter_rows(values_only=True))
    assert [w[3] for w in ways[1:]] == ["hold", "new ask", "auction"]
    assert [round(w[13]) for w in ways[1:]] == [0, 556, -222]
    assert book["About"]["B2"].value == INTERNAL


def test_words_and_json_have_the_same_figures() -> None:
    said = REVIEW.summary()
    assert said.startswith(INTERNAL)
    assert re.search(r"new ask\s+44,600  38% \(28% to 49%\)\s+81 days, holding 930", said)
    told = REVIEW.to_dict()
    assert told["format"] == 1
    assert told["to_decide"] == ["S-101", "S-090"]
    assert told["cars"][1]["paid"] == "35500.00"
    assert told["cars"][1]["best"] == "new ask"
    assert told["cars"][1]["drift"]["total"] == pytest.approx(-4.2628)
    assert told["worth"]["left_out"][0] == {"why": "they have no range", "cars": 1}
