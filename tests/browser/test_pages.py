"""The page of a valuation in a real browser: phone, desk and paper."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from one_page import OnePage

from valuation.report.valuation_page import render_valuation
from valuation.results.valuation import Valuation

pytestmark = pytest.mark.browser


@pytest.mark.parametrize(
    ("width", "charts"),
    [(340, "range-narrow steps-narrow"), (390, "range-narrow steps-narrow"),
     (820, "range-wide steps-wide"), (1200, "range-wide steps-wide")],
)  # fmt: skip
def test_nothing_sticks_out_and_the_fitting_chart_is_shown(
    browse: OnePage, example: Valuation, width: int, charts: str
) -> None:
    assert browse.probe(render_valuation(example), width) == {
        "overflow": 0, "outside": 0, "charts": charts, "small": 0, "cut": [], "tables": 4
    }  # fmt: skip


@pytest.mark.parametrize("width", [340, 390, 820, 1200])
def test_nothing_to_check_sticks_out(browse: OnePage, unsettled: Valuation, width: int) -> None:
    found = browse.probe(render_valuation(unsettled), width)
    assert (found["overflow"], found["outside"], found["tables"]) == (0, 0, 5)


def test_a_long_unbroken_name_does_not_break_the_phone(
    browse: OnePage, build_valuation: Callable[..., Valuation]
) -> None:
    long = build_valuation(car="T" * 90, comparables=())
    found = browse.probe(render_valuation(long), 340)
    assert (found["overflow"], found["outside"]) == (0, 0)


@pytest.mark.parametrize(("paper", "size"), [("A4", "594.9"), ("letter", "612")])
def test_it_prints_on_both_papers(
    browse: OnePage, example: Valuation, paper: str, size: str
) -> None:
    html = render_valuation(example).replace("@page {", f"@page {{ size: {paper};")
    pdf = browse.printed(html).read_bytes()
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+)", pdf)
    assert 1 <= len(boxes) <= 5
    assert all(box.decode().startswith(size) for box in boxes)
