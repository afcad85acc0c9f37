"""The page of a valuation in a real browser: phone, desk and paper."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from chromium import QUIET, find_chromium

from valuation.report.valuation_page import render_valuation
from valuation.results.valuation import Valuation

pytestmark = pytest.mark.browser

PROBE = """<script>
const seen = (e) => e.getBoundingClientRect().height > 0;
const wide = [...document.querySelectorAll('main *')].filter(
    (e) => !e.closest('svg') && e.getBoundingClientRect().right > innerWidth + 1);
document.title = JSON.stringify({
    overflow: document.documentElement.scrollWidth - innerWidth,
    outside: wide.filter((e) => !e.closest('.scroll')).length,
    charts: [...document.querySelectorAll('svg')].filter(seen).map((e) => e.classList[0]).join(' '),
    small: [...document.querySelectorAll('svg')].filter(seen).flatMap((s) =>
        [...s.querySelectorAll('text')].map((t) => t.getBoundingClientRect().height)
    ).filter((h) => h < 9).length,
    tables: [...document.querySelectorAll('table')].filter(seen).length});
</script>"""

Browse = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture(scope="module")
def browse(tmp_path_factory: pytest.TempPathFactory) -> Browse:
    """Return a function that runs the browser on one page."""
    browser = find_chromium()
    profile = tmp_path_factory.mktemp("profile")

    def run(page: Path, *options: str) -> subprocess.CompletedProcess[str]:
        words = [
            browser,
            "--headless",
            *QUIET,
            f"--user-data-dir={profile}",
            *options,
            page.as_uri(),
        ]
        return subprocess.run(words, capture_output=True, text=True, timeout=120, check=True)

    return run


def probe(browse: Browse, folder: Path, valuation: Valuation, width: int) -> str:
    page = folder / "page.html"
    html = render_valuation(valuation)
    # Chromium makes no window narrower than 500 pixels, so a phone is a frame inside one.
    page.write_text(html.replace("</body>", f"{PROBE}</body>"), encoding="utf-8")
    frame = folder / "frame.html"
    style = f"border:0;width:{width}px;height:2000px"
    frame.write_text(
        f'<!DOCTYPE html><iframe id="f" src="page.html" style="{style}"></iframe>'
        "<script>onload = () => { document.title = f.contentDocument.title }</script>",
        encoding="utf-8",
    )
    dumped = browse(
        frame, "--dump-dom", "--window-size=1300,2000", "--allow-file-access-from-files",
        "--virtual-time-budget=5000",
    )  # fmt: skip
    found = re.search(r"<title>(\{.*?\})</title>", dumped.stdout)
    assert found, dumped.stdout[:2000]
    return found.group(1)


@pytest.mark.parametrize(
    ("width", "charts"),
    [(340, "range-narrow steps-narrow"), (390, "range-narrow steps-narrow"),
     (820, "range-wide steps-wide"), (1200, "range-wide steps-wide")],
)  # fmt: skip
def test_nothing_sticks_out_and_the_fitting_chart_is_shown(
    browse: Browse, tmp_path: Path, example: Valuation, width: int, charts: str
) -> None:
    assert probe(browse, tmp_path, example, width) == (
        f'{{"overflow":0,"outside":0,"charts":"{charts}","small":0,"tables":4}}'
    )


@pytest.mark.parametrize("width", [340, 390, 820, 1200])
def test_nothing_to_check_sticks_out(
    browse: Browse, tmp_path: Path, unsettled: Valuation, width: int
) -> None:
    found = probe(browse, tmp_path, unsettled, width)
    assert '"overflow":0,"outside":0' in found
    assert found.endswith('"tables":5}')


def test_a_long_unbroken_name_does_not_break_the_phone(
    browse: Browse, tmp_path: Path, build_valuation: Callable[..., Valuation]
) -> None:
    long = build_valuation(car="T" * 90, comparables=())
    assert '"overflow":0,"outside":0' in probe(browse, tmp_path, long, 340)


@pytest.mark.parametrize(("paper", "size"), [("A4", "594.9"), ("letter", "612")])
def test_it_prints_on_both_papers(
    browse: Browse, tmp_path: Path, example: Valuation, paper: str, size: str
) -> None:
    page = tmp_path / "page.html"
    html = render_valuation(example).replace("@page {", f"@page {{ size: {paper};")
    page.write_text(html, encoding="utf-8")
    printed = tmp_path / "page.pdf"
    browse(page, "--no-pdf-header-footer", f"--print-to-pdf={printed}")
    pdf = printed.read_bytes()
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+)", pdf)
    assert 1 <= len(boxes) <= 5
    assert all(box.decode().startswith(size) for box in boxes)
