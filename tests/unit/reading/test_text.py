from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.reading.text import (
    compact,
    each_once,
    fold,
    is_blank,
    is_other,
    most_common,
    name_words,
    word_set,
)


@pytest.mark.parametrize(
    ("text", "folded"),
    [
        ("  Coupé  ", "coupe"),
        ("Skrzynia biegów", "skrzynia biegow"),
        ("Łódź", "lodz"),
        ("Größe", "grosse"),
        ("a\u00a0b\u202fc", "a b c"),
        ("70 – 80", "70 - 80"),
        ("’67", "'67"),
        ("1967½", "1967½"),
        ("Ærø", "aero"),
        ("ONE\n two", "one two"),
        ("Œuvre Đorđe Ǽ", "oeuvre dorde ae"),
    ],
)
def test_fold(text: str, folded: str) -> None:
    assert fold(text) == folded


@given(st.text(max_size=30))
def test_folding_twice_changes_nothing(text: str) -> None:
    assert fold(fold(text)) == fold(text)


def test_compact_keeps_letters_and_digits_alone() -> None:
    assert compact("Mark-4 / B") == "mark4b"
    assert compact("...") == ""


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("TypeBoite", ("type", "boite")),
        ("ext_color", ("ext", "color")),
        ("mileage2", ("mileage", "2")),
        ("Price (2)", ("price", "2")),
        ("Année", ("annee",)),
        ("Kierownica_po_praweJ", ("kierownica", "po", "prawe", "j")),
    ],
)
def test_name_words(name: str, words: tuple[str, ...]) -> None:
    assert name_words(name) == words


@pytest.mark.parametrize(
    "text", ["", "  ", "-", "n/a", "N/S", "NULL", "nan", "keine Angabe", "brak", "#N/A", "None"]
)
def test_blank_cells(text: str) -> None:
    assert is_blank(text)


@pytest.mark.parametrize("text", ["0", "no", "nein", "x", "1967", "natural"])
def test_cells_that_state_something(text: str) -> None:
    assert not is_blank(text)


def test_other_is_not_blank_but_says_nothing_of_its_own() -> None:
    assert is_other("Autres")
    assert is_other("Inny kolor")
    assert not is_other("otter")
    assert not is_blank("Autres")


def test_each_different_cell_is_read_once() -> None:
    seen: list[str] = []

    def reader(cell: str) -> int:
        seen.append(cell)
        return len(cell)

    assert each_once(["a", "bb", "a", "a", "bb"], reader) == [1, 2, 1, 1, 2]
    assert seen == ["a", "bb"]
    assert each_once([], reader) == []


def test_most_common_takes_the_first_among_equals() -> None:
    assert most_common(["b", "a", "a", "b"]) == "b"
    assert most_common([]) == ""


def test_word_set() -> None:
    assert word_set(" a b\n c ") == {"a", "b", "c"}
