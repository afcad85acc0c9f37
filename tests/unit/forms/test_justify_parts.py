"""The parts of the salesperson's form: what they take, what they say, and what they keep quiet."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from valuation.errors import ListingError, QuestionError, SettingsError, ValuationError
from valuation.forms.justify_ask import OWN, AskPart
from valuation.forms.justify_beside import ADVERT, BesidePart, advert_car, typed_price
from valuation.forms.justify_said import SayLine, without_places
from valuation.forms.justify_save import SavePart, file_name
from valuation.inspection.settings_file import default_inspection_settings
from valuation.records import Car
from valuation.selling.questions import Question, default_questions
from valuation.selling.what_if_changes import Change

MAKES = {"Torvane": ("GT",)}
OTHER = Car({"year": 1969.0, "make": "Torvane", "model": "GT"})


def fails(error: Exception) -> Any:
    def work() -> str:
        raise error

    return work


def test_a_line_says_what_is_wrong_without_places() -> None:
    line = SayLine()
    wrong = ValuationError("/firm/models/2025.model", "it is damaged", got="n/s", remedy="Ask")
    assert not line.doing("Reading …", fails(wrong))
    assert "2025.model: it is damaged (got: n/s). Ask." in line.text
    assert "/firm" not in line.text
    assert line.fault is None


def test_what_nobody_foresaw_is_kept_for_whoever_mends_it() -> None:
    line = SayLine()
    fault = KeyError("/firm/costs: 31,250 EUR")
    assert not line.doing("Reading …", fails(fault))
    assert "tell the analyst" in line.text
    assert not {"31,250", "/firm", "KeyError"} & set(line.text.replace(":", " ").split())
    assert line.fault is fault
    assert line.doing("Again …", lambda: "Done <b>.")
    assert "Done &lt;b&gt;." in line.text
    assert line.fault is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (r"C:\firm\cars\lot 1.toml: no title", "lot 1.toml: no title"),
        ("~/firm/lot.toml", "lot.toml"),
        ("brakes/reversible/later or n/s", "brakes/reversible/later or n/s"),
        ("got: ../sheet", "got: ../sheet"),
        ("reads 1/2 or ±5", "reads 1/2 or ±5"),
    ],
)
def test_places(text: str, said: str) -> None:
    assert without_places(text) == said


def saving(folder: Path) -> SavePart:
    return SavePart(folder, {"PDF": lambda: b"a pdf", "HTML page": lambda: b"a page"})


def test_a_sheet_is_kept_under_its_name_and_the_form_says_where(tmp_path: Path) -> None:
    part = saving(tmp_path / "sheets")
    part.start("1968 Torvane GT coupe, stock 17/3")
    part.button.click()
    assert (tmp_path / "sheets" / "1968 Torvane GT coupe, stock 17-3.pdf").read_bytes() == b"a pdf"
    said = "Saved as 1968 Torvane GT coupe, stock 17-3.pdf in the folder sheets."
    assert said in part.said.text
    part.button.click()
    assert f"{said[:-1]}, in place of the one that was there." in part.said.text
    part.kind.value, part.name.value = "HTML page", "for Saturday.html"
    part.button.click()
    assert (tmp_path / "sheets" / "for Saturday.html").read_bytes() == b"a page"
    assert len(list((tmp_path / "sheets").iterdir())) == 2


@pytest.mark.parametrize("typed", ["", "  ", "../sheet", "/srv/a", "a\\b", ".hidden", "x" * 101])
def test_only_a_plain_name_is_taken(tmp_path: Path, typed: str) -> None:
    part = saving(tmp_path)
    part.name.value = typed
    part.button.click()
    assert "File name: it has to be a plain name without a folder" in part.said.text
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(SettingsError):
        file_name(typed, "PDF")


def test_a_folder_that_cannot_be_written_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "sheets").write_text("a file, no folder")
    part = saving(tmp_path / "sheets")
    part.start("car")
    part.button.click()
    assert "the sheet can&#x27;t be written there" in part.said.text
    assert str(tmp_path) not in part.said.text


@pytest.fixture
def asked() -> list[Question]:
    return []


@pytest.fixture
def ask(asked: list[Question]) -> AskPart:
    def answer(question: Question) -> str:
        asked.append(question)
        return f"<p>{question.name}</p>"

    return AskPart(default_questions(), default_inspection_settings(), answer)


def test_a_question_of_the_list_is_asked(ask: AskPart, asked: list[Question]) -> None:
    ask.button.click()
    assert asked == [default_questions()[0]]
    assert ask.box.children[-1].value == "<p>original engine</p>"
    ask.start()
    assert ask.box.children[-1].value == ""


def test_a_question_of_ones_own_has_a_fact_and_a_value(ask: AskPart, asked: list[Question]) -> None:
    own = ask.box.children[1]
    assert own.layout.display == "none"
    ask.question.value = OWN
    assert own.layout.display == "flex"
    assert "numbers-matching" in ask.value.options
    ask.fact.value, ask.value.value = "mileage", " +10000 "
    assert ask.value.options == ()
    ask.button.click()
    (question,) = asked
    assert question.changes == (Change("mileage", "+10000"),)
    assert question.ask == "What if it were otherwise: mileage +10000?"
    ask.fact.value, ask.value.value = "paint", "8"
    ask.button.click()
    assert asked[-1].changes == (Change("paint", "8"),)


def test_a_fact_that_makes_another_car_is_not_offered(ask: AskPart) -> None:
    names = {name for _, name in ask.fact.options}
    assert not names & {"make", "model", "year", "generation"}
    assert {"documents", "transmission", "condition_grade"} <= names


def test_no_value_is_a_sentence(ask: AskPart, asked: list[Question]) -> None:
    ask.question.value, ask.fact.value = OWN, "mileage"
    ask.button.click()
    assert asked == []
    assert "nothing is written for what it would be" in ask.said.text
    with pytest.raises(QuestionError):
        _ = ask.asked


@pytest.fixture
def compared() -> list[tuple[Car, float | None, str]]:
    return []


@pytest.fixture
def beside(compared: list[tuple[Car, float | None, str]]) -> BesidePart:
    def compare(car: Car, price: float | None, kind: str) -> str:
        compared.append((car, price, kind))
        return "<p>beside</p>"

    part = BesidePart(MAKES, "EUR", compare)
    part.start([("1969 Torvane GT", OTHER)])
    return part


def test_another_car_is_put_beside(
    beside: BesidePart, compared: list[tuple[Car, float | None, str]]
) -> None:
    beside.other.value = "1969 Torvane GT"
    assert beside.advert.layout.display == "none"
    beside.price.value, beside.kind.value = "39.900 €", "what was paid for it"
    beside.button.click()
    assert compared == [(OTHER, 39_900.0, "sold")]
    beside.start([])
    assert beside.other.options == (ADVERT,)
    assert beside.advert.layout.display == "flex"


def test_an_advert_is_read(
    beside: BesidePart, compared: list[tuple[Car, float | None, str]]
) -> None:
    beside.advert.value = "1969 Torvane GT Coupe, 4-speed\nMatching-numbers engine. No rust."
    beside.button.click()
    ((car, price, kind),) = compared
    assert (car.values["make"], car.values["year"], price, kind) == (
        "Torvane",
        1969.0,
        None,
        "asking",
    )
    assert car.values["engine_originality"] == "numbers-matching"


def test_what_cannot_be_compared_is_a_sentence(
    beside: BesidePart, compared: list[tuple[Car, float | None, str]]
) -> None:
    beside.button.click()
    assert "nothing is written of its advert" in beside.said.text
    beside.other.value = "1969 Torvane GT"
    wrong = {"a lot": "no price", "0": "no price", "-5": "no price", "45,000 USD": "be in EUR"}
    for typed, told in wrong.items():
        beside.price.value = typed
        beside.button.click()
        assert told in beside.said.text
    assert compared == []
    with pytest.raises(ListingError):
        advert_car("  ", MAKES)
    assert typed_price("", "EUR", where="x") is None
