"""JupyterLab and single pages in a browser, started once for each module that asks for them."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from chromium import QUIET, find_chromium
from lab import Lab
from lab_server import LabServer
from one_page import OnePage
from playwright.sync_api import sync_playwright

ROOT = Path(__file__).parents[2]
COPIED = ("notebooks", "data_synthetic")


# Not for the whole session: while the browser is driven, its event loop holds this thread, and
# tests elsewhere run loops of their own.
@pytest.fixture(scope="module")
def lab(
    tmp_path_factory: pytest.TempPathFactory, user_environment: dict[str, str]
) -> Iterator[Lab]:
    """Return JupyterLab on a copy of the notebooks and their data, in a browser."""
    root = tmp_path_factory.mktemp("files")
    for folder in COPIED:
        shutil.copytree(ROOT / folder, root / folder)
    state = tmp_path_factory.mktemp("jupyter")
    with LabServer(root, state, user_environment) as server, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=find_chromium(), args=list(QUIET))
        context = browser.new_context(viewport={"width": 1300, "height": 1000})
        yield Lab(server, context, "notebooks")
        browser.close()


@pytest.fixture(scope="module")
def browse(tmp_path_factory: pytest.TempPathFactory) -> OnePage:
    """Return a browser for one page at a time."""
    return OnePage(tmp_path_factory.mktemp("profile"), tmp_path_factory.mktemp("pages"))
