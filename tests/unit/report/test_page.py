from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from reading import headings, outline

from valuation.errors import ValuationError
from valuation.report.notebook import (
    show,
    show_checks,
    show_closest_sales,
    show_explanation,
    show_range,
)
from valuation.report.valuation_page import render_valuation
from valuation.report.write import write_page
from valuation.results.valuation import Valuation

Build = Callable[..., Valuation]


def test_the_page_is_one_well_formed_document(example: Valuation) -> None:
    html = render_valuation(example)
    tags = outline(html).tags
    assert html.startswith("<!DOCTYPE html>\n")
    assert ("html", {"lang": "en"}) in tags
    headings = [tag for tag, _ in tags if re.fullmatch(r"h\d", tag)]
    assert headings == ["h1", *["h2"] * 5]


def test_every_table_heading_has_a_scope_and_every_table_a_caption(example: Valuation) -> None:
    tags = outline(render_valuation(example)).tags
    assert all(a.get("scope") in {"col", "row"} for tag, a in tags if tag == "th")
    names = [tag for tag, _ in tags]
    assert names.count("table") == names.count("caption") == 4


def test_ids_are_unique_on_the_page(example: Valuation) -> None:
    ids = [a["id"] for _, a in outline(render_valuation(example)).tags if "id" in a]
    assert len(ids) == len(set(ids))


def test_the_page_needs_nothing_from_elsewhere(example: Valuation) -> None:
    html = render_valuation(example)
    names = {tag for tag, _ in outline(html).tags}
    assert not names & {"script", "link", "img", "iframe", "object", "video"}
    assert "http" not in html
    assert "@import" not in html


def test_the_same_valuation_gives_the_same_page(example: Valuation) -> None:
    assert render_valuation(example) == render_valuation(example)


def test_text_from_files_is_escaped(build_valuation: Build) -> None:
    attack = '"><script>alert(1)</script>'
    html = render_valuation(
        build_valuation(car=attack, currency=attack, start_label=attack, cautions=(attack,))
    )
    assert "<script" not in html
    outline(html)


def test_money_is_the_same_in_chart_text_and_table(example: Valuation) -> None:
    html = render_valuation(example)
    text = re.sub(r"<[^>]*>", "\n", html)
    for amount in ("50,000", "41,340", "60,120", "+9,450", "-5,240", "50,360"):
        assert text.count(amount) >= 3


def test_nothing_that_is_no_number_is_shown(example: Valuation, bare: Valuation) -> None:
    for valuation in (example, bare):
        text = re.sub(r"<[^>]*>", "\n", render_valuation(valuation))
        assert not re.search(r"\b(nan|None|inf)\b", text)


def test_a_notebook_shows_the_parts_in_the_order_asked_for(example: Valuation) -> None:
    for part, heading in (
        (show_range, "What it is worth"),
        (show_explanation, "What raised and what lowered the price"),
        (show_closest_sales, "The closest sales"),
    ):
        html = part(example)._repr_html_()
        assert re.findall(r"<h2[^>]*>(.*?)</h2>", html) == [heading]
    assert show(example)._repr_html_().count("<h2") == 5
    assert repr(show(example)) == example.summary()


def test_checks_are_shown_second_and_only_where_there_are_some(
    example: Valuation, unsettled: Valuation
) -> None:
    wanted = "What to check before bidding"
    assert headings(render_valuation(unsettled))[1] == wanted
    assert headings(show(unsettled)._repr_html_())[1] == wanted
    assert headings(show_checks(unsettled)._repr_html_()) == [wanted]
    assert wanted not in render_valuation(example)
    assert show_checks(example)._repr_html_() == ""
    outline(render_valuation(unsettled))


def test_a_page_is_written_into_a_new_folder_and_replaces_the_old(tmp_path: Path) -> None:
    target = tmp_path / "new" / "page.html"
    assert write_page("<p>old</p>", target) == target
    write_page("<p>neu: ü</p>", target)
    assert target.read_text(encoding="utf-8") == "<p>neu: ü</p>"
    assert [p.name for p in target.parent.iterdir()] == ["page.html"]


def test_a_page_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    with pytest.raises(ValuationError) as caught:
        write_page("x", tmp_path)
    assert str(caught.value) == (
        f"{tmp_path}: the page can't be written there (got: a folder has that name). "
        "Name a file in a folder you may write to."
    )
    (tmp_path / "file").touch()
    with pytest.raises(ValuationError, match="the page can't be written there"):
        write_page("x", tmp_path / "file" / "page.html")
