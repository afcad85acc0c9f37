"""The run list on paper."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
import run_lists
from reading import grids, shown, texts
from syrupy.assertion import SnapshotAssertion

from valuation.report.page import Grid
from valuation.report.run_list_page import lots_section, render_run_list, run_list_page
from valuation.report.run_list_words import at_words, budget_words, list_words
from valuation.results.run_list import RunLine, RunList


def lots(run_list: RunList) -> Grid:
    (table,) = grids(lots_section(run_list))
    return table


def row_of(line: RunLine, **changes: object) -> dict[str, tuple[str, str, str]]:
    table = lots(run_lists.run_list(lines=(replace(line, **changes),)))
    heads = [column.text.partition(",")[0] for column in table.columns]
    return {h: (c.text, c.note, c.mark) for h, c in zip(heads, table.rows[0], strict=True)}


@pytest.mark.parametrize("name", ["run_list", "bare"])
def test_every_section(name: str, snapshot: SnapshotAssertion) -> None:
    page = run_list_page(getattr(run_lists, name)())
    assert "\n".join(shown(section) for section in page.sections) == snapshot


def test_there_is_one_line_for_each_lot_in_running_order() -> None:
    listed = run_lists.run_list()
    assert [line.number for line in listed.lines] != ["12", "12A", "14", "15", "16", "17"]
    assert [row[0].text for row in lots(listed).rows] == ["12", "12A", "14", "15", "16", "17"]


def test_a_line_says_what_a_buyer_needs() -> None:
    assert row_of(run_lists.FIRST) == {
        "Lot": ("12", "", ""),
        "Car": ("1967 Torvane GT convertible", "", ""),
        "Estimate": ("34,000 to 40,000", "reserve 36,000", ""),
        "Resale": ("50,000", "40,000 to 60,000", ""),
        "Walk-away bid": ("38,000", "the margin binds", ""),
        "Expected margin": ("7,400", "at reserve 36,000; risk 33.3%", ""),
        "Evidence": ("fair", "", ""),
        "Check first": ("Engine originality: read the casting date on the stamped pad", "", ""),
        "Mind": ("contradiction: the block was cast after the car was built", "", ""),
        "Plan and notes": (
            "Pursue", "ask for bills. Changed: reserve 36,000 instead of none stated", ""
        ),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("answer", "mark"),
    [("no bid until cured", "No bid until cured"), ("no bid makes sense", "No bid makes sense"),
     ("evidence too thin to bid on", "Evidence too thin to bid on")],
)  # fmt: skip
def test_a_stop_stands_out_in_the_place_of_the_bid(answer: str, mark: str) -> None:
    row = row_of(run_lists.FIRST, answer=answer, walk_away=None, reasons=("Why.", "More."))
    assert row["Walk-away bid"] == ("", "Why.", mark)


def test_what_is_not_known_is_said() -> None:
    row = row_of(
        run_lists.FIRST, estimate_low=None, estimate_high=None, reserve=None, central=None,
        lower=None, upper=None, at=None, outlay=None, expected_margin=None, loss_probability=None,
    )  # fmt: skip
    assert row["Estimate"] == ("not stated", "", "")
    assert row["Resale"] == ("none", "", "")
    assert row["Expected margin"] == ("none", "", "")
    assert row_of(run_lists.FIRST, lower=None, upper=None)["Resale"] == ("50,000", "no range", "")
    assert row_of(run_lists.FIRST, reserve=None, no_reserve=True)["Estimate"][1] == "no reserve"
    assert row_of(run_lists.FIRST, estimate_high=None)["Estimate"][0] == "34,000"
    same = row_of(run_lists.FIRST, estimate_high=Decimal(34_000))
    assert same["Estimate"][0] == "34,000"


def test_the_bid_looked_at_is_named() -> None:
    line = run_lists.FIRST
    assert at_words(line) == "reserve"
    assert at_words(replace(line, reserve=None, at=Decimal(34_000))) == "low estimate"
    assert at_words(replace(line, reserve=None, at=Decimal(38_000))) == "walk-away bid"
    assert at_words(replace(line, at=Decimal(1))) == "a bid"
    assert at_words(replace(line, at=None)) == ""


def test_long_texts_are_cut_so_that_a_line_stays_a_line() -> None:
    row = row_of(
        run_lists.FIRST, car="word " * 90, first_check="word " * 90, warnings=("word " * 90,),
        notes="word " * 90,
    )  # fmt: skip
    for name, longest in (("Car", 90), ("Check first", 72), ("Mind", 80)):
        assert row[name][0].endswith("…")
        assert len(row[name][0]) <= longest
    assert len(row["Plan and notes"][1]) <= 120


def test_currencies_are_shown_where_they_differ() -> None:
    listed = run_lists.run_list()
    assert [c.text for c in lots(listed).columns][2:6] == [
        "Estimate, USD", "Resale, EUR", "Walk-away bid, USD", "Expected margin, EUR"
    ]  # fmt: skip
    other = replace(run_lists.FIRST, currency="CHF", order=7)
    mixed = lots(run_lists.run_list(lines=(*listed.lines, other)))
    assert mixed.columns[2].text == "Estimate"
    assert mixed.rows[0][2].text == "34,000 to 40,000 USD"
    assert mixed.rows[-1][4].text == "38,000 CHF"


def test_each_day_has_a_table_of_its_own() -> None:
    assert lots(run_lists.run_list()).caption == "One line for each lot"
    days = ("Friday, 14 March 2025", "Friday, 14 March 2025", "")
    lines = [replace(run_lists.FIRST, order=i, number=f"{i}", day=d) for i, d in enumerate(days)]
    tables = grids(lots_section(run_lists.run_list(lines=tuple(reversed(lines)))))
    assert [t.caption for t in tables] == ["Friday, 14 March 2025", "Day not stated"]
    assert [[row[0].text for row in t.rows] for t in tables] == [["0", "1"], ["2"]]


@pytest.mark.parametrize(
    ("budget", "planned", "said"),
    [(60_000, 44_000, "Budget 60,000 EUR. The lots won and those to pursue take 44,000 EUR of it; "
      "16,000 EUR are left."),
     (40_000, 44_000, "Budget 40,000 EUR. The lots won and those to pursue take 44,000 EUR of it: "
      "4,000 EUR more than there is."),
     (60_000, None, "Budget 60,000 EUR."),
     (None, 900, "The lots won take 900 EUR."),
     (None, None, "")],
)  # fmt: skip
def test_the_budget_is_said(budget: int | None, planned: int | None, said: str) -> None:
    listed = run_lists.run_list(
        budget=None if budget is None else Decimal(budget),
        planned=None if planned is None else Decimal(planned),
    )
    assert budget_words(listed) == said
    weight = "warning" if said.endswith("more than there is.") else "lead"
    assert texts(lots_section(listed), weight) == ([said] if said else [])


def test_lots_without_a_price_stand_below_with_their_reason() -> None:
    (section,) = (s for s in run_list_page(run_lists.run_list()).sections if s.name == "unpriced")
    (table,) = grids(section)
    assert [tuple(c.text for c in row) for row in table.rows] == [
        ("18", "9", "Two crates of brightwork", "No year is stated. Add one."),
        ("without number", "14", "withdrawn", "No car is named. Name make and year."),
    ]


def test_a_list_of_nothing_is_said() -> None:
    bare = run_lists.bare()
    assert texts(lots_section(bare), "warning") == ["No lot could be priced."]
    assert [s.name for s in run_list_page(bare).sections] == ["lots", "cautions"]
    assert list_words(bare) == "autumn_sale.csv: 0 lots priced"


def test_it_is_made_for_paper_that_lies() -> None:
    assert "@page { size: A4 landscape;" in render_run_list(run_lists.run_list())
