from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from reading import grids, shown
from syrupy.assertion import SnapshotAssertion

from valuation.report.checks_section import checks_section
from valuation.report.closest_section import closest_section
from valuation.report.page import Bullets, Paragraph, Section
from valuation.report.range_section import range_section
from valuation.report.reasons_section import reasons_section
from valuation.report.trust_section import cautions_section, evidence_section
from valuation.report.words import STANDING_CAUTION
from valuation.results.valuation import Adjustment, Valuation

Build = Callable[..., Valuation]


def test_range(example: Valuation, snapshot: SnapshotAssertion) -> None:
    assert shown(range_section(example)) == snapshot


def test_no_range(bare: Valuation, snapshot: SnapshotAssertion) -> None:
    assert shown(range_section(bare)) == snapshot


def test_reasons(example: Valuation, snapshot: SnapshotAssertion) -> None:
    assert shown(reasons_section(example)) == snapshot


def test_closest_sales(example: Valuation, snapshot: SnapshotAssertion) -> None:
    assert shown(closest_section(example)) == snapshot


def test_no_closest_sales(bare: Valuation, snapshot: SnapshotAssertion) -> None:
    assert shown(closest_section(bare)) == snapshot


def test_evidence(example: Valuation, snapshot: SnapshotAssertion) -> None:
    assert shown(evidence_section(example)) == snapshot


def test_evidence_without_warnings(bare: Valuation, snapshot: SnapshotAssertion) -> None:
    assert shown(evidence_section(bare)) == snapshot


def test_checks(unsettled: Valuation, snapshot: SnapshotAssertion) -> None:
    assert shown(checks_section(unsettled)) == snapshot


def test_each_side_of_a_check_is_today_s_estimate_and_its_step(unsettled: Valuation) -> None:
    (table,) = grids(checks_section(unsettled))
    for row in table.rows:
        for cell in row[1:3]:
            step = int(cell.note.split(":")[0].replace(",", ""))
            assert int(cell.text.replace(",", "")) - step == unsettled.central


def test_a_contradiction_is_marked_in_words(unsettled: Valuation) -> None:
    (table,) = grids(checks_section(unsettled))
    assert [row[0].mark for row in table.rows] == ["contradicted", "", ""]


def test_what_to_mind_while_looking_is_said(unsettled: Valuation) -> None:
    last = checks_section(unsettled).blocks[-1]
    assert isinstance(last, Paragraph)
    assert "never get under a car held by a jack" in last.text
    assert "Never restamp" in last.text


def test_cautions(example: Valuation, snapshot: SnapshotAssertion) -> None:
    assert shown(cautions_section(example)) == snapshot


def test_the_table_of_reasons_adds_up(example: Valuation) -> None:
    (table,) = grids(reasons_section(example))
    amounts = [int(row[1].text.replace(",", "")) for row in table.rows]
    assert sum(amounts[:-1]) == amounts[-1] == example.central


def test_the_sentence_adds_up(example: Valuation) -> None:
    first = reasons_section(example).blocks[0]
    assert isinstance(first, Paragraph)
    start, raised, lowered, central = (
        int(n.replace(",", "")) for n in re.findall(r"[\d,]+(?= EUR)", first.text)
    )
    assert start + raised - lowered == central == example.central


def test_each_column_of_the_grid_adds_up(example: Valuation) -> None:
    for table in grids(closest_section(example)):
        price, adjusted = table.totals
        for column in range(2, len(table.columns)):
            cells = [row[column].text for row in table.rows[price : adjusted + 1]]
            amounts = [int(c.replace(",", "")) for c in cells if c != "no adjustment"]
            assert sum(amounts[:-1]) == amounts[-1]


def test_time_comes_first_in_the_grid(example: Valuation) -> None:
    for table in grids(closest_section(example)):
        assert table.rows[table.totals[0] + 1][0].text == "Market"


def test_large_adjustments_are_marked_in_words(example: Valuation) -> None:
    cells = [c for t in grids(closest_section(example)) for row in t.rows for c in row]
    assert [c.text for c in cells if c.mark == "large"] == ["+9,260"]


def test_net_and_gross_can_be_large_too(example: Valuation, build_valuation: Build) -> None:
    near = example.comparables[0]
    far = replace(near, net_adjustment=-31.0, gross_adjustment=61.0)
    (table,) = grids(closest_section(build_valuation(comparables=(far,))))
    marked = {row[0].text: row[2].text for row in table.rows if row[2].mark}
    assert marked == {"Net adjustment": "-31%", "Gross adjustment": "61%"}
    assert table.caption == "Adjustment grid, sale 1"


def test_many_adjustments_are_joined_and_lose_no_money(
    example: Valuation, build_valuation: Build
) -> None:
    near = example.comparables[0]
    steps = tuple(Adjustment(f"a{n}", f"A{n}", "x", "y", n - 9, 0.1) for n in range(20))
    many = replace(near, adjustments=steps, adjusted_price=near.price + sum(range(-9, 11)))
    (table,) = grids(closest_section(build_valuation(comparables=(many,))))
    price, adjusted = table.totals
    cells = [row[2].text for row in table.rows[price : adjusted + 1]]
    assert len(cells) == 14
    assert table.rows[adjusted - 1][0].note == "9 kinds together"
    amounts = [int(c.replace(",", "")) for c in cells]
    assert sum(amounts[:-1]) == amounts[-1]


def test_at_most_six_sales_are_shown_three_beside_each_other(
    example: Valuation, build_valuation: Build
) -> None:
    many = build_valuation(comparables=example.comparables * 3)
    assert [len(t.columns) for t in grids(closest_section(many))] == [5, 5]


@pytest.mark.parametrize("section", [evidence_section, cautions_section])
def test_what_is_mostly_assumed_is_named(
    section: Callable[[Valuation], Section], example: Valuation
) -> None:
    said = shown(section(example))
    assert ("Engine originality, Documents" in said) == (section is evidence_section)


def test_a_caution_is_not_said_twice(build_valuation: Build) -> None:
    twice = cautions_section(build_valuation(cautions=("Look.", STANDING_CAUTION, "Look.")))
    assert twice.blocks == (Bullets(("Look.", STANDING_CAUTION)),)
