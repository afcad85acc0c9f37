"""Whole pages of bids: the bid sheet, the sheets of lots, what a notebook shows."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import bid_sheets
import pytest
import run_lists
from reading import headings, outline, plain

from valuation.report.bid_page import bid_page, render_bid
from valuation.report.lot_sheets import lot_page, render_lot_sheets
from valuation.report.notebook import show_bid, show_run_list
from valuation.report.run_list_page import render_run_list
from valuation.report.valuation_page import render_valuation
from valuation.results.bid_sheet import BidSheet
from valuation.results.run_list import UnpricedLot
from valuation.results.valuation import Valuation
from valuation.results.words import INTERNAL

Render = Callable[[], str]


def all_sheets() -> list[BidSheet]:
    return [make() for make in bid_sheets.ALL.values()]


PAGES: dict[str, Render] = {
    **{name: (lambda make=make: render_bid(make())) for name, make in bid_sheets.ALL.items()},
    "lot sheets": lambda: render_lot_sheets(all_sheets()),
    "no lot sheets": lambda: render_lot_sheets([]),
    "run list": lambda: render_run_list(run_lists.run_list()),
    "bare run list": lambda: render_run_list(run_lists.bare()),
}


@cache
def page(name: str) -> str:
    return PAGES[name]()


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_one_well_formed_document_that_needs_nothing_else(name: str) -> None:
    html = page(name)
    tags = outline(html).tags
    assert html.startswith("<!DOCTYPE html>\n")
    assert ("html", {"lang": "en"}) in tags
    ids = [a["id"] for _, a in tags if "id" in a]
    assert len(ids) == len(set(ids))
    names = [tag for tag, _ in tags]
    assert not set(names) & {"script", "link", "img", "iframe", "object", "video"}
    assert "http" not in html
    assert "@import" not in html
    assert all(a.get("scope") in {"col", "row"} for tag, a in tags if tag == "th")
    assert names.count("table") == names.count("caption")
    assert html == PAGES[name]()


@pytest.mark.parametrize("name", PAGES)
def test_every_page_says_that_it_is_not_for_customers(name: str) -> None:
    html = page(name)
    assert f'<p class="notice">{INTERNAL}</p>' in html
    assert f'@bottom-right {{ content: "{INTERNAL}"' in html


def test_a_customer_s_page_says_no_such_thing(example: Valuation) -> None:
    html = render_valuation(example)
    assert INTERNAL not in html
    assert "@bottom-right" not in html


@pytest.mark.parametrize("name", PAGES)
def test_no_value_of_the_machine_is_shown(name: str) -> None:
    assert not re.search(r"\b(nan|None|inf|Decimal)\b", plain(page(name)))


def test_the_sections_come_in_order() -> None:
    assert headings(render_bid(bid_sheets.ordinary())) == [
        "How much to bid", "What each bid leads to", "What to check first",
        "From resale to margin", "What winning itself says", "If the market rises or falls",
        "What moves the bid", "Work before it is resold", "What stands behind it",
        "Before you rely on it",
    ]  # fmt: skip
    assert headings(render_bid(bid_sheets.thin())) == [
        "How much to bid", "What stands behind it", "Before you rely on it"
    ]  # fmt: skip


def test_title_and_window_name_the_car_and_its_lot() -> None:
    made = bid_page(bid_sheets.until_cured())
    assert made.title == "Lot 14A: 1967 Torvane GT convertible"
    assert made.subtitle == "Bid sheet for 12 Sep 2025, bought as: lot at Northgate Hall"
    html = render_bid(bid_sheets.until_cured())
    assert "<title>Lot 14A: 1967 Torvane GT convertible: bid sheet</title>" in html


def test_text_from_files_is_escaped() -> None:
    attack = '"><script>alert(1)</script>'
    sheet = bid_sheets.until_cured()
    odd = replace(
        sheet, car=attack, way=attack, lot=attack, currency=attack, resale_currency=attack,
        reasons=(attack,), warnings=(attack,), cautions=(attack,),
        checks=tuple(replace(c, label=attack, how=attack, contradiction=attack, if_bad=attack)
                     for c in sheet.checks),
        swings=tuple(replace(s, what=attack, low=attack) for s in sheet.swings),
        courses=tuple(replace(c, name=attack, says=attack) for c in sheet.courses),
        account=tuple(replace(a, what=attack, part=attack) for a in sheet.account),
        work=tuple(replace(w, what=attack, zone=attack, restores=attack) for w in sheet.work),
        stops=tuple(replace(s, reason=attack, currency=attack) for s in sheet.stops),
    )  # fmt: skip
    line = replace(
        run_lists.FIRST, number=attack, day=attack, car=attack, first_check=attack,
        warnings=(attack,), reasons=(attack,), plan=attack, changed=(attack,), notes=attack,
        evidence=attack, answer=attack, walk_away=None, currency=attack,
    )  # fmt: skip
    listed = run_lists.run_list(
        source=attack, lines=(line,), unpriced=(UnpricedLot(attack, attack, 1, attack, attack),),
        notes=(attack,), changes=(attack,), cautions=(attack,), resale_currency=attack,
    )  # fmt: skip
    for html in (render_bid(odd), render_lot_sheets([odd]), render_run_list(listed)):
        assert "<script" not in html
        outline(html)


def test_money_is_the_same_in_chart_text_and_table() -> None:
    said = plain(render_bid(bid_sheets.ordinary()))
    for shown in ("38,000", "5,200", "4,650", "33.3%"):
        assert said.count(shown) >= 3


def test_each_lot_has_a_sheet_of_its_own() -> None:
    html = render_lot_sheets(all_sheets())
    tags = outline(html).tags
    assert sum(tag == "article" for tag, _ in tags) == len(bid_sheets.ALL)
    assert sum(tag == "h1" for tag, _ in tags) == 1
    assert sum(tag == "h2" for tag, _ in tags) == len(bid_sheets.ALL)
    assert "No lots were asked for." in render_lot_sheets([])


def test_a_lot_sheet_says_what_it_leaves_out() -> None:
    sheet = bid_sheets.ordinary()
    full = replace(
        sheet, checks=sheet.checks * 3, warnings=tuple(f"Warning {i}." for i in range(5)),
        stops=bid_sheets.until_cured().stops * 2, account=sheet.account * 3,
        reasons=("One.", "Two.", "Three."),
    )  # fmt: skip
    said = plain(render_lot_sheets([full]))
    for left in ("6 more on the bid sheet.", "3 more warnings: see the bid sheet.",
                 "2 more stops: see the bid sheet.", "11 smaller lines together",
                 "1 more reason: see the bid sheet."):  # fmt: skip
        assert left in said
    for kept in ("Warning 0. Warning 1.", "One. Two.", "never get under a car held by a jack"):
        assert kept in said
    assert "Warning 2" not in said


def test_a_lot_sheet_of_little_leaves_out_nothing() -> None:
    said = plain(render_lot_sheets([bid_sheets.ordinary()]))
    assert "see the bid sheet" not in said
    assert "on the bid sheet" not in said
    assert "together" not in said


def test_a_stop_is_on_the_lot_sheet_in_full() -> None:
    said = plain(render_lot_sheets([bid_sheets.until_cured(), bid_sheets.senseless()]))
    assert "Stop: no bid until this is cured." in said
    assert "Stop: no bid makes sense. Even the lowest bid of 500 EUR breaks a limit." in said


def test_the_ladder_of_a_lot_sheet_is_short() -> None:
    (section,) = (s for s in lot_page(bid_sheets.ordinary(), 3).sections if s.name == "rungs-3")
    (table,) = section.blocks
    assert [row[0].text for row in table.rows] == [
        f"{bid:,}" for bid in range(36_500, 40_000, 500)
    ]  # fmt: skip
    assert not any(cell.note for row in table.rows for cell in row)


def test_a_notebook_shows_a_bid() -> None:
    shown = show_bid(bid_sheets.ordinary())
    html = shown._repr_html_()
    assert headings(html) == [
        "How much to bid", "What each bid leads to", "What to check first",
        "If the market rises or falls",
    ]  # fmt: skip
    assert html.count(INTERNAL) == 1
    assert repr(shown) == bid_sheets.ordinary().summary()
    assert headings(show_bid(bid_sheets.thin())._repr_html_()) == ["How much to bid"]


def test_a_notebook_shows_a_run_list() -> None:
    shown = show_run_list(run_lists.run_list())
    assert headings(shown._repr_html_()) == ["Lots in running order"]
    assert INTERNAL in shown._repr_html_()
    assert repr(shown).splitlines() == [
        "autumn_sale.csv: 6 lots priced, 2 not, bids for 12 Sep 2025.",
        "Budget 60,000 EUR. The lots won and those to pursue take 44,646 EUR of it; 15,354 EUR "
        "are left.",
        "  12  1967 Torvane GT convertible: 38,000 USD",
        "  12A  1971 Obrastel Lagune coupé, 4-speed manual, restored between 2009 and 2014, one of "
        "a small number with the long tail: 88,000 USD",
        "  14  1959 Skarnholt Nordic saloon: 950.50 USD",
        "  15  1964 Torvane GT coupé, tribute: No bid until cured",
        "  16  1978 Quorrel Runner: No bid makes sense",
        "  17  1931 Pellandro Tourer: Evidence too thin to bid on",
    ]
    assert "Budget" not in repr(show_run_list(run_lists.bare()))
