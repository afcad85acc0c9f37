"""What a notebook shows: sections as on the page, text that breaks between words."""

from __future__ import annotations

import re

import run_lists

from valuation.report.notebook import show_coverage, show_run_list, show_table, show_text
from valuation.results.coverage import CoverageKind, CoverageReport, CoverageRow, HeldRanges


def numbers(html: str) -> list[str]:
    return re.findall(r'<th scope="row"[^>]*>(\w+)', html)


def test_a_run_list_is_shown_whole_or_as_far_as_wanted() -> None:
    listed = run_lists.long_list(12)
    every = show_run_list(listed)
    assert len(numbers(every._repr_html_())) == 12
    assert "Shown here" not in every._repr_html_()
    few = show_run_list(listed, first=3)
    first = sorted(line.number for line in listed.lines[:3])
    assert sorted(numbers(few._repr_html_())) == first
    said = "12 lots priced"
    assert said in few._repr_html_()
    assert said in repr(few)
    assert f"Shown here: the first 3 by {listed.sorted_by}." in few._repr_html_()
    assert len(repr(few).splitlines()) == len(repr(every).splitlines()) - 9


def test_text_keeps_its_lines_and_hangs_what_is_broken_off() -> None:
    shown = show_text("Grade 63.", "  Sills: <b>soft</b> & thin\n\nEnd.")
    assert repr(shown) == "Grade 63.\n  Sills: <b>soft</b> & thin\n\nEnd."
    html = shown._repr_html_()
    assert re.findall(r'<p style="padding-left: (\d+)ch">(.*)</p>', html) == [
        ("2", "Grade 63."),
        ("4", "Sills: &lt;b&gt;soft&lt;/b&gt; &amp; thin"),
        ("2", ""),
        ("2", "End."),
    ]


def test_a_table_of_words_is_escaped_and_can_be_read_without_html() -> None:
    rows = [("Row 7", "<no price>"), ("Row 9", "no year")]
    shown = show_table(
        "Set aside & kept", ("Row", "Why"), rows, caption="Two rows", note="No more."
    )
    html = shown._repr_html_()
    assert 'id="set-aside-kept"' in html
    assert "Two rows</caption>" in html
    assert re.findall(r'<th scope="row"[^>]*>([^<]+)<', html) == ["Row 7", "Row 9"]
    assert "&lt;no price&gt;" in html
    assert "<no price>" not in html
    assert repr(shown) == "Set aside & kept\nRow 7  <no price>\nRow 9  no year\nNo more."
    bare = show_table("Set aside", ("Row", "Why"), rows, caption="Two rows")
    assert len(bare.sections[0].blocks) == 1


def test_coverage_is_shown_over_all_and_by_one_kind() -> None:
    held = (HeldRanges(80, 40, 77.5, None),)
    row = CoverageRow("month", "2024-05", (), 40, held, "in order")
    kinds = tuple(CoverageKind(by, f"By {by}", (row,)) for by in ("make", "price basis"))
    report = CoverageReport("EUR", None, None, row, None, kinds, 30, ("A note.",))
    names = [s.name for s in show_coverage(report, by="price basis").sections]
    assert names == ["coverage", "coverage-price-basis"]
    assert [s.name for s in show_coverage(report, by="era").sections] == ["coverage"]
    assert "77.5%" in show_coverage(report, by="make")._repr_html_()
