from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from pdf_reading import page_of, sheet_texts

from valuation.cli.command import main
from valuation.errors import ValuationError
from valuation.files import page_kind
from valuation.report.page import Paragraph
from valuation.report.pdf import render_pdf
from valuation.report.render import render_page
from valuation.report.write import write_page

PAGE = page_of(Paragraph("12,500 EUR"))


@pytest.mark.parametrize("name", ["page.html", "page.htm", "page.HTML", "page"])
def test_a_page_is_html_unless_its_name_says_otherwise(name: str, tmp_path: Path) -> None:
    written = write_page(PAGE, tmp_path / name)
    assert written.read_text(encoding="utf-8") == render_page(PAGE)


@pytest.mark.parametrize("name", ["page.pdf", "page.PDF"])
def test_a_page_whose_name_ends_so_is_a_pdf(name: str, tmp_path: Path) -> None:
    content = write_page(PAGE, tmp_path / "new" / name).read_bytes()
    assert content == render_pdf(PAGE)
    assert "12,500 EUR" in sheet_texts(content)[0]


def test_other_endings_are_refused_and_nothing_is_written(tmp_path: Path) -> None:
    with pytest.raises(ValuationError) as caught:
        write_page(PAGE, tmp_path / "page.docx")
    assert str(caught.value) == (
        f"{tmp_path / 'page.docx'}: this page can't be written under that ending (got: .docx). "
        "End its name with .html or .pdf."
    )
    assert not list(tmp_path.iterdir())


def test_what_is_html_already_becomes_no_pdf(tmp_path: Path) -> None:
    with pytest.raises(ValuationError, match=r"\(got: .pdf\). End its name with .html.$"):
        write_page("<p>x</p>", tmp_path / "page.pdf")
    assert not list(tmp_path.iterdir())
    assert page_kind(tmp_path / "page.html", kinds=("html",)) == "html"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ["price", "no.toml", "--model", "no", "--page", "out.xlsx"],
            "valuation: out.xlsx: this page can't be written under that ending (got: .xlsx). "
            "End its name with .html or .pdf.\n",
        ),
        (
            ["runlist", "no.csv", "--costs", "no", "--model", "no", "--sheets", "out.pdf"],
            "valuation: out.pdf: this page can't be written under that ending (got: .pdf). "
            "End its name with .html.\n",
        ),
    ],
)
def test_a_command_refuses_an_ending_before_it_does_anything(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(words) == 2
    assert capsys.readouterr().err == said


def test_what_makes_pdfs_is_loaded_only_when_one_is_asked_for() -> None:
    script = (
        "import sys, valuation.cli.price; "
        "sys.exit(any(name.startswith('reportlab') for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0
