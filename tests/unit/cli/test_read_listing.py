"""``valuation read-listing``."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest

from valuation.cli.command import main
from valuation.importing.car_file import read_car

TEXT = "No rust, gearbox believed original. Clear title."


def test_it_prints_what_the_words_say(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["read-listing", TEXT]) == 0
    assert capsys.readouterr().out == (
        "what it says          how      words\n"
        "faults: rust          denied   No rust\n"
        "originality: gearbox  hedged   gearbox believed original\n"
        "title: clear          claimed  Clear title\n"
        "\n"
        "Attributes it fills:\n"
        "  Title: clear\n"
        "\n"
        "Words of an advert are claims, not proof: have documents, numbers and metal checked.\n"
    )


def test_it_reads_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "advert.txt"
    path.write_text(TEXT, encoding="utf-8")
    assert main(["read-listing", str(path)]) == 0
    assert "faults: rust" in capsys.readouterr().out


def test_it_reads_standard_input(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO(TEXT))
    assert main(["read-listing", "-", "--json"]) == 0
    content = json.loads(capsys.readouterr().out)
    assert list(content) == ["format", "statements", "attributes", "notes", "caution"]
    assert content["format"] == 1
    assert content["statements"][0] == {
        "topic": "faults",
        "value": "rust",
        "strength": "denied",
        "group": "denied",
        "words": "No rust",
        "start": 0,
        "end": 7,
    }
    assert content["attributes"] == [
        {"name": "title_status", "value": "clear", "rests_on": ["Clear title"]}
    ]


def test_it_writes_a_car_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "car.toml"
    assert main(["read-listing", TEXT, "-o", str(path)]) == 0
    assert capsys.readouterr().out.endswith(f"Car file to correct: {path}\n")
    assert read_car(path).values["title_status"] == "clear"


def test_contradictions_are_noted(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["read-listing", "Raced. Never raced."]) == 0
    assert '  note: The words both say and deny "history: racing".\n' in capsys.readouterr().out


def test_a_text_that_says_nothing_is_told_so(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["read-listing", "A car."]) == 0
    assert capsys.readouterr().out.startswith("The text says nothing that the reader knows.\n")


def test_no_words_are_a_fault(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["read-listing", "  "]) == 2
    said = "valuation: the text: it is empty. Give the words of a listing.\n"
    assert capsys.readouterr().err == said


def test_a_file_that_is_no_text_is_a_fault(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "photo.txt"
    path.write_bytes(b"\xff\xfe\x00\x81")
    assert main(["read-listing", str(path)]) == 2
    assert "photo.txt: it can't be read (got: UnicodeDecodeError)." in capsys.readouterr().err


def test_a_text_too_long_for_a_name_is_a_text(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["read-listing", TEXT * 300]) == 0
    assert "faults: rust" in capsys.readouterr().out
