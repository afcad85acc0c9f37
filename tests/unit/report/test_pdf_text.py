from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.report.pdf_fonts import MISSING, in_fonts, readable, text_width
from valuation.report.pdf_text import (
    Line,
    Span,
    Style,
    as_seen,
    break_lines,
    least_width,
    whole_width,
)

PLAIN = Style(10.0)
BOLD = Style(10.0, "sans bold", underlined=True)
LARGE = Style(20.0, "serif bold")


def said(lines: tuple[Line, ...]) -> list[str]:
    return [" ".join(run.text for run in line.runs) for line in lines]


def broken(text: str, width: float) -> list[str]:
    return said(break_lines((Span(text, PLAIN),), width))


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("1967 Torvane", "1967 Torvane"),
        ("  a \t b\r\nc\u2028d ", " a b c d "),
        ("non\u00a0breaking", "non\u00a0breaking"),
        ("soft\u00adhyphen zero\u200bwidth\ufeff heart\ufe0f", "softhyphen zerowidth heart"),
        ("cafe\u0301", "café"),
        ("½ ™ → ✓ ≥ “q” 12,5 €", "½ ™ → ✓ ≥ “q” 12,5 €"),
        ("a\x00b\x1bc\x7f", f"a{MISSING}b{MISSING}c{MISSING}"),
        ("\u202e12,500\u202c", f"{MISSING}12,500{MISSING}"),
        ("漢 \U0001f600 \ud800 \uffff", f"{MISSING} {MISSING} {MISSING} {MISSING}"),
        ("", ""),
    ],
)
def test_what_is_shown_of_a_text(text: str, shown: str) -> None:
    assert readable(text) == shown


@given(st.text(max_size=80))
def test_every_sign_that_is_shown_has_a_typeface_and_a_width(text: str) -> None:
    shown = readable(text)
    for face in ("sans", "sans bold", "serif bold"):
        assert "".join(part for _font, part in in_fonts(shown, face)) == shown
        assert text_width(shown, face, 10.0) >= 0.0
    assert readable(shown) == shown


def test_a_sign_is_taken_from_another_typeface_where_the_first_lacks_it() -> None:
    assert [part for _font, part in in_fonts("price \u05d0 x", "serif bold")] == [
        "price ", "\u05d0", " x"
    ]  # fmt: skip
    first, other, again = (font for font, _part in in_fonts("price \u05d0 x", "serif bold"))
    assert first == again != other


def test_figures_are_equally_wide() -> None:
    assert {text_width(figure, "sans", 10.0) for figure in "0123456789"} == {
        text_width("0", "sans", 10.0)
    }


def test_lines_break_between_words_and_behind_hyphens_but_not_inside_amounts() -> None:
    assert broken("numbers-matching engine", 60) == ["numbers-", "matching", "engine"]
    assert broken("1,200-1,300 12/05/1968", 66) == ["1,200-1,300", "12/05/1968"]
    assert broken("and/or", 25) == ["and/", "or"]
    assert broken("one two", 1_000) == ["one two"]
    assert broken(" \n ", 100) == []


def test_a_word_wider_than_its_line_is_cut_and_nothing_of_it_lost() -> None:
    lines = broken("see " + "x" * 10_000 + " end", 100)
    assert lines[0] == "see"
    assert "".join(lines) == "see" + "x" * 10_000 + "end"
    assert broken("abc", 0.5) == ["a", "b", "c"]


SPANS = st.lists(
    st.builds(
        Span,
        st.text(st.sampled_from("ab-/1, é\u0301€\u202e"), max_size=30),
        st.sampled_from([PLAIN, BOLD, LARGE]),
    ),
    max_size=5,
)


@given(spans=SPANS, width=st.floats(5.0, 300.0))
def test_no_sign_is_lost_and_no_line_too_wide(spans: list[Span], width: float) -> None:
    lines = break_lines(spans, width)
    drawn = "".join(run.text for line in lines for run in line.runs)
    given_signs = "".join(readable(span.text) for span in spans)
    assert drawn.replace(" ", "") == given_signs.replace(" ", "")
    widest = text_width(MISSING, "serif bold", 20.0)
    for line in lines:
        assert line.width <= max(width, widest) + 0.01
        assert line.height > 0
        assert [run.x for run in line.runs] == sorted(run.x for run in line.runs)
    if width >= least_width(spans):
        assert all(line.width <= width + 0.01 for line in lines)
    if lines and width >= whole_width(spans):
        assert len(lines) == 1


def test_a_mark_stands_apart_from_the_word_before_it() -> None:
    (line,) = break_lines((Span("+9,260", PLAIN), Span(" large", BOLD)), 200)
    amount, mark = line.runs
    blank = text_width(" ", "sans bold", 10.0)
    assert mark.x == pytest.approx(amount.width + blank)
    assert (amount.style.underlined, mark.style.underlined) == (False, True)


def test_a_line_is_as_high_as_its_largest_words() -> None:
    (line,) = break_lines((Span("small ", PLAIN), Span("large", LARGE)), 200)
    assert line.height == 20.0 * LARGE.leading


@pytest.mark.parametrize(
    ("text", "seen"),
    [
        ("Torvane GT", "Torvane GT"),
        ("Größe", "Größe"),
        ("\u05d0\u05d1\u05d2", "\u05d2\u05d1\u05d0"),
        ("car \u05d0\u05d1 12,500 \u05d2 end", "car \u05d2 12,500 \u05d1\u05d0 end"),
        ("\u05d0 (\u05d1) c", "(\u05d1) \u05d0 c"),
        ("\u05d0 b \u05d2\u05d3", "\u05d0 b \u05d3\u05d2"),
    ],
)
def test_words_written_from_right_to_left_are_turned_where_they_stand(text: str, seen: str) -> None:
    assert as_seen(text) == seen
