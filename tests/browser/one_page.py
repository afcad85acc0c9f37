"""One page in a real browser: what it looks like at a width, and what it prints."""

from __future__ import annotations

import json
import re
import subprocess
from pathlib import Path
from typing import Any

from chromium import QUIET, find_chromium

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
    cut: [...document.querySelectorAll('svg')].filter(seen).flatMap((s) =>
        [...s.querySelectorAll('text')].map((t) => [t, s.getBoundingClientRect()])
    ).filter(([t, s]) => t.getBoundingClientRect().left < s.left - 2
        || t.getBoundingClientRect().right > s.right + 2).map(([t]) => t.textContent),
    tables: [...document.querySelectorAll('table')].filter(seen).length});
</script>"""


class OnePage:
    """A browser that shows one page at a time."""

    def __init__(self, profile: Path, folder: Path) -> None:
        self._browser = find_chromium()
        self._profile = profile
        self._folder = folder

    def _run(self, page: Path, *options: str) -> str:
        words = [self._browser, "--headless", *QUIET, f"--user-data-dir={self._profile}"]
        found = subprocess.run(
            [*words, *options, page.as_uri()],
            capture_output=True, text=True, timeout=120, check=True,
        )  # fmt: skip
        return found.stdout

    def probe(self, html: str, width: int) -> dict[str, Any]:
        """Show a page at a width; return what sticks out, which charts and tables are seen."""
        page, frame = self._folder / "page.html", self._folder / "frame.html"
        # Chromium makes no window narrower than 500 pixels, so a phone is a frame inside one.
        page.write_text(html.replace("</body>", f"{PROBE}</body>"), encoding="utf-8")
        style = f"border:0;width:{width}px;height:2000px"
        frame.write_text(
            f'<!DOCTYPE html><iframe id="f" src="page.html" style="{style}"></iframe>'
            "<script>onload = () => { document.title = f.contentDocument.title }</script>",
            encoding="utf-8",
        )
        dumped = self._run(
            frame, "--dump-dom", "--window-size=1300,2000", "--allow-file-access-from-files",
            "--virtual-time-budget=5000",
        )  # fmt: skip
        found = re.search(r"<title>(\{.*?\})</title>", dumped)
        assert found, dumped[:2000]
        return json.loads(found.group(1).replace("&amp;", "&"))

    def printed(self, html: str) -> Path:
        """Print a page; return the PDF."""
        page, pdf = self._folder / "page.html", self._folder / "page.pdf"
        page.write_text(html, encoding="utf-8")
        self._run(page, "--no-pdf-header-footer", f"--print-to-pdf={pdf}")
        return pdf
