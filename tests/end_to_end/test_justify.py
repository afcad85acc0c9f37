"""The sheet for a customer, as a salesperson makes it: the same numbers wherever one reads."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from pathlib import Path
from subprocess import CompletedProcess

import pytest
from PIL import Image
from pypdf import PdfReader
from reading import in_units, plain

Run = Callable[..., CompletedProcess[str]]


@pytest.fixture(scope="module")
def photograph(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a photograph that tells where it was taken."""
    exif = Image.Exif()
    exif[0x010F] = "PRIVATECAMERA"
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 0.0)
    path = tmp_path_factory.mktemp("pictures") / "at_our_yard.jpg"
    Image.new("RGB", (1600, 900), "teal").save(path, exif=exif)
    return path


def amounts(text: str) -> set[int]:
    return {abs(in_units(n)) for n in re.findall(r"(?<![\w.,])-?\d{1,3}(?:,\d{3})+(?![\w,])", text)}


def test_page_paper_text_and_json_say_the_same(
    run: Run, model: Path, data: Path, photograph: Path, tmp_path: Path
) -> None:
    page, paper = tmp_path / "sheet.html", tmp_path / "sheet.pdf"
    words = ["justify", data / "cars" / "ordinary.toml", "--model", model, "--asking", "64900"]
    words += ["--picture", photograph]
    said = run(*words, "-o", page, "-o", paper, "--paper", "Letter")
    assert said.returncode == 0, said.stderr
    told = json.loads(run(*words, "--json").stdout)
    assert told["format"] == 1
    assert told["start"] + sum(x["amount"] for x in told["lines"]) == told["central"]
    asked = told["asking"]
    assert asked["above"] == 64_900 - told["central"]
    assert asked["lower"] + asked["higher"] + asked["same"] == len(told["points"])

    wanted = {told["central"], told["start"], 64_900, abs(asked["above"])}
    wanted |= {abs(x["amount"]) for x in told["lines"]}
    for sale in told["sales"]:
        assert sale["price"] + sum(s["amount"] for s in sale["steps"]) == sale["adjusted"]
        wanted |= {sale["price"], sale["adjusted"], *(abs(s["amount"]) for s in sale["steps"])}
    wanted = {n for n in wanted if n >= 1_000}
    html = page.read_text(encoding="utf-8")
    pdf = PdfReader(io.BytesIO(paper.read_bytes()))
    on_paper = " ".join(leaf.extract_text() for leaf in pdf.pages)
    for text in (plain(html), on_paper, said.stdout):
        assert wanted <= amounts(text)
    assert pdf.pages[0].mediabox[2:] == [612, 792]
    sheet_text = said.stdout.partition("Sheet for the customer:")[0]
    for private in ("PRIVATECAMERA", "at_our_yard", "Harbour Rooms", "TO68", str(tmp_path)):
        for text in (html, on_paper, sheet_text):
            assert private not in text


def test_the_same_sheet_is_the_same_bytes(
    run: Run, model: Path, data: Path, tmp_path: Path
) -> None:
    files = [tmp_path / name for name in ("a.html", "b.html", "a.pdf", "b.pdf")]
    for first, second in zip(files[::2], files[1::2], strict=True):
        for file in (first, second):
            words = ["justify", data / "cars" / "rare.toml", "--model", model, "-o", file]
            assert run(*words).returncode == 0
        assert first.read_bytes() == second.read_bytes()


def test_an_inspected_car_that_contradicts_itself_is_told_fairly(
    run: Run, model: Path, data: Path
) -> None:
    words = ["justify", data / "sheets" / "contradicted.xlsx", "--model", model]
    told = json.loads(run(*words, "--json").stdout)
    first = told["questions"][0]
    assert first["state"] == "contradicted"
    text = run(*words).stdout
    assert "what we found does not fit" in text
    assert "bid" not in text.lower().replace("highest bid", "").replace("market bid", "")


def test_a_stock_number_that_the_ledger_does_not_know_is_refused(
    run: Run, model: Path, data: Path, tmp_path: Path
) -> None:
    ledger = tmp_path / "ledger.csv"
    ledger.write_text(
        "stock,event,date,amount,currency,make,model,year,chassis\n"
        "H-1,bought,2024-03-14,31500,EUR,Torvane,GT,1968,TO68-90412\n",
        encoding="utf-8",
    )
    firm = tmp_path / "firm"
    done = run("ledger", "import", ledger, "--workspace", firm, "--by", "Ada")
    assert done.returncode == 0, done.stderr
    words = ["justify", data / "cars" / "ordinary.toml", "--model", model, "--workspace", firm]
    known = run(*words, "--stock", "h1")
    assert known.returncode == 0, known.stderr
    assert "31,500" not in known.stdout
    refused = run(*words, "--stock", "H-2")
    assert refused.returncode == 2
    assert "no car of the ledger has this stock number (got: H-2)" in refused.stderr
