"""JupyterLab, Voilà and single pages in a browser, started once for each module that asks."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from chromium import QUIET, find_chromium
from lab import Lab
from lab_server import LabServer
from one_page import OnePage
from playwright.sync_api import Browser, BrowserContext, sync_playwright
from voila_page import VoilaPage
from voila_server import VoilaServer

ROOT = Path(__file__).parents[2]
COPIED = ("notebooks", "data_synthetic")
TEMPLATE = Path("valuation", "forms", "plain_page", "index.html.j2")
INSTALLED = Path("share", "jupyter", "voila", "templates", "valuation", TEMPLATE.name)


# Not for the whole session: while the browser is driven, its event loop holds this thread, and
# tests elsewhere run loops of their own.
@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """Return the browser in which notebooks are shown."""
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=find_chromium(), args=list(QUIET))
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a copy of the notebooks and their data."""
    root = tmp_path_factory.mktemp("files")
    for folder in COPIED:
        shutil.copytree(ROOT / folder, root / folder)
    return root


@pytest.fixture(scope="module")
def lab(
    files: Path,
    chromium: Browser,
    tmp_path_factory: pytest.TempPathFactory,
    user_environment: dict[str, str],
) -> Iterator[Lab]:
    """Return JupyterLab on a copy of the notebooks and their data, in a browser."""
    state = tmp_path_factory.mktemp("jupyter")
    with LabServer(files, state, user_environment) as server, _window(chromium) as context:
        yield Lab(server, context, "notebooks")


@pytest.fixture(scope="module")
def voila(
    files: Path,
    chromium: Browser,
    tmp_path_factory: pytest.TempPathFactory,
    user_environment: dict[str, str],
) -> Iterator[VoilaPage]:
    """Return Voilà on a copy of the notebooks and their data, in a browser."""
    installed = Path(sys.prefix, INSTALLED)
    current = installed.is_file() and installed.read_bytes() == (ROOT / TEMPLATE).read_bytes()
    assert current, "The template of plain pages is not installed as it is: pip install -e . again"
    state = tmp_path_factory.mktemp("voila")
    with VoilaServer(files, state, user_environment) as server, _window(chromium) as context:
        yield VoilaPage(server, context, "notebooks")


def _window(browser: Browser) -> BrowserContext:
    return browser.new_context(viewport={"width": 1300, "height": 1000})


@pytest.fixture(scope="module")
def browse(tmp_path_factory: pytest.TempPathFactory) -> OnePage:
    """Return a browser for one page at a time."""
    return OnePage(tmp_path_factory.mktemp("profile"), tmp_path_factory.mktemp("pages"))
