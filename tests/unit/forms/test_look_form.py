"""The form of the sales to look at: a reason, a click, and the way back."""

from __future__ import annotations

import pytest
from looks import LOOKED, keyless

from valuation.errors import ValuationError
from valuation.forms import LookForm, look_form


class Evidence:
    """Keeps what was decided, as a workspace would."""

    def __init__(self) -> None:
        self.done: list[tuple[str, str, str]] = []
        self.locked = False

    def set_aside(self, key: str, reason: str) -> None:
        if self.locked:
            raise ValuationError("evidence", "somebody else writes", remedy="Try again")
        self.done.append(("set aside", key, reason))

    def restore(self, key: str, reason: str) -> None:
        self.done.append(("restore", key, reason))


@pytest.fixture
def evidence() -> Evidence:
    return Evidence()


@pytest.fixture
def form(evidence: Evidence) -> LookForm:
    return look_form(LOOKED, set_aside=evidence.set_aside, restore=evidence.restore)


def test_every_sale_with_a_key_has_a_button(form: LookForm) -> None:
    assert [row.sale.key for row in form.rows] == [s.key for s in LOOKED.sales]
    assert {row.button.description for row in form.rows} == {"Set aside"}
    assert form.set_aside == ()


def test_a_click_sets_aside_with_the_reason_and_says_so(form: LookForm, evidence: Evidence) -> None:
    row = form.rows[1]
    row.reason.value = "  a digit too many "
    row.button.click()
    assert evidence.done == [("set aside", row.sale.key, "a digit too many")]
    assert "Set aside." in row.answer.value
    assert (row.button.description, row.reason.disabled) == ("Undo", True)
    assert form.set_aside == (row.sale.key,)
    assert "Set aside here: 1." in repr(form)


def test_a_second_click_takes_it_back(form: LookForm, evidence: Evidence) -> None:
    row = form.rows[0]
    row.reason.value = "wrong car"
    row.button.click()
    row.button.click()
    assert [what for what, *_ in evidence.done] == ["set aside", "restore"]
    assert (row.button.description, row.reason.disabled) == ("Set aside", False)
    assert "Counts again." in row.answer.value
    assert form.set_aside == ()


def test_nothing_is_set_aside_without_a_reason(form: LookForm, evidence: Evidence) -> None:
    row = form.rows[0]
    row.reason.value = "   "
    row.button.click()
    assert evidence.done == []
    assert "Write the reason first" in row.answer.value
    assert not row.done


def test_a_refusal_is_shown_and_nothing_changes(form: LookForm, evidence: Evidence) -> None:
    evidence.locked = True
    row = form.rows[0]
    row.reason.value = "wrong car"
    row.button.click()
    assert "somebody else writes. Try again." in row.answer.value
    assert row.button.description == "Set aside"
    assert form.set_aside == ()


def test_sales_outside_a_workspace_can_only_be_read(evidence: Evidence) -> None:
    form = look_form(keyless(), set_aside=evidence.set_aside, restore=evidence.restore)
    assert form.rows == ()
    assert "3 of them are in no workspace and can't be set aside." in repr(form)


def test_words_of_a_sale_are_no_markup(form: LookForm) -> None:
    words = form.rows[0].box.children[0].value
    assert "sedan &lt;b&gt;" in words
    assert "<b>" not in words
    assert "influential: without it its own estimate would be 44.7% higher" in words


def test_whoever_shows_no_forms_reads_the_list(form: LookForm) -> None:
    bundle = form._repr_mimebundle_()
    assert LOOKED.summary() in bundle["text/plain"]
    assert "application/vnd.jupyter.widget-view+json" in bundle
