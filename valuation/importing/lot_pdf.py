"""The text of a PDF: as it runs, and as it stands on the page, where columns show."""

from __future__ import annotations

import io
import logging
import re
import zlib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import pypdf
from pypdf.errors import PyPdfError

from valuation.errors import LotFileError
from valuation.importing.lot_text import begins_lot

__all__ = ["PdfText", "pdf_text"]

MOST_PAGES = 500
"""Pages from which on a file is no catalogue."""

_MOST_SIGNS = 8_000_000
_LEAST_SIGNS = 20
_EDGE = 3
# A damaged file makes its reader fail in any of these ways.
_BROKEN = (
    PyPdfError, ValueError, KeyError, TypeError, IndexError, AttributeError, OSError, EOFError,
    RecursionError, NotImplementedError, ArithmeticError, AssertionError, MemoryError, zlib.error,
    UnicodeError,
)  # fmt: skip


@dataclass(frozen=True)
class PdfText:
    """The text of a PDF without headings and page numbers that come back on its pages.

    Parameters
    ----------
    running : str
        Its text in the order of the file.
    placed : str
        Its lines as they stand on the page; wide gaps are those between columns.
    notes : tuple of str
        What was noticed, in sentences.
    """

    running: str
    placed: str
    notes: tuple[str, ...]


def _refuse(name: str, problem: str, remedy: str, got: str = "") -> LotFileError:
    return LotFileError(name, problem, got=got, remedy=remedy)


def _open(name: str, data: bytes) -> pypdf.PdfReader:
    try:
        reader = pypdf.PdfReader(io.BytesIO(data), strict=False)
        # Many files are locked against changes only, and open without a password.
        locked = reader.is_encrypted and not reader.decrypt("")
        pages = 0 if locked else len(reader.pages)
    except _BROKEN as error:
        if "ncrypt" in str(error) or "AES" in str(error):
            raise _locked(name) from error
        raise _refuse(
            name,
            "it is no PDF that can be opened",
            "Ask for the file again, or for a spreadsheet",
            type(error).__name__,
        ) from error
    if locked:
        raise _locked(name)
    if not pages or pages > MOST_PAGES:
        raise _refuse(
            name,
            "it has no page" if not pages else "it has too many pages for a catalogue",
            f"Choose a PDF of 1 to {MOST_PAGES} pages",
            f"{pages} pages",
        )
    return reader


def _locked(name: str) -> LotFileError:
    return _refuse(
        name,
        "the PDF is encrypted",
        "Open it and print it into a new PDF without a password, or ask for a spreadsheet",
    )


def _pages(name: str, reader: pypdf.PdfReader) -> tuple[list[str], list[str], int]:
    """Return the text of each page in both ways, and how many pages could not be read."""
    running, placed, failed, signs = [], [], 0, 0
    for page in reader.pages:
        try:
            one = page.extract_text()
            other = page.extract_text(extraction_mode="layout", layout_mode_space_vertically=False)
        except _BROKEN:
            failed += 1
            continue
        running.append(one)
        placed.append(other)
        signs += len(one) + len(other)
        if signs > _MOST_SIGNS:
            raise _refuse(name, "it holds too much text for a catalogue", "Split it into parts")
    return running, placed, failed


def _without_furniture(pages: Sequence[str]) -> tuple[str, list[str]]:
    """Join pages without the lines that come back at their edges; return these too."""
    masked: Counter[str] = Counter()
    cut = [[line.rstrip() for line in page.split("\n") if line.strip()] for page in pages]
    for lines in cut:
        masked.update({_mask(line) for line in [*lines[:_EDGE], *lines[-_EDGE:]]})
    often = {m for m, n in masked.items() if n > 1 and n > 0.5 * len(cut)}
    out: list[str] = []
    left: list[str] = []
    for i, lines in enumerate(cut):
        last = len(lines) - _EDGE
        for j, line in enumerate(lines):
            # The first page keeps its heading: it may be that of the columns.
            edge = (j < _EDGE and i > 0) or j >= max(last, _EDGE)
            (left if edge and _mask(line) in often else out).append(line)
    return "\n".join(out), left


def _mask(line: str) -> str:
    """Return a line with its numbers made alike, unless it can be part of a lot."""
    plain = " ".join(line.split())
    words = re.findall(r"[^\W\d_]{2,}", plain)
    year = re.search(r"(?<!\d)(?:18[89]|19\d|20[0-3])\d(?!\d)", plain)
    of_lot = begins_lot(plain) or (year and len(words) > 1)
    return plain if of_lot else re.sub(r"\d+", "#", plain)


def pdf_text(name: str, data: bytes) -> PdfText:
    """Return the text of a PDF.

    Parameters
    ----------
    name : str
        Name of the file for messages.
    data : bytes
        Its content.

    Raises
    ------
    LotFileError
        If it is locked, damaged, too large, or a scan without text.
    """
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)
    reader = _open(name, data)
    running, placed, failed = _pages(name, reader)
    read = sum(len("".join(page.split())) for page in running)
    if failed and not running:
        raise _refuse(
            name, "no page of it can be read", "Ask for the file again, or for a spreadsheet"
        )
    if read < _LEAST_SIGNS * max(1, len(running)) ** 0.5:
        raise _refuse(
            name,
            "it holds no text, only pictures of pages (a scan)",
            "Have it put through text recognition, ask the house for a spreadsheet, or type the "
            "lots into a table",
            f"{read} signs on {len(running)} pages",
        )
    notes = []
    if failed:
        notes.append(f"{name}: pages that can't be read: {failed}.")
    text, left = _without_furniture(running)
    if left:
        notes.append(
            f"{name}: lines that come back on its pages and are not read: {len(left)} (such as "
            f'"{" ".join(left[0].split())[:60]}").'
        )
    return PdfText(text, _without_furniture(placed)[0], tuple(notes))
