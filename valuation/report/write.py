"""The one place where a report touches a disk."""

from __future__ import annotations

import importlib
import os
from pathlib import Path

from valuation.files import page_kind, write_in_one_step
from valuation.report.page import Page
from valuation.report.render import render_page

__all__ = ["write_page"]


def write_page(page: Page | str, path: str | os.PathLike[str]) -> Path:
    """Write a page in one step: a reader sees the old file or the whole new one.

    Parameters
    ----------
    page : Page or str
        The page; or what it became as HTML, which can't become a PDF.
    path : path-like
        Where to write: to a name that ends with ``.pdf`` a PDF for sheets of A4, else HTML;
        missing folders are made.

    Returns
    -------
    pathlib.Path
        The file that was written.

    Raises
    ------
    ValuationError
        If the place can't be written to, or nothing can be written under its ending.
    """
    return write_in_one_step(path, _content(page, path), what="page")


def _content(page: Page | str, path: str | os.PathLike[str]) -> bytes:
    if isinstance(page, str):
        page_kind(path, kinds=("html",))
        return page.encode()
    if page_kind(path) == "html":
        return render_page(page).encode()
    # What makes PDFs is loaded only when one is asked for.
    return bytes(importlib.import_module("valuation.report.pdf").render_pdf(page))
