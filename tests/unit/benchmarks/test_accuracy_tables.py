"""Tables: the very characters."""

from __future__ import annotations

from dataclasses import replace

from accuracy_measures import Measures
from accuracy_tables import COLUMNS, Cost, cost_csv, csv_text, markdown, markdown_table

ROW = Measures(
    tested=1234,
    error=12.345,
    within_10=40.0,
    within_20=66.666,
    ratio=0.98765,
    cod=20.05,
    prd=1.0,
    prb=-0.00004,
    held=79.96,
    width=50.0,
    width_held=51.25,
    score=1.2345,
    held_50=None,
    held_95=None,
    priced=100.0,
)
CELLS = ["1234", "12.35", "40.0", "66.7", "0.988", "20.1", "1.000", "0.000", "80.0", "50.0"]


def test_every_field_has_its_column() -> None:
    assert [name for name, _, _ in COLUMNS] == list(Measures.__dataclass_fields__)


def test_a_line_of_csv_is_rounded_and_a_zero_has_no_sign() -> None:
    head, line, *rest = csv_text({"all cars": {"ours": ROW}}).splitlines()
    assert rest == []
    assert head.startswith("cars,method,sales,median abs. error %,within 10 %,within 20 %,")
    cells = line.split(",")
    assert cells[:2] == ["all cars", "ours"]
    assert cells[2:3] == CELLS[:1]
    assert cells[9] == "0.000"
    assert cells[-3:] == ["–", "–", "100.0"]
    assert len(cells) == len(head.split(",")) == len(COLUMNS) + 2


def test_a_page_has_a_table_for_each_set_of_cars() -> None:
    blocks = {"all cars": {"ours": ROW, "other": replace(ROW, error=None)}, "inside": {"ours": ROW}}
    page = markdown("a file, frozen", blocks, ["A note."])
    assert page.startswith(
        "# a file, frozen\n\n## all cars\n\n| method | sales | median abs. error"
    )
    assert page.endswith("|\n\nA note.\n")
    assert page.count("\n## ") == 2
    assert "| other | 1234 | – | 40.0 | 66.7 |" in page


def test_a_markdown_table_puts_numbers_to_the_right() -> None:
    text = markdown_table(["method", "n"], [["ours", "1"], ["other", "22"]])
    assert text == "| method | n |\n| --- | ---: |\n| ours | 1 |\n| other | 22 |"


def test_costs_stand_in_a_table_of_their_own() -> None:
    assert cost_csv({"ours": Cost(12.34, 456.7)}) == "method,seconds,peak MB\nours,12.3,457\n"


def test_the_same_results_give_the_same_bytes() -> None:
    blocks = {"all cars": {"ours": ROW}}
    assert csv_text(blocks) == csv_text({"all cars": {"ours": replace(ROW)}})
    assert markdown("t", blocks) == markdown("t", {"all cars": {"ours": replace(ROW)}})
