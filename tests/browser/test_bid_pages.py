"""Pages of bids in a real browser: phone, desk and paper."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import bid_sheets
import pypdf
import pytest
import run_lists
from one_page import OnePage

from valuation.report.bid_page import render_bid
from valuation.report.lot_sheets import render_lot_sheets
from valuation.report.run_list_page import render_run_list
from valuation.results.bid_sheet import BidSheet

pytestmark = pytest.mark.browser

A4 = (595, 842)


def pages_of(pdf: Path) -> list[str]:
    return [page.extract_text() for page in pypdf.PdfReader(pdf).pages]


def sizes_of(pdf: Path) -> set[tuple[int, int]]:
    boxes = [page.mediabox for page in pypdf.PdfReader(pdf).pages]
    return {(round(float(box.width)), round(float(box.height))) for box in boxes}


def stuffed() -> BidSheet:
    """Return a sheet that has more of everything than fits on one sheet of paper."""
    sheet = bid_sheets.until_cured()
    long = "A sentence that goes on and on about one and the same thing. " * 6
    return replace(
        sheet,
        car="1967 Torvane GT convertible, four-speed, restored between 2009 and 2014, one of few",
        way="lot at a house with a very long name, shipped home over two seas and a mountain pass",
        reasons=(long,) * 4,
        warnings=(long,) * 6,
        stops=tuple(replace(stop, reason=long) for stop in sheet.stops * 3),
        ladder=bid_sheets.ladder(range(30_000, 48_000, 500)),
        account=sheet.account * 4,
        checks=tuple(replace(c, label=long, how=long, if_bad=long, if_good=long)
                     for c in sheet.checks * 4),
        work=tuple(replace(w, what=long) for w in sheet.work * 5),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("width", "charts"),
    [(340, "ladder-narrow swings-narrow"), (390, "ladder-narrow swings-narrow"),
     (820, "ladder-wide swings-wide"), (1200, "ladder-wide swings-wide")],
)  # fmt: skip
def test_a_bid_sheet_fits_and_shows_the_fitting_charts(
    browse: OnePage, width: int, charts: str
) -> None:
    assert browse.probe(render_bid(bid_sheets.ordinary()), width) == {
        "overflow": 0, "outside": 0, "charts": charts, "small": 0, "cut": [], "tables": 7
    }  # fmt: skip


@pytest.mark.parametrize("kind", [k for k in bid_sheets.ALL if k != "ordinary"])
@pytest.mark.parametrize("width", [340, 1200])
def test_every_kind_of_answer_fits(browse: OnePage, kind: str, width: int) -> None:
    found = browse.probe(render_bid(bid_sheets.ALL[kind]()), width)
    assert (found["overflow"], found["outside"], found["small"], found["cut"]) == (0, 0, 0, [])


@pytest.mark.parametrize("width", [340, 390, 820, 1200])
def test_run_list_and_lot_sheets_fit(browse: OnePage, width: int) -> None:
    everything = [make() for make in bid_sheets.ALL.values()]
    for html in (render_run_list(run_lists.run_list()), render_lot_sheets(everything)):
        found = browse.probe(html, width)
        assert (found["overflow"], found["outside"]) == (0, 0)


def test_long_unbroken_words_do_not_break_the_phone(browse: OnePage) -> None:
    word = "T" * 120
    line = replace(run_lists.FIRST, number=word, car=word, first_check=word, warnings=(word,))
    sheet = bid_sheets.ordinary(car=word, warnings=(word,), way=word)
    for html in (
        render_run_list(run_lists.run_list(lines=(line,), source=word)),
        render_bid(sheet),
        render_lot_sheets([sheet]),
    ):
        found = browse.probe(html, 340)
        assert (found["overflow"], found["outside"]) == (0, 0)


def test_a_bid_sheet_prints_on_a_few_sheets_that_say_for_whom(browse: OnePage) -> None:
    printed = pages_of(browse.printed(render_bid(bid_sheets.ordinary())))
    assert 3 <= len(printed) <= 5
    assert all("Internal: not for customers." in page for page in printed)
    assert "38,000 EUR" in printed[0]


def test_each_lot_prints_on_one_sheet_of_a4(browse: OnePage) -> None:
    sheets: Sequence[BidSheet] = [*(make() for make in bid_sheets.ALL.values()), stuffed()]
    pdf = browse.printed(render_lot_sheets(sheets))
    printed = pages_of(pdf)
    assert len(printed) == len(sheets)
    assert sizes_of(pdf) == {A4}
    assert all(page.count("Bid sheet") == 1 and "Notes" in page for page in printed)


def test_a_run_list_prints_lying_with_its_head_on_each_sheet(browse: OnePage) -> None:
    pdf = browse.printed(render_run_list(run_lists.long_list(40)))
    printed = [page for page in pages_of(pdf) if "Walk-away bid" in page]
    assert sizes_of(pdf) == {A4[::-1]}
    assert len(printed) >= 3
    assert all("Internal: not for customers." in page for page in printed)
    numbers = [re.findall(r"^(1\d\d)(?![\d,.])", page, flags=re.MULTILINE) for page in printed]
    assert [int(n) for page in numbers for n in page] == list(range(101, 141))


@pytest.mark.parametrize("height", [210, 160, 140])
def test_no_line_of_a_run_list_is_broken_over_two_sheets(browse: OnePage, height: int) -> None:
    words = ("startmark", *(f"warning {i} of this lot" for i in range(9)), "endmark")
    listed = run_lists.long_list(24)
    lines = tuple(replace(x, warnings=words, notes="", changed=()) for x in listed.lines)
    html = render_run_list(run_lists.run_list(lines=lines))
    printed = pages_of(
        browse.printed(html.replace("size: A4 landscape", f"size: 297mm {height}mm"))
    )
    starts = [page.count("startmark") for page in printed]
    assert starts == [page.count("endmark") for page in printed]
    assert sum(starts) == len(lines)
