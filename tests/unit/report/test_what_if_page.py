"""What-if questions as text, page and chart."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest
import what_ifs
from reading import headings, outline, plain, shown
from syrupy.assertion import SnapshotAssertion

from valuation.report.pdf import render_pdf
from valuation.report.what_if_chart import can_be_drawn, what_if_chart, what_if_figure
from valuation.report.what_if_page import HOLDS_A_COST, render_what_if, what_if_page
from valuation.report.what_if_section import what_if_sections
from valuation.results.what_if import WhatIfs, change_words, evidence_of


def test_the_page_is_one_well_formed_document() -> None:
    html = render_what_if(what_ifs.many())
    tags = outline(html).tags
    ids = [a["id"] for _, a in tags if "id" in a]
    assert len(ids) == len(set(ids))
    assert not {tag for tag, _ in tags} & {"script", "link", "img", "iframe"}
    assert "http" not in html
    assert "<GT>" not in html
    assert "1968 Torvane &lt;GT&gt; coupe" in html
    assert not re.search(r"\b(nan|None|inf)\b", plain(html))
    assert html == render_what_if(what_ifs.many())
    assert headings(html) == [
        "What it would be worth otherwise", "What to mind", "The sales behind it",
        "Before you rely on it",
    ]  # fmt: skip


def test_sections(snapshot: SnapshotAssertion) -> None:
    assert [shown(s) for s in what_if_sections(what_ifs.many())] == snapshot


def test_the_summary(snapshot: SnapshotAssertion) -> None:
    assert what_ifs.many().summary() == snapshot
    assert replace(what_ifs.ENGINE, pay_back=what_ifs.PAID).summary() == snapshot


def test_a_cost_is_told_with_the_wish_for_care() -> None:
    assert what_if_page(what_ifs.many()).notice == ""
    paid = replace(what_ifs.ENGINE, pay_back=what_ifs.PAID)
    page = what_if_page(paid)
    assert page.notice == HOLDS_A_COST
    text = plain(render_what_if(paid))
    assert "Cost 2,000 to 4,000 EUR: net +3,000 EUR, 90% interval -800 to +7,100 EUR" in text
    assert "chance that it pays back 91%" in text
    assert "no forecast that the work succeeds" in text


def test_one_answer_stands_without_the_word_together() -> None:
    text = plain(render_what_if(what_ifs.ENGINE))
    assert "All together" not in text
    assert "It adds 6,000 EUR, 90% interval +2,400 to +9,900 EUR." in text
    assert "No appraisal." in text
    assert "62% evidence" in text


def test_the_chart_says_in_words_what_it_shows() -> None:
    chart = what_if_chart(what_ifs.many())
    for drawn in (chart.wide, chart.narrow):
        assert (
            "Original engine: plus 6,000 EUR, 90% interval plus 2,400 to plus 9,900 EUR." in drawn
        )
        assert "Better brakes: The car is that today: nothing changes." in drawn
        assert "As it is the car comes to 50,000 EUR." in drawn
    assert "diamond" in chart.caption
    one = WhatIfs(what_ifs.OF, (what_ifs.ENGINE,))
    assert "diamond" not in what_if_chart(one).caption


def test_dots_that_span_zero_are_open_and_all_together_is_a_diamond() -> None:
    (axes,) = what_if_figure(what_ifs.many()).axes
    shapes = {}
    for line in axes.lines:
        if line.get_marker() in ("o", "D"):
            at = float(line.get_xdata()[0])
            shapes[round(at)] = (line.get_marker(), line.get_markerfacecolor())
    ink = shapes[6_000][1]
    assert shapes[6_000][0] == shapes[400][0] == "o"
    assert shapes[400][1] != ink
    assert shapes[6_450][0] == "D"
    ticks = [t.get_text() for t in axes.get_xticklabels()]
    assert "0" in ticks
    assert "+4,000" in ticks


def test_without_any_effect_there_is_no_chart() -> None:
    nothing = WhatIfs(what_ifs.OF, (what_ifs.SAME,))
    assert not can_be_drawn(nothing)
    text = plain(render_what_if(nothing))
    assert "What if it had better brakes? The car is that today: nothing changes." in text


def test_the_page_becomes_a_pdf() -> None:
    made = render_pdf(what_if_page(what_ifs.many()))
    assert made.startswith(b"%PDF")


def test_the_machine_readable_form() -> None:
    told = json.loads(json.dumps(what_ifs.many().to_dict()))
    assert next(iter(told)) == "format"
    assert told["format"] == 1
    assert told["before"]["range"] == {"level": 0.8, "lower": 41_000, "upper": 61_000}
    engine, colour, same = told["answers"]
    assert (engine["change"], engine["lower"], engine["upper"]) == (6_000, 2_400, 9_900)
    assert engine["percent"] == 12.0
    assert colour["either_way"]
    assert colour["range_after"] == {"reason": "It lies outside."}
    assert same["facts"] == []
    assert told["together"]["change"] == 6_450
    assert told["not_asked"][0]["name"] == "more miles"
    paid = replace(what_ifs.ENGINE, pay_back=what_ifs.PAID).to_dict()
    assert paid["pay_back"]["chance"] == 0.913
    assert paid["pay_back"]["lower"] == -800


@pytest.mark.parametrize(
    ("share", "said"),
    [(1.0, "all evidence"), (0.62, "62% evidence, 38% assumption"), (0.001, "all assumption")],
)
def test_shares_of_evidence_in_words(share: float, said: str) -> None:
    assert evidence_of(replace(what_ifs.ENGINE, evidence_share=share)) == said


def test_a_change_in_words() -> None:
    assert change_words(what_ifs.COLOUR) == (
        "The sales can't tell whether it adds or takes away: -300 to +1,100 EUR."
    )
    less = replace(what_ifs.ENGINE, after=47_000, lower=-5_000.0, upper=-900.0)
    assert change_words(less) == "It takes away 3,000 EUR, 90% interval -5,000 to -900 EUR."
    unmoved = replace(what_ifs.ENGINE, steps=(), after=50_000)
    assert change_words(unmoved) == (
        "Nothing the sales show tells the two apart: the estimate stays."
    )
