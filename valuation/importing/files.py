"""Files on disk to rows of text: CSV in any usual dress, plain or packed, and workbooks."""

from __future__ import annotations

import codecs
import csv
import gzip
import io
import re
import warnings
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import openpyxl
from charset_normalizer import from_bytes

from valuation.errors import SaleFileError
from valuation.importing.names import match_name
from valuation.importing.raw import RawTable, find_header, make_table

__all__ = ["decode", "find_delimiter", "read_raw"]

_BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_LATIN = (
    "latin",
    "iso8859",
    "iso-8859",
    "cp1250",
    "cp1252",
    "cp1254",
    "cp1257",
    "cp437",
    "cp85",
    "mac",
    "ascii",
    "cp775",
    "hp",
)
_LARGEST_CELL = 1_000_000
_WORKBOOKS = (".xlsx", ".xlsm")


def decode(data: bytes) -> tuple[str, str]:
    """Decode the bytes of a text file.

    Returns
    -------
    text : str
        The text.
    encoding : str
        Name of the encoding: a byte order mark decides, then UTF-8 if it fits, then what the
        distribution of letters says.
    """
    for mark, name in _BOMS:
        if data.startswith(mark):
            return data.decode(name), name
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        pass
    if data[1:2000:2].count(0) > 0.3 * len(data[1:2000:2]):
        return data.decode("utf-16-le"), "utf-16-le"
    guess = from_bytes(data[:200_000]).best()
    name = guess.encoding if guess else "cp1252"
    if name.replace("_", "-").startswith(_LATIN):
        western = data.decode("cp1252", errors="replace")
        # Central European letters, read as Western, turn into these signs within words.
        central = len(re.findall(r"[³¹][^\W\d_]|[^\W\d_][¹¿]", western))
        name = "cp1250" if central > 2 else "cp1252"
    return data.decode(name, errors="replace"), name


def find_delimiter(text: str) -> str:
    r"""Find what separates the cells: the sign that cuts most lines into the same number of parts.

    Examples
    --------
    >>> find_delimiter('a;b;c\\n"1,5";2;3\\n')
    ';'
    """
    lines = [line for line in text[:200_000].splitlines() if line.strip()][:200]
    best, best_score = ",", 0.0
    for sign in (",", ";", "\t", "|"):
        counts = [len(r) for r in csv.reader(lines, delimiter=sign) if r]
        wide = [c for c in counts if c > 1]
        if not wide:
            continue
        usual = max(set(wide), key=wide.count)
        score = wide.count(usual) / len(counts) * (1 + min(usual, 8) / 16)
        if score > best_score:
            best, best_score = sign, score
    return best


def _csv_records(path: Path, data: bytes) -> tuple[list[list[str]], list[str]]:
    text, encoding = decode(data)
    text = text.replace("\x00", "")
    first = text.split("\n", 1)[0].strip().lower()
    skipped = first.startswith("sep=") and len(first) <= 5
    delimiter = first[4:5] or "\t" if skipped else find_delimiter(text)
    csv.field_size_limit(_LARGEST_CELL)
    try:
        records = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))
    except csv.Error as error:
        raise SaleFileError(
            path.name, "it can't be cut into cells", got=str(error), remedy="Save it as CSV again"
        ) from error
    if skipped and records:
        records[0] = []
    notes = []
    if encoding not in ("utf-8", "utf-8-sig"):
        notes.append(f"{path.name}: the text is read as {encoding}.")
    if delimiter != ",":
        sign = "tabs" if delimiter == "\t" else f'"{delimiter}"'
        notes.append(f"{path.name}: cells are separated by {sign}.")
    return records, notes


def _cell_text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    if isinstance(value, datetime):
        return value.isoformat(" ") if value.time() != time() else value.date().isoformat()
    return value.isoformat() if isinstance(value, date) else str(value)


def _spread_merged(sheet: Any, records: list[list[str]]) -> int:
    """Copy the value of a merged cell that spans rows into each of them; return how many."""
    spread = 0
    for area in sheet.merged_cells.ranges:
        top, left = area.min_row - 1, area.min_col - 1
        if area.max_row > area.min_row and top < len(records) and left < len(records[top]):
            for i in range(top + 1, min(area.max_row, len(records))):
                records[i][left] = records[top][left]
                spread += 1
    return spread


def _sheets(path: Path, data: bytes) -> Iterator[tuple[str, list[list[str]], int]]:
    with warnings.catch_warnings():
        # Workbooks with drop-downs or themes it doesn't know make openpyxl warn; cells are fine.
        warnings.simplefilter("ignore", UserWarning)
        book = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
    for sheet in book.worksheets:
        if sheet.sheet_state != "visible":
            continue
        records = [[_cell_text(v) for v in r] for r in sheet.iter_rows(values_only=True)]
        yield sheet.title, records, _spread_merged(sheet, records)


def _likeness(records: list[list[str]]) -> tuple[int, int]:
    """Return how much a sheet looks like a list of sales: known column names, then cells."""
    header = records[find_header(records)[1]]
    known = sum(1 for c in header if (m := match_name(c)) and m[0].score >= 3)
    return known, sum(1 for row in records for c in row if c)


def _workbook(path: Path, data: bytes) -> RawTable:
    try:
        sheets = list(_sheets(path, data))
    except (zipfile.BadZipFile, KeyError, ValueError, OSError) as error:
        raise SaleFileError(
            path.name,
            "it is no workbook that can be opened",
            got=type(error).__name__,
            remedy="Open it in a spreadsheet and save it as .xlsx or CSV",
        ) from error
    full = [(t, r, s) for t, r, s in sheets if any(any(row) for row in r)]
    if not full:
        raise SaleFileError(path.name, "it holds no rows", remedy="Choose a file with sales in it")
    title, records, spread = max(full, key=lambda sheet: _likeness(sheet[1]))
    notes = []
    if len(full) > 1:
        notes.append(
            f"{path.name}: of {len(full)} sheets only the one most like a list of sales is read: "
            f"{title}."
        )
    if spread:
        notes.append(f"{path.name}: merged cells were written into each of their rows ({spread}).")
    return make_table(path.name, records, notes=notes)


def read_raw(path: str | Path) -> RawTable:
    """Read a file of sales as text cells under column names.

    Parameters
    ----------
    path : str or pathlib.Path
        ``.csv``, ``.txt``, ``.tsv``, ``.xlsx`` or ``.xlsm``, or one of them packed as ``.gz``.

    Returns
    -------
    RawTable
        The table as it came.

    Raises
    ------
    SaleFileError
        If the file is missing, empty or of another kind.
    """
    path = Path(path)
    try:
        data = path.read_bytes()
        if data[:2] == b"\x1f\x8b":
            data = gzip.decompress(data)
    except (OSError, EOFError) as error:
        raise SaleFileError(
            path.name,
            "it can't be read",
            got=getattr(error, "strerror", None) or type(error).__name__,
            remedy="Check the name and that the file is whole",
        ) from error
    if not data.strip():
        raise SaleFileError(path.name, "it is empty", remedy="Choose a file with sales in it")
    if data[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" or data[:4] in (b"%PDF", b"\x89PNG"):
        raise SaleFileError(
            path.name, "it is of a kind that can't be read", remedy="Save it as .xlsx or CSV"
        )
    if data[:4] == b"PK\x03\x04":
        table = _workbook(path, data)
    else:
        records, notes = _csv_records(path, data)
        table = make_table(path.name, records, notes=notes)
    if table.cells.empty:
        raise SaleFileError(
            path.name, "it holds no rows below its header", remedy="Choose a file with sales in it"
        )
    return table
