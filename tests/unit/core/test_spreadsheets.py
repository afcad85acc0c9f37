from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.spreadsheets import LONGEST, cell_text, guarded, starts_formula, unguarded

RUNS = (
    "=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "  =1", '"=1', "'=1", "“=1",
    "＝1", "＋1", "－1", "＠A", "﹢1", "﹣1", "−1", "\N{NO-BREAK SPACE}=1",
    "\N{ZERO WIDTH SPACE}=1", "\N{ZERO WIDTH NO-BREAK SPACE}=1", "\N{RIGHT-TO-LEFT MARK}=1",
)  # fmt: skip
PLAIN = ("", " ", "'", "1968 Torvane", "'68 Torvane", "a=1", "(-1)", "#N/A", "1-2", "–", "é=")

texts = st.text(max_size=40) | st.lists(
    st.sampled_from([*RUNS, *PLAIN, ";", "\x00", "\ud800", "\ufffe"])
).map("".join)


@pytest.mark.parametrize("text", RUNS)
def test_what_could_run_is_seen_and_guarded(text: str) -> None:
    assert starts_formula(text)
    assert guarded(text).startswith("'")


@pytest.mark.parametrize("text", PLAIN)
def test_what_cannot_run_stays_as_it_is(text: str) -> None:
    assert not starts_formula(text)
    assert guarded(text) == text


def test_what_follows_a_semicolon_is_guarded_too() -> None:
    assert guarded('lot 4; "=1+1;@A;b') == "lot 4;' \"=1+1;'@A;b"


def test_a_cell_holds_lines_but_no_control_characters() -> None:
    assert cell_text("a\r\nb\rc\td\x07\x1b\x85\ud83d\ufffe\U0001ffff🚗") == "a\nb\nc d🚗"
    assert len(cell_text("x" * 40_000)) == LONGEST


@given(texts)
def test_no_part_of_a_guarded_text_can_run(text: str) -> None:
    line = guarded(text)
    assert not set("\t\r\n\x00") & set(line)
    # A program that drops a first apostrophe shows what was meant and runs nothing; one that
    # splits at semicolons finds an apostrophe there too.
    for part in line.split(";"):
        assert part.startswith("'") or not starts_formula(part)


@given(texts)
def test_a_guarded_text_can_be_read_back(text: str) -> None:
    assert unguarded(guarded(text)) == cell_text(text).replace("\n", " ")


@given(texts)
def test_guarding_twice_and_reading_twice_loses_nothing(text: str) -> None:
    once = guarded(text)
    assert unguarded(guarded(once)) == once
