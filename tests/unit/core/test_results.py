"""What a valuation says: as text and for machines."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest

from valuation.results.valuation import Contribution, Evidence, NoRange, PriceRange, Valuation

SUMMARY = """\
1967 Torvane GT convertible on 2025-09-12 (price if sold, hammer price)
  central estimate  48,640 EUR
  80% range         41,340 to 60,120 EUR

  typical Torvane GT on 12 September 2025                         41,200
  Body: convertible                                               +9,450
  Condition grade: 81 points                                      +6,120
  Engine originality: later replacement                           -5,240
  Market since the last sale: level held                               0
  Sale: a very long name of a place where such cars are of…       -2,890
  = central estimate                                              48,640

  evidence: fair; 214 sales of the same model line
  note: Three of the four closest sales are older than five months."""

LONG = "a very long name of a place where such cars are often sold in spring"


def line(
    name: str, label: str, value: str, amount: int, exact: float | None = None
) -> Contribution:
    return Contribution(
        name, label, value, amount, amount if exact is None else exact, amount - 800.4,
        amount + 799.6, 21, 0.98765, "sharp",
    )  # fmt: skip


@pytest.fixture
def short(build_valuation: Callable[..., Valuation]) -> Valuation:
    """Return the example with five lines."""
    return build_valuation(
        contributions=(
            line("body", "Body", "convertible", 9_450),
            line("condition_grade", "Condition grade", "81 points", 6_120),
            line("engine_originality", "Engine originality", "later replacement", -5_240),
            line("market", "Market since the last sale", "level held", 0),
            line("sale", "Sale", LONG, -2_890),
        )
    )


def test_the_summary(short: Valuation) -> None:
    assert short.summary() == SUMMARY


def test_the_summary_without_a_range(short: Valuation) -> None:
    text = replace(short, range=NoRange("Only 2 sales are known."), ranges=()).summary()
    assert "\n  no range: Only 2 sales are known.\n" in text
    assert "range  " not in text


def test_the_summary_without_a_day(short: Valuation) -> None:
    text = replace(short, as_of=None).summary()
    assert text.startswith("1967 Torvane GT convertible (price if sold, hammer price)\n")


def test_a_line_without_a_value_is_its_label_alone(short: Valuation) -> None:
    only = replace(short, contributions=(line("closest sales", "The closest sales", "", 7_440),))
    assert "\n  The closest sales                                               +7,440\n" in (
        only.summary()
    )


def test_amounts_stand_in_one_column(short: Valuation) -> None:
    rows = short.summary().split("\n\n")[1].splitlines()
    assert {len(row) for row in rows} == {72}


def test_every_warning_is_a_note(short: Valuation) -> None:
    evidence = Evidence("none", "market", 2, True, ("One.", "Two."))
    text = replace(short, evidence=evidence).summary()
    assert text.endswith("  evidence: none; 2 sales of the same market\n  note: One.\n  note: Two.")


def test_the_lines_of_the_example_add_up(example: Valuation) -> None:
    assert example.start + sum(c.amount for c in example.contributions) == example.central
    for sale in example.comparables:
        assert sale.price + sum(a.amount for a in sale.adjustments) == sale.adjusted_price


# For machines


def test_keys_for_machines(example: Valuation) -> None:
    found = example.to_dict()
    assert list(found) == [
        "format", "car", "as_of", "currency", "basis", "estimand", "central", "range", "ranges",
        "start", "contributions", "comparables", "evidence", "cautions", "checks",
    ]  # fmt: skip
    assert found["format"] == 1
    assert list(found["start"]) == ["label", "amount"]
    assert list(found["contributions"][0]) == [
        "attribute", "label", "value", "amount", "lower", "upper", "sales", "evidence_share",
        "statement",
    ]  # fmt: skip
    assert list(found["comparables"][0]) == [
        "sale_id", "title", "sale_date", "price", "adjusted_price", "net_adjustment",
        "gross_adjustment", "weight", "basis", "outcome", "channel", "adjustments",
    ]  # fmt: skip
    assert list(found["comparables"][0]["adjustments"][0]) == [
        "attribute", "label", "theirs", "ours", "amount", "percent",
    ]  # fmt: skip
    assert list(found["evidence"]) == ["strength", "level", "sales", "outside", "warnings"]


def test_values_for_machines(short: Valuation) -> None:
    found = short.to_dict()
    assert found["as_of"] == "2025-09-12"
    assert found["range"] == {"level": 0.8, "lower": 41_340, "upper": 60_120}
    assert [r["level"] for r in found["ranges"]] == [0.5, 0.8, 0.95]
    assert found["start"] == {
        "label": "typical Torvane GT on 12 September 2025",
        "amount": 41_200,
    }
    assert found["contributions"][0] == {
        "attribute": "body", "label": "Body", "value": "convertible", "amount": 9_450,
        "lower": 8_650, "upper": 10_250, "sales": 21, "evidence_share": 0.988,
        "statement": "sharp",
    }  # fmt: skip
    # What is cut for people is whole for machines.
    assert found["contributions"][4]["value"] == LONG
    assert found["comparables"][0]["sale_date"] == "2025-05-17"
    assert found["cautions"] == list(short.cautions)


def test_machines_get_whole_units_and_short_figures(example: Valuation) -> None:
    sale = replace(
        example.comparables[0], net_adjustment=1.23456, gross_adjustment=9.87654, weight=0.123456,
        sale_date=None,
    )  # fmt: skip
    wide = PriceRange(0.8, 100.4, 200.6)
    found = replace(example, comparables=(sale,), range=wide, ranges=(wide,)).to_dict()
    (only,) = found["comparables"]
    assert (only["net_adjustment"], only["gross_adjustment"]) == (1.23, 9.88)
    assert only["weight"] == 0.1235
    assert only["sale_date"] is None
    assert found["range"] == {"level": 0.8, "lower": 100, "upper": 201}


def test_no_range_is_a_reason(bare: Valuation) -> None:
    found = bare.to_dict()
    assert found["range"] == {"reason": "Only 2 sales of this make are known; 8 are needed."}
    assert found["ranges"] == []
    assert found["as_of"] is None


@pytest.mark.parametrize("name", ["example", "bare"])
def test_the_machine_form_is_plain_json(name: str, request: pytest.FixtureRequest) -> None:
    found = request.getfixturevalue(name).to_dict()
    assert json.loads(json.dumps(found, allow_nan=False)) == found


def test_results_are_frozen(example: Valuation) -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        example.as_of = date(2020, 1, 1)
    with pytest.raises(dataclasses.FrozenInstanceError):
        example.contributions[0].amount = 0


CHECKS = """\

  What to check before bidding
  - Engine originality, contradicted: date-correct or correct type; worth knowing 209 EUR
    correct type: 46,100 (-3,900, likely 40%)
    date-correct: 50,350 (+350, likely 60%)
    Read the casting date. Where: engine block, stamped pad. With: torch, soft brush. 15 minutes.
  - Condition grade, open: 75 to 86 points; worth knowing 24 EUR
    76 points or less: 47,000 (-3,000, likely 11%)
    85 points or more: 50,200 (+200, likely 12%)
    Mark every zone. Where: sills, floors.
  - Documents, not looked at: anything; worth knowing 3 EUR
    none: 48,500 (-1,500, likely over 99%)
    bills; build record: 52,000 (+2,000, likely under 1%)
    Have every paper shown. Where: with the seller. With: camera. 20 minutes."""


def test_the_summary_ends_with_what_to_check(unsettled: Valuation) -> None:
    assert unsettled.summary().endswith(CHECKS)


def test_checks_for_machines(unsettled: Valuation) -> None:
    found = unsettled.to_dict()["checks"]
    assert [c["attribute"] for c in found] == ["engine_originality", "condition_grade", "documents"]
    assert found[0] == dataclasses.asdict(unsettled.checks[0])
    assert (found[2]["bad_chance"], found[2]["good_chance"]) == (0.9985, 0.0015)
    json.dumps(found)


def test_a_valuation_without_checks_says_so_to_machines_only(example: Valuation) -> None:
    assert example.to_dict()["checks"] == []
    assert "What to check" not in example.summary()
