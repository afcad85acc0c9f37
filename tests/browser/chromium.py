"""The browser that all tests in this folder use."""

from __future__ import annotations

import shutil

QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--no-first-run",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
)


def find_chromium() -> str:
    """Return the path of the browser; its absence is a failure, never a skip."""
    browser = shutil.which("chromium")
    assert browser, "Chromium is missing: install Debian's package chromium"
    return browser
