"""What each section of a bid sheet says."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import bid_sheets
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reading import grids, in_units, shown, texts
from syrupy.assertion import SnapshotAssertion

from valuation.report.account_section import account_grid, account_section, winning_section
from valuation.report.bid_checks_section import bid_checks_section
from valuation.report.bid_page import bid_page
from valuation.report.bid_section import bid_section
from valuation.report.bid_trust_section import bid_cautions_section, bid_evidence_section
from valuation.report.bid_words import amount
from valuation.report.ladder_section import broken_words, ladder_section
from valuation.report.moves_section import courses_section, swings_section
from valuation.report.page import Bullets, Figures, Paragraph
from valuation.results.bid_parts import AccountLine, MarketCourse, Resale, Rung
from valuation.results.bid_sheet import BidSheet
from valuation.results.valuation import Evidence

KINDS = list(bid_sheets.ALL.values())


def figures_of(sheet: BidSheet) -> list[tuple[str, str, str]]:
    (block,) = (b for b in bid_section(sheet).blocks if isinstance(b, Figures))
    return list(block.pairs)


@pytest.mark.parametrize("kind", bid_sheets.ALL)
def test_every_section(kind: str, snapshot: SnapshotAssertion) -> None:
    sections = bid_page(bid_sheets.ALL[kind]()).sections
    assert "\n".join(shown(section) for section in sections) == snapshot


@pytest.mark.parametrize(
    ("make", "bid", "binds"),
    [(bid_sheets.ordinary, "38,000 EUR", "The margin binds"),
     (bid_sheets.risky, "33,500 EUR", "The risk of loss binds"),
     (bid_sheets.in_tiers, "50,500 EUR", "The outlay binds"),
     (bid_sheets.foreign, "42,000 USD", "The margin binds")],
)  # fmt: skip
def test_the_bid_comes_first_with_what_binds(
    make: Callable[[], BidSheet], bid: str, binds: str
) -> None:
    name, value, meaning = figures_of(make())[0]
    assert (name, value) == ("Walk-away bid", bid)
    assert meaning == f"{binds}: the next higher bid breaks a limit."
    assert not texts(bid_section(make()), "stop")


def test_several_limits_bind_together() -> None:
    both = bid_sheets.ordinary(binds=("margin", "risk"))
    assert figures_of(both)[0][2].startswith("The margin and the risk of loss bind:")


def test_margin_and_risk_are_those_of_the_ladder_in_the_resale_s_currency() -> None:
    pairs = {name: (value, meaning) for name, value, meaning in figures_of(bid_sheets.foreign())}
    assert pairs["Expected margin there"] == (
        "5,420 EUR",
        "Target: at least 5,000 EUR. In 8 of 10 cases between -4,580 and 15,420 EUR.",
    )
    assert pairs["Risk of loss there"] == ("33.3%", "Limit: 40%.")


@pytest.mark.parametrize(
    ("make", "answer", "stop"),
    [(bid_sheets.until_cured, "No bid until cured", "Stop: no bid until this is cured."),
     (bid_sheets.senseless, "No bid makes sense",
      "Stop: no bid makes sense. Even the lowest bid of 500 EUR breaks a limit."),
     (bid_sheets.thin, "Evidence too thin to bid on",
      "Stop: the evidence is too thin to bid on. Only 2 sales of this make are known; 8 are "
      "needed.")],
)  # fmt: skip
def test_a_stop_cannot_be_overlooked(make: Callable[[], BidSheet], answer: str, stop: str) -> None:
    section = bid_section(make())
    assert figures_of(make())[0][:2] == ("Walk-away bid", answer)
    assert texts(section, "stop") == [stop]
    assert isinstance(section.blocks[1], Paragraph)
    assert section.blocks[1].weight == "stop"


def test_what_stops_is_said_once_with_its_cure() -> None:
    sheet = bid_sheets.until_cured()
    told = replace(sheet, reasons=(f"No bid until this is cured. {sheet.stops[0].reason}", "More."))
    section = bid_section(told)
    (listed,) = (b for b in section.blocks if isinstance(b, Bullets))
    assert listed.items == (
        "The number on the title differs from the one on the car. To cure it: about 45 days, "
        "300 to 1,200 EUR.",
        "The registration is in another person's name. How long the cure takes and costs is not "
        "known.",
    )
    assert texts(section, "lead") == ["More."]


def test_a_reason_that_starts_like_the_stop_is_not_said_twice() -> None:
    reason = "No bid makes sense: even at the lowest bid of 500 EUR the margin is -5,550 EUR."
    (stop,) = texts(bid_section(replace(bid_sheets.senseless(), reasons=(reason,))), "stop")
    assert stop == f"Stop: n{reason[1:]}"


def test_once_cured_the_bid_is_said_with_its_margin() -> None:
    names = {name: value for name, value, _ in figures_of(bid_sheets.until_cured())}
    assert names["Once cured"] == "38,000 EUR"
    assert names["Expected margin there"] == "5,200 EUR"


def test_warnings_are_all_said() -> None:
    sheet = bid_sheets.ordinary(warnings=("One.", "Two."))
    assert texts(bid_section(sheet), "warning") == ["One.", "Two."]


def test_the_ladder_marks_the_bid_and_what_breaks_in_words() -> None:
    (table,) = grids(ladder_section(bid_sheets.ordinary()))
    marks = {row[0].text: row[0].mark for row in table.rows}
    assert marks["38,000"] == "walk-away bid"
    assert marks["38,500"] == marks["40,000"] == "margin too small"
    assert marks["36,000"] == ""
    assert [table.rows[i][0].text for i in table.totals] == ["38,000"]


def test_the_ladder_says_its_limits() -> None:
    (read,) = texts(ladder_section(bid_sheets.in_tiers()), "quiet")
    assert "its risk of loss at most 40% and its outlay at most 59,000 EUR." in read
    (read,) = texts(ladder_section(bid_sheets.ordinary()), "quiet")
    assert "at least 5,000 EUR and its risk of loss at most 40%." in read


def test_lower_bids_that_break_a_limit_are_said() -> None:
    sheet = bid_sheets.in_tiers()
    wanted = (
        "49,000 to 50,000 EUR break a limit although they are lower: the premium on the whole "
        "price falls at a tier's edge."
    )
    assert texts(ladder_section(sheet), "warning") == [wanted]
    one = replace(sheet, broken=((Decimal(49_000), Decimal(49_000)),))
    assert broken_words(one).startswith("49,000 EUR breaks a limit although it is lower:")
    two = replace(sheet, broken=(*sheet.broken, (Decimal(60_000), Decimal(60_000))))
    assert broken_words(two).startswith("49,000 to 50,000 EUR and 60,000 EUR break a limit")


def test_a_margin_just_below_the_target_does_not_look_as_if_it_reached_it() -> None:
    close = Rung(Decimal(38_500), Decimal(45_000), Decimal("4999.70"), Decimal(-1), Decimal(1),
                 0.40004, ("margin", "risk"))  # fmt: skip
    (table,) = grids(ladder_section(bid_sheets.ordinary(ladder=(close,), walk_away=None)))
    (row,) = table.rows
    assert row[2].text == "4,999.70"
    assert row[3].text == "over 40.0%"


amounts = st.decimals(-90_000, 90_000, places=2)


@settings(deadline=None)
@given(st.lists(amounts, min_size=1, max_size=30), st.integers(2, 12))
def test_the_account_adds_up_whatever_is_in_it(means: list[Decimal], most: int) -> None:
    lines = tuple(AccountLine(f"line {i}", x - 1, x + 1, x, "work") for i, x in enumerate(means))
    sheet = bid_sheets.ordinary(account=lines)
    (whole,) = grids(account_section(sheet))
    for table in (whole, account_grid(sheet, most=most)):
        shown_amounts = [in_units(row[2].text) for row in table.rows]
        assert sum(shown_amounts[:-1]) == shown_amounts[-1]
        assert table.rows[-1][2].text == amount(sum(means, Decimal(0)))
    for row, mean in zip(whole.rows, means, strict=False):
        assert abs(in_units(row[2].text) - mean) <= 1


@pytest.mark.parametrize("make", [make for make in KINDS if make().account])
def test_the_account_ends_with_the_margin_of_the_ladder(make: Callable[[], BidSheet]) -> None:
    sheet = make()
    (table,) = grids(account_section(sheet))
    (rung,) = (r for r in sheet.ladder if r.bid == sheet.account_at)
    assert table.rows[-1][2].text == amount(rung.expected_margin)


def test_the_account_says_for_which_bid_it_stands() -> None:
    def caption(sheet: BidSheet) -> str:
        return grids(account_section(sheet))[0].caption

    assert (
        caption(bid_sheets.ordinary()) == "From resale to margin at the walk-away bid, 38,000 EUR"
    )
    assert caption(bid_sheets.senseless()) == "From resale to margin at a bid of 500 EUR"
    assert caption(bid_sheets.ordinary(account_at=None)) == "From resale to margin"


def test_small_lines_are_joined_and_lose_no_money() -> None:
    table = account_grid(bid_sheets.ordinary(), most=4)
    assert [row[0].text for row in table.rows] == [
        "Resale", "Hammer price", "Buyer's premium", "3 smaller lines together", "Expected margin"
    ]  # fmt: skip
    assert table.rows[3][2].text == "-3,000"
    assert table.rows[3][2].note == "-3,700 to -2,300"


def test_what_winning_says_stands_apart_and_adds_up() -> None:
    sheet = bid_sheets.ordinary()
    assert sheet.resale is not None
    (table,) = grids(winning_section(sheet, sheet.resale))
    before, step, after = (in_units(row[1].text) for row in table.rows)
    assert before + step == after == 50_000
    assert table.rows[1][0].note == "-3.0%"
    assert texts(winning_section(sheet, sheet.resale), "quiet") == [
        "It rests on: 41 lots that the firm won, compared with their estimates of the day."
    ]


def test_no_correction_for_winning_is_said_too() -> None:
    sheet = bid_sheets.in_tiers()
    assert isinstance(sheet.resale, Resale)
    section = winning_section(sheet, sheet.resale)
    assert texts(section, "plain")[1] == "No correction is made."
    why = replace(sheet.resale, winning_source="nobody bids against you")
    assert texts(winning_section(sheet, why), "plain")[1] == (
        "No correction is made: nobody bids against you."
    )


def test_checks_are_said_in_money_of_the_walk_away_bid() -> None:
    section = bid_checks_section(bid_sheets.ordinary())
    assert texts(section, "lead") == ["First: engine originality. If it turns out bad: no bid."]
    (table,) = grids(section)
    engine, grade, _ = table.rows
    assert engine[0].mark == "contradicted"
    assert (engine[1].text, engine[1].note) == ("no bid", "later replacement, likely 40%")
    assert (grade[1].text, grade[1].note) == ("36,000", "-2,000: 76 points or less, likely 11%")
    assert (grade[2].text, grade[2].note) == ("39,500", "+1,500: 85 points or more, likely 12%")
    assert "never get under a car held by a jack" in texts(section, "quiet")[1]
    (aloud,) = texts(section, "warning")
    assert aloud.endswith("The block was cast on 3 May 1968, after the car was built.")


def test_the_course_of_the_market_says_each_bid() -> None:
    (table,) = grids(courses_section(bid_sheets.ordinary()))
    assert [(row[1].text, row[2].text, row[2].note) for row in table.rows] == [
        ("-4.2%", "36,000", "-2,000"), ("0.0%", "38,000", "no change"),
        ("+3.8%", "39,500", "+1,500"),
    ]  # fmt: skip


def test_a_change_that_rounds_to_nothing_has_no_sign() -> None:
    flat = MarketCourse("flat", "as it is", -0.01, None)
    (table,) = grids(courses_section(bid_sheets.ordinary(courses=(flat,))))
    assert [cell.text for cell in table.rows[0]] == ["Flat", "0.0%", "no bid"]


def test_each_input_says_both_ends() -> None:
    (table,) = grids(swings_section(bid_sheets.ordinary()))
    last = table.rows[-1]
    assert [(c.text, c.note) for c in last] == [
        ("Engine turns out replaced", ""), ("no bid", "it does"), ("38,500", "+500: it does not")
    ]  # fmt: skip


def test_work_says_zone_mark_and_cost_in_its_currency() -> None:
    (section,) = (s for s in bid_page(bid_sheets.foreign()).sections if s.name == "work")
    (table,) = grids(section)
    assert [tuple(c.text for c in row) for row in table.rows][1:] == [
        ("Brake hoses, tyres", "Brakes", "9 of 10", "800 to 1,200 EUR"),
        ("Valeting and photographs", "", "no mark", "0 EUR"),
        ("Lamps for this side of the road", "Instruments and electrics", "no mark",
         "300 to 500 USD"),
    ]  # fmt: skip


def test_the_evidence_is_said_or_that_there_is_none() -> None:
    assert texts(bid_evidence_section(bid_sheets.in_tiers()), "lead") == [
        "The resale was stated by hand: no sales stand behind it."
    ]
    outside = Evidence("none", "market", 2, True, ())
    guess = bid_evidence_section(bid_sheets.ordinary(evidence=outside))
    assert texts(guess, "warning")[0].endswith("The resale is a guess.")
    assert "guess" not in shown(bid_evidence_section(bid_sheets.thin()))


def test_a_caution_is_not_said_twice() -> None:
    (listed,) = bid_cautions_section(bid_sheets.ordinary(cautions=("A.", "A."))).blocks
    assert isinstance(listed, Bullets)
    assert len(listed.items) == 2


@pytest.mark.parametrize("make", KINDS, ids=bid_sheets.ALL)
def test_no_value_of_the_machine_is_shown(make: Callable[[], BidSheet]) -> None:
    said = "\n".join(shown(section) for section in bid_page(make()).sections)
    assert not re.search(r"\b(nan|None|inf|Decimal)\b", said)
