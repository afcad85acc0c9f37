"""The page of two cars side by side."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from html import unescape

import pytest
from besides import LINES, OURS, beside_of, without_prices

from valuation.report.beside_chart import MOST, beside_chart, beside_stairs
from valuation.report.beside_page import beside_page, render_beside
from valuation.report.beside_section import beside_sections
from valuation.report.notebook import show_beside
from valuation.report.page import Grid
from valuation.report.render import render_section
from valuation.results.beside import Beside
from valuation.results.beside_parts import BesidePrice, DifferenceLine, PriceGap, WorthTelling
from valuation.results.beside_words import (
    bad_words,
    difference_words,
    gap_words,
    place_words,
    price_words,
)


def words_of(found: Beside) -> str:
    html = re.sub(r"<style>.*?</style>|<svg.*?</svg>", " ", render_beside(found), flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def grid(found: Beside, name: str) -> Grid:
    (section,) = [s for s in beside_sections(found) if s.name == name]
    (block,) = [b for b in section.blocks if isinstance(b, Grid)]
    return block


def test_the_example_adds_up() -> None:
    found = beside_of()
    assert sum(line.amount for line in found.lines) == found.difference == 7_500
    assert found.gap is not None
    assert found.our_price is not None
    assert found.their_price is not None
    assert found.gap.apart == found.our_price.compared - found.their_price.compared


def test_sections_stand_in_the_order_in_which_they_are_asked_for() -> None:
    assert [s.name for s in beside_sections(beside_of())] == [
        "answer", "prices", "apart", "left-out", "evidence", "cautions",
    ]  # fmt: skip
    assert [s.name for s in beside_sections(without_prices())] == [
        "answer", "apart", "evidence", "cautions",
    ]  # fmt: skip


def test_page_and_text_have_the_same_sentences_and_figures() -> None:
    found = beside_of()
    page, text = words_of(found), " ".join(found.summary().split())
    for said in (
        "Which of the two is the better buy can't be told. The chance that it is the other car is "
        "58 in 100.",
        "At these prices this car is 9,900 EUR dearer. By what the two cars are, it should be "
        "7,500 EUR dearer. That leaves 2,400 EUR by which this car is dearer than the cars "
        "explain.",
        "The other car was sold for 49,000 EUR on 4 Mar 2024. The market's rise since then brings "
        "that to 49,700 EUR. Such a car is asked for at 1,900 EUR more than it sells for, so it is "
        "compared as 51,600 EUR. That is 2,900 EUR below its own estimate.",
        "This car is offered for 61,500 EUR. That is 500 EUR below its own estimate.",
        "An estimate is not an appraisal.",
        "How is it, zone by zone?",
    ):
        assert said in page
        assert said in text
    for amount in ("62,000", "54,500", "+9,400", "-4,900", "64,700", "41,200"):
        assert amount in page
        assert amount in text


def test_the_table_leads_from_the_other_car_to_this_one() -> None:
    rows = grid(beside_of(), "apart").rows
    amounts = [int(row[3].text.replace(",", "")) for row in rows]
    assert amounts[0] + sum(amounts[1:-1]) == amounts[-1] == 62_000
    assert [c.text for c in rows[1]] == [
        "Condition", "not stated", "78 of 100 points", "+9,400", "+6,100 to +12,700",
        "81% sales, 19% our assumption",
    ]  # fmt: skip
    assert rows[3][5].text == "our assumption alone"
    assert [c.text for c in rows[5][4:]] == ["", ""]


def test_what_is_left_out_stands_with_what_hangs_on_it() -> None:
    rows = grid(beside_of(), "left-out").rows
    assert (rows[0][1].text, rows[0][1].note) == ("64,700", "+10,200: 78 of 100 points")
    assert rows[0][2].note == "-13,300: 31 points or less, 13 in 100 such cars"
    assert rows[0][4].text == "23,500"
    assert (rows[1][2].text, rows[1][2].note) == ("", "nobody can say")
    assert bad_words(beside_of().left_out[1], "EUR") == ""


def test_the_chart_joins_small_lines_and_tells_every_step_in_words() -> None:
    many = tuple(replace(LINES[0], label=f"Line {i}", amount=100 - i) for i in range(14))
    found = beside_of(
        lines=(*many, LINES[-1]),
        ours=replace(OURS, central=54_500 + sum(x.amount for x in many) + 540),
    )
    stairs = beside_stairs(found)
    assert len(stairs.steps) == MOST
    assert stairs.steps[-2].label == "6 smaller lines together"
    assert stairs.start + sum(s.amount for s in stairs.steps) == stairs.central
    chart = beside_chart(beside_of())
    for svg in (chart.wide, chart.narrow):
        assert "From 1969 Torvane GT convertible to 1968 Torvane GT coupe" in svg
        assert "Condition: plus 9,400 EUR." in svg  # its values are too long for a drawing
        assert "Body (convertible, here coupe): minus 4,900 EUR." in svg
        assert "The other car: 54,500 EUR." in svg
        assert "This car: 62,000 EUR." in svg


def test_cars_that_nothing_sets_apart_have_no_chart() -> None:
    same = beside_of(lines=(), theirs=OURS, lower=0, upper=0)
    assert "Nothing that is known sets them apart." in words_of(same)
    assert "<svg" not in render_beside(same)
    assert "Both cars come to the same estimate." in words_of(same)


def test_no_range_is_said_with_its_reason() -> None:
    found = without_prices()
    assert "no range: The year 1969 lies outside the evidence." in found.summary()
    assert "No range: The year 1969 lies outside the evidence." in words_of(found)
    assert "hardly a sale of such a car is known" in words_of(found)
    assert found.to_dict()["theirs"]["range"]["reason"].startswith("The year 1969")


def test_markup_in_a_value_is_text_on_the_page() -> None:
    line = replace(LINES[0], theirs="<b>red</b>", ours="<script>alert(1)</script>")
    found = beside_of(lines=(line, *LINES[1:]), theirs=replace(OURS, heading="A <i>car</i>"))
    html = render_beside(found)
    assert "<script" not in html
    assert "<b>red" not in html
    assert "<i>car" not in html
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in html


def test_a_section_can_stand_in_a_notebook() -> None:
    shown = show_beside(beside_of())
    html = shown._repr_html_()
    for section in beside_sections(beside_of()):
        assert section.heading in render_section(section)
        assert section.heading in html
    assert repr(shown) == beside_of().summary()


def test_it_is_data_with_a_format() -> None:
    told = json.loads(json.dumps(beside_of().to_dict(), allow_nan=False))
    assert told["format"] == 1
    assert told["difference"] == {"amount": 7_500, "lower": 4_100, "upper": 10_900}
    assert told["gap"]["unexplained"] == 2_400
    assert told["their_price"]["compared"] == 51_600
    assert told["told"] == {"answer": "open", "chance": 0.58, "reason": ""}
    assert [x["stake"] for x in told["left_out"]] == [23_500, 1_400]
    assert told["lines"][4]["lower"] is None
    assert without_prices().to_dict()["as_of"] is None


def test_the_page_is_named_after_both_cars() -> None:
    page = beside_page(beside_of())
    assert page.title == "1968 Torvane GT coupe, beside 1969 Torvane GT convertible"
    assert page.subtitle == "Sold by a dealer, the price paid, valued for 12 Sep 2025"
    assert beside_page(without_prices()).subtitle.endswith("from an undated list")


@pytest.mark.parametrize(
    ("gap", "said"),
    [
        (PriceGap(-2_000, 3_000, 0, 0), "cheaper. By what the two cars are, it should be 3,000 EUR "
         "dearer. That leaves 5,000 EUR by which this car is cheaper than the cars explain."),
        (PriceGap(0, -4_000, 0, 0), "as dear as the other. By what the two cars are, it should be "
         "4,000 EUR cheaper. That leaves 4,000 EUR by which this car is dearer than the cars "
         "explain."),
        (PriceGap(500, 500, 0, 0), "it should be 500 EUR dearer. That is the whole of it."),
    ],
)  # fmt: skip
def test_a_gap_is_said_in_every_direction(gap: PriceGap, said: str) -> None:
    assert gap_words(gap, "EUR").endswith(said)


def test_a_price_that_can_not_be_compared_has_no_place() -> None:
    paid = BesidePrice(49_000, "sold", straight=False)
    assert place_words(paid, 50_000, "EUR") == ""
    assert price_words("The other car", paid, "EUR") == "The other car was sold for 49,000 EUR."
    reason = "Too few sales tell."
    found = beside_of(their_price=paid, gap=None, told=WorthTelling("open", None, reason))
    assert [c.text for c in grid(found, "prices").rows[1]][2:] == ["", "54,500", ""]
    assert f"can't be told. {reason}" in words_of(found)


def test_a_falling_market_and_a_price_at_its_estimate_are_said() -> None:
    fell = BesidePrice(50_000, "asking", beside_of().as_of, -1_000)
    said = price_words("The other car", fell, "EUR")
    assert said == (
        "The other car was offered for 50,000 EUR on 12 Sep 2025. The market's fall since then "
        "brings that to 49,000 EUR."
    )
    assert place_words(BesidePrice(50_000, "asking"), 50_000, "EUR") == "That is its own estimate."
    assert difference_words(900, -100, 1_900, "EUR").endswith(
        "(90% interval: 100 less to 1,900 EUR more)."
    )


def test_a_line_without_words_shows_its_label_alone() -> None:
    plain = DifferenceLine(
        "smaller", "Smaller differences together", "", "", 310, 310.0, 1.0, 2.0, 1.0
    )
    assert "  Smaller differences together   " in beside_of(lines=(plain,)).summary()
