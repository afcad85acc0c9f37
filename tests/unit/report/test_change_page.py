"""What moved between two models as a page and in a notebook."""

from __future__ import annotations

import re
from dataclasses import replace

import movements
from reading import grids, headings, outline, plain, shown, texts
from syrupy.assertion import SnapshotAssertion

from valuation.report.change_section import (
    SHOWN_EFFECTS,
    causes_section,
    change_page,
    effects_section,
    panel_section,
    render_changes,
    show_changes,
)
from valuation.results.words import INTERNAL


def test_a_page_is_one_well_formed_internal_document() -> None:
    html = render_changes(movements.change())
    tags = outline(html).tags
    ids = [a["id"] for _, a in tags if "id" in a]
    assert len(ids) == len(set(ids))
    assert not {tag for tag, _ in tags} & {"script", "link", "img", "iframe"}
    assert "http" not in html
    assert f'<p class="notice">{INTERNAL}</p>' in html
    assert not re.search(r"\b(nan|None|inf)\b", plain(html))
    assert html == render_changes(movements.change())
    assert headings(html) == [
        "Cars priced by both", "What moved each car", "Effects of the attributes",
        "What was revised", "Before you rely on it",
    ]  # fmt: skip
    assert "<b>4-speed</b>" not in html


def test_panel(snapshot: SnapshotAssertion) -> None:
    assert shown(panel_section(movements.change())) == snapshot


def test_causes(snapshot: SnapshotAssertion) -> None:
    assert shown(causes_section(movements.change())) == snapshot


def test_effects(snapshot: SnapshotAssertion) -> None:
    assert shown(effects_section(movements.change())) == snapshot


def test_an_effect_moved_if_one_lies_outside_the_interval_of_the_other() -> None:
    gearbox, body, colour = movements.EFFECTS
    assert (gearbox.moved, body.moved, colour.moved) == (True, False, False)
    assert (gearbox.step, colour.step) == (5.0, 0.0)
    assert replace(body, new=28.0).moved
    assert replace(body, new_low=21.5).moved


def test_small_lines_are_gathered_and_the_table_still_adds_up() -> None:
    found = grids(causes_section(movements.change(cars=(movements.CAR,))))
    (table,) = (g for g in found if "lines of its explanation" in g.caption)
    cells = [[int(c.text.replace(",", "")) for c in row[1:]] for row in table.rows]
    *lines, total = cells
    assert [sum(line[i] for line in lines) for i in range(3)] == total
    assert table.rows[-2][0].text == "4 other lines"
    assert table.totals == (len(lines),)


def test_all_that_moved_is_shown_and_the_rest_up_to_a_number() -> None:
    gearbox, body, _ = movements.EFFECTS
    many = movements.change(attributes=(gearbox,) * 30 + (body,) * 30)
    (table,) = grids(effects_section(many))
    assert len(table.rows) == 30
    few = movements.change(attributes=(gearbox,) + (body,) * 60)
    (table,) = grids(effects_section(few))
    assert len(table.rows) == SHOWN_EFFECTS
    assert "stated by enough sales" in shown(effects_section(movements.change(attributes=())))


def test_models_without_panel_causes_or_dates_have_fewer_sections() -> None:
    bare = movements.change(
        cars=(), index=None, old_as_of=None, new_as_of=None, went=0, corrected=0
    )
    page = change_page(bare)
    assert [s.name for s in page.sections] == ["change-panel", "change-effects", "trust"]
    assert page.subtitle == "From the model of no date to that of no date"
    (lead,) = texts(page.sections[0], "lead")
    assert lead.startswith(
        "The earlier model rests on 1,400 sales, the later one on 1,430: 31 new."
    )


def test_cars_of_the_firm_come_first_and_then_those_that_moved_most() -> None:
    cars = tuple(
        replace(movements.CAR, car=f"Car {i}", new=43_710 + 100 * i, typical=i != 2)
        for i in range(9)
    )
    section = causes_section(movements.change(cars=cars))
    captions = [g.caption.partition(":")[0] for g in grids(section)]
    assert list(dict.fromkeys(captions)) == ["Car 2", "Car 8", "Car 7", "Car 6", "Car 5", "Car 4"]
    assert "Shown are 6 of 9 cars" in shown(section)


def test_a_notebook_shows_it_with_its_summary() -> None:
    found = show_changes(movements.change())
    assert repr(found) == movements.change().summary()
    assert "Cars priced by both" in found._repr_html_()


def test_summary(snapshot: SnapshotAssertion) -> None:
    assert movements.change().summary() == snapshot
