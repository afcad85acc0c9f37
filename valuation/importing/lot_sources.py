"""Where the lots of a catalogue stand: a table, a text, a mail and what hangs on it, a PDF."""

from __future__ import annotations

import csv
import io
import os
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from valuation.errors import LotFileError, ValuationError
from valuation.importing.files import decode, find_delimiter, raw_tables, unpacked
from valuation.importing.lot_html import html_text
from valuation.importing.lot_mail import looks_like_mail, mail_parts
from valuation.importing.lot_pdf import pdf_text
from valuation.importing.lot_placed import known_names, placed_records
from valuation.importing.lot_text import TEXT_MAP, text_table
from valuation.importing.raw import RawTable, make_table
from valuation.importing.source_map import SourceMap

__all__ = ["PASTED", "LotSource", "lot_sources"]

PASTED = "pasted text"
"""Name of a text that came without a file."""

MOST_BYTES = 64_000_000
"""Bytes from which on a file is no catalogue."""

_MOST_UNPACKED = 512_000_000
_MOST_TEXT = 8_000_000
_LEAST_NAMES = 2
_DEEPEST = 2
_TABLES = (".csv", ".tsv", ".xlsx", ".xlsm")
_FILES = (*_TABLES, ".txt", ".eml", ".pdf", ".htm", ".html", ".gz", ".xls", ".msg", ".docx")
_PICTURES = (b"\xff\xd8\xff", b"\x89PNG", b"GIF8", b"II*\x00", b"MM\x00*", b"BM")
_OLD_OFFICE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"


@dataclass(frozen=True)
class LotSource:
    """One way in which lots may be read from what was given.

    Parameters
    ----------
    name : str
        Name of the file or part for people.
    tables : tuple of RawTable
        Its tables.
    given : SourceMap or None
        How they are read, where that is known; otherwise it is recognised.
    notes : tuple of str
        What was noticed, in sentences.
    body : bool
        Whether it is the body of a mail, which counts only where no attachment holds lots.
    """

    name: str
    tables: tuple[RawTable, ...]
    given: SourceMap | None = None
    notes: tuple[str, ...] = ()
    body: bool = False


def _is_path(given: str) -> bool:
    """Tell whether a text names a file: one that is there, or one of a kind that is read."""
    if "\n" in given or len(given) > 1000 or not given.strip():
        return False
    if given.lower().endswith(_FILES):
        return True
    try:
        return Path(given).is_file()
    except (OSError, ValueError):
        return False


def _content(path: Path) -> bytes:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise _too_large(path.name)
        return path.read_bytes()
    except (OSError, ValueError) as error:
        raise LotFileError(
            path.name,
            "it can't be read",
            got=getattr(error, "strerror", None) or type(error).__name__,
            remedy="Check the name and that the file is whole",
        ) from error


def _too_large(name: str) -> LotFileError:
    return LotFileError(
        name,
        "it is too large for a catalogue",
        remedy=f"Choose a file of at most {MOST_BYTES // 1_000_000} MB",
    )


def _check_packed(name: str, data: bytes) -> None:
    """Refuse a workbook that unpacks to far more than a catalogue holds."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            size = sum(i.file_size for i in packed.infolist())
    except (zipfile.BadZipFile, ValueError, OSError):
        return
    if size > _MOST_UNPACKED:
        raise _too_large(name)


def _text_sources(
    name: str, text: str, kind: str = "", named: frozenset[str] = frozenset()
) -> list[LotSource]:
    """Read a text as a table if it names columns, else lot by lot."""
    if len(text) > _MOST_TEXT:
        raise _too_large(name)
    tabs = [line.split("\t") for line in text.split("\n")]
    if sum(len(cells) > 1 for cells in tabs) >= _LEAST_NAMES:
        table = make_table(name, tabs)
        if _names_columns(table, named):
            return [LotSource(name, (table,))]
    try:
        tables = raw_tables(name, text.encode(), what="lots")
    except ValuationError:
        tables = []
    if tables and _names_columns(tables[0], named):
        return [LotSource(name, tuple(tables))]
    try:
        return [LotSource(name, (text_table(name, text),), TEXT_MAP)]
    except LotFileError:
        if kind in _TABLES and tables:
            return [LotSource(name, tuple(tables))]
        raise


def _names_columns(table: RawTable, named: frozenset[str]) -> bool:
    """Tell whether the first row of a table names columns: known ones, or one of a map."""
    names = [str(c) for c in table.cells.columns]
    known = bool(named & set(names)) or known_names(names) >= _LEAST_NAMES
    return known and not table.cells.empty


def _pdf_sources(name: str, data: bytes) -> list[LotSource]:
    """Read a PDF in every way: the one in which most lots are found counts."""
    text = pdf_text(name, data)
    out: list[LotSource] = []
    records = placed_records(text.placed)
    if records:
        out.append(LotSource(name, (make_table(name, records),), notes=text.notes))
    problem: LotFileError | None = None
    for way in dict.fromkeys((text.running, text.placed)):
        try:
            out.append(LotSource(name, (text_table(name, way),), TEXT_MAP, text.notes))
        except LotFileError as error:
            problem = error
    if not out and problem:
        raise problem
    return out


def _mail_sources(name: str, data: bytes, depth: int, named: frozenset[str]) -> list[LotSource]:
    parts = mail_parts(name, data)
    out: list[LotSource] = []
    problems: list[ValuationError] = []

    def add(read: Callable[[], list[LotSource]], *, body: bool) -> None:
        try:
            out.extend(replace(s, body=body or s.body) for s in read())
        except ValuationError as error:
            problems.append(error)

    for file, content in parts.attachments:
        add(partial(_sources, f"{name}, {file}", content, named, depth + 1), body=False)
    for text in (parts.plain, html_text(parts.html) if parts.html else ""):
        if text.strip():
            add(partial(_text_sources, name, text, "", named), body=True)
    if not out:
        raise problems[0] if problems else LotFileError(name, "no lot stands in the mail")
    said = tuple(f"Not read: {p}" for p in problems if p.where != name)
    return [replace(out[0], notes=(*out[0].notes, *said)), *out[1:]]


def _sources(name: str, data: bytes, named: frozenset[str], depth: int = 0) -> list[LotSource]:
    """Return every way in which the content of a file may be read."""
    data = unpacked(name, data, most=_MOST_UNPACKED)
    kind = Path(name.lower().removesuffix(".gz")).suffix
    if not data.strip():
        raise LotFileError(name, "it is empty", remedy="Choose a file with lots in it")
    if data.startswith(_PICTURES):
        raise LotFileError(
            name,
            "it is a picture",
            remedy="Have it put through text recognition, or ask the house for a spreadsheet",
        )
    if data.startswith(_OLD_OFFICE):
        raise LotFileError(
            name,
            "it is of an old kind that can't be read",
            remedy="Save it as .xlsx, or a mail as .eml",
        )
    if b"%PDF-" in data[:1024]:
        return _pdf_sources(name, data)
    if data.startswith(b"PK\x03\x04"):
        _check_packed(name, data)
        return [LotSource(name, tuple(raw_tables(name, data, what="lots")))]
    if kind == ".eml" or (kind not in _TABLES and looks_like_mail(data)):
        if depth > _DEEPEST:
            raise LotFileError(name, "mails within mails go too deep", remedy="Save the inner one")
        return _mail_sources(name, data, depth, named)
    text = decode(data)[0].replace("\x00", "")
    if kind in (".htm", ".html") or text.lstrip()[:200].lower().startswith(("<!doctype", "<html")):
        return _text_sources(name, html_text(text), "", named)
    if kind in _TABLES:
        return _table_sources(name, data, text, kind, named)
    return _text_sources(name, text, "", named)


def _table_sources(
    name: str, data: bytes, text: str, kind: str, named: frozenset[str]
) -> list[LotSource]:
    """Read a file of cells; one whose first row names no columns is read as text."""
    tables = raw_tables(name, data, what="lots")
    if _names_columns(tables[0], named):
        return [LotSource(name, tuple(tables))]
    cut = csv.reader(io.StringIO(text, newline=""), delimiter=find_delimiter(text))
    return _text_sources(name, "\n".join("\t".join(cells) for cells in cut), kind)


def lot_sources(
    path_or_text: str | os.PathLike[str], given: SourceMap | None = None
) -> Iterator[LotSource]:
    """Return every way in which lots may be read from a file or a text.

    Parameters
    ----------
    path_or_text : str or path-like
        A file, or the text itself.
    given : SourceMap, optional
        A map whose columns tell a table from a text.

    Returns
    -------
    iterator of LotSource
        One, or several of which the one with most lots counts.

    Raises
    ------
    LotFileError
        If nothing in it can be read.
    """
    named = frozenset(c for u in (given.uses if given else ()) for c in u.columns)
    if isinstance(path_or_text, str) and not _is_path(path_or_text):
        if not path_or_text.strip():
            raise LotFileError(PASTED, "it is empty", remedy="Paste the lots, one a line")
        yield from _text_sources(PASTED, path_or_text, "", named)
        return
    path = Path(path_or_text)
    yield from _sources(path.name, _content(path), named)
