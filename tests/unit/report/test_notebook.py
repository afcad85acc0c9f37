"""What a notebook shows: sections as on the page, text that breaks between words."""

from __future__ import annotations

import re

import run_lists

from valuation.report.notebook import show_run_list, show_text


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
