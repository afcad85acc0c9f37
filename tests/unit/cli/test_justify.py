"""``valuation justify``: what it writes, what it refuses, and how it names its model."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from valuation.appraisal.market import MarketModel
from valuation.cli.command import main
from valuation.cli.justify import model_version
from valuation.importing.car_file import write_car
from valuation.records import Car
from valuation.store.modelfile import save_model
from valuation.store.published import MODEL, publish

Capture = pytest.CaptureFixture[str]


@pytest.fixture(scope="module")
def model(tiny_market: MarketModel, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("model") / "market.model"
    save_model(tiny_market, path)
    return path


@pytest.fixture(scope="module")
def car(tiny_market: MarketModel, tmp_path_factory: pytest.TempPathFactory) -> Path:
    row = tiny_market.frame.iloc[100]
    path = tmp_path_factory.mktemp("car") / "stock_17.toml"
    values = {"make": row["make"], "model": row["model"], "year": float(row["year"])}
    write_car(Car({**values, "condition_grade": 63.0}, asking=77_123.0), path)
    return path


def told(capsys: Capture, *words: str | Path) -> dict[str, Any]:
    assert main(["justify", *map(str, words), "--json"]) == 0
    out: dict[str, Any] = json.loads(capsys.readouterr().out)
    return out


def refused(capsys: Capture, *words: str | Path) -> str:
    assert main(["justify", *map(str, words)]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    return said.err.strip()


def test_a_sheet_is_written_as_page_and_as_pdf(
    model: Path, car: Path, tmp_path: Path, capsys: Capture
) -> None:
    photograph = tmp_path / "secret_street.png"
    Image.new("RGB", (40, 30), "teal").save(photograph)
    page, paper = tmp_path / "new" / "sheet.html", tmp_path / "sheet.PDF"
    words = [car, "--model", model, "--asking", "64900", "--picture", photograph]
    found = told(capsys, *words, "-o", page, "-o", paper, "--paper", "letter")
    assert next(iter(found)) == "format"
    assert found["asking"]["amount"] == 64_900
    assert found["picture"] == {"width": 40, "height": 30}
    html = page.read_text(encoding="utf-8")
    assert "64,900" in html
    assert "data:image/jpeg;base64," in html
    assert paper.read_bytes().startswith(b"%PDF-")
    for private in ("secret_street", "stock_17", "77123", "77,123", str(tmp_path)):
        assert private not in html
        assert private not in json.dumps(found)
        assert private.encode() not in paper.read_bytes()
    assert not [p for p in tmp_path.rglob("*") if p.suffix in (".tmp", ".part")]


def test_the_text_says_what_was_written(
    model: Path, car: Path, tmp_path: Path, capsys: Capture
) -> None:
    page = tmp_path / "sheet.html"
    assert main(["justify", str(car), "--model", str(model), "-o", str(page)]) == 0
    out = capsys.readouterr().out
    assert "What it is worth (sold by a dealer, the price paid)" in out
    assert out.endswith(f"Sheet for the customer: {page}\n")


def test_a_sheet_that_can_t_be_written_leaves_the_old_one(
    model: Path, car: Path, tmp_path: Path, capsys: Capture
) -> None:
    (tmp_path / "no_folder").write_text("a file", encoding="utf-8")
    old = tmp_path / "sheet.html"
    old.write_text("old", encoding="utf-8")
    said = refused(capsys, car, "--model", model, "--channel", "barter", "-o", old, "--asking", "5")
    assert "no sale of the evidence was made there (got: barter)" in said
    assert old.read_text(encoding="utf-8") == "old"
    said = refused(capsys, car, "--model", model, "-o", tmp_path / "no_folder" / "sheet.pdf")
    assert "the sheet can't be written there" in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ["-o", "sheet.docx"],
            "-o: a sheet is a page or a PDF (got: sheet.docx). Let its name end in .html or .pdf.",
        ),
        (
            ["-o", "sheet.pdf", "--paper", "A5"],
            "--paper: no such size of paper is known (got: A5). Use one of A4, Letter.",
        ),
        (
            ["-o", "sheet.html", "--paper", "A4"],
            "--paper: only a PDF has a size of paper; a page is printed on any (got: A4). "
            "Add -o SHEET.pdf, or leave it out.",
        ),
        (
            ["--picture", "nowhere.jpg"],
            "nowhere.jpg: the picture can't be read (got: No such file or directory). "
            "Give a JPEG or PNG of the car.",
        ),
    ],
    ids=["ending", "paper", "paper of a page", "picture"],
)
def test_bad_input_is_one_sentence(
    words: list[str],
    said: str,
    car: Path,
    tmp_path: Path,
    capsys: Capture,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    # It is said before a model is looked for.
    assert refused(capsys, car, "--model", "none.model", *words) == f"valuation: {said}"
    assert list(tmp_path.iterdir()) == []


def test_a_picture_that_is_none_is_refused(car: Path, tmp_path: Path, capsys: Capture) -> None:
    out = io.BytesIO()
    Image.new("RGB", (4, 4)).save(out, "GIF")
    file = tmp_path / "car.jpg"
    file.write_bytes(out.getvalue())
    said = refused(capsys, car, "--model", "none.model", "--picture", file)
    assert said.endswith("(got: no whole JPEG or PNG file). Give a JPEG or PNG of the car.")


@pytest.mark.parametrize("asking", ["dear", "-5", "0", "1e99", "nan", "1.005"])
def test_an_asking_price_that_is_no_amount_is_refused(
    asking: str, car: Path, capsys: Capture
) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(["justify", str(car), "--model", "none.model", f"--asking={asking}"])
    assert stopped.value.code == 2
    assert "not an amount above 0, to the cent" in capsys.readouterr().err


def test_a_model_is_named_by_its_version_or_by_day_and_hash(
    model: Path, tiny_market: MarketModel, tmp_path: Path
) -> None:
    publish(tmp_path, "2024-05-31-aa", {MODEL: model.read_bytes()}, by="Ada", reason="better")
    assert model_version(tmp_path, tiny_market) == "2024-05-31-aa"
    assert tiny_market.as_of is not None
    day, _, digits = model_version(model, tiny_market).rpartition("-")
    assert day == tiny_market.as_of.isoformat()
    assert len(digits) == 8
    assert int(digits, 16) >= 0
