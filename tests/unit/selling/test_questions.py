"""Questions with names."""

from __future__ import annotations

from pathlib import Path

import pytest

from valuation.errors import QuestionError, SettingsError
from valuation.schema import BY_NAME
from valuation.selling.questions import default_questions, questions_named, read_questions


def test_the_questions_of_the_package_name_attributes_of_the_contract() -> None:
    questions = default_questions()
    names = [q.name for q in questions]
    assert names[:5] == [
        "original engine",
        "first colour",
        "better brakes",
        "another 10,000 miles",
        "documented history",
    ]
    assert {c.name for q in questions for c in q.changes} <= set(BY_NAME)
    assert all(q.ask.endswith("?") for q in questions)


def test_a_firm_has_questions_of_its_own(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(
        '[[question]]\nname = "better paint"\nask = "What if?"\nset = ["paint=+2", "mileage=1"]\n'
    )
    (question,) = read_questions(path)
    assert [str(c) for c in question.changes] == ["paint=+2", "mileage=1"]
    assert question.note == ""


def test_all_faults_of_a_file_are_told_at_once(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(
        "[[question]]\nname = 'a'\nask = 3\nset = ['mileage']\n"
        "[[question]]\nname = 'A'\nask = 'b'\nset = []\nsay = 'c'\n[other]\n"
    )
    with pytest.raises(SettingsError) as caught:
        read_questions(path)
    told = str(caught.value)
    assert told.startswith("own.toml: 6 entries are wrong: ")
    for part in (
        "other has to be a table [[question]]",
        "question 1.ask has to be text between quotation marks (got: 3)",
        "question 1.set has to be NAME = VALUE (got: mileage)",
        "question 2.say has to be one of the keys name, ask, set, note (got: c)",
        "question 2.set has to be a list of changes",
        "question 2.name has to be a name that no other question has (got: A)",
    ):
        assert part in told


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"question = 3", "tables [[question]]"),
        (b"[[", "this is not valid TOML"),
        (b"\xff", "can't be read"),
    ],
)
def test_a_file_that_holds_no_questions_is_told(tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "own.toml"
    path.write_bytes(content)
    with pytest.raises(SettingsError) as caught:
        read_questions(path)
    assert said in str(caught.value)


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match=r"none\.toml: the questions can't be read"):
        read_questions(tmp_path / "none.toml")


def test_questions_are_found_by_their_names_in_any_case() -> None:
    known = default_questions()
    assert questions_named(known, ["First Colour", "first  colour"]) == [known[1]]
    with pytest.raises(QuestionError, match="Ask 'original engine', the nearest"):
        questions_named(known, ["orignal engin"])
    with pytest.raises(QuestionError, match="See --list-questions"):
        questions_named(known, ["xyz"])
