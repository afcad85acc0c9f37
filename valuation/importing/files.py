"""Files on disk to rows of text: CSV in any usual dress, workbooks, Parquet, plain or packed."""

from __future__ import annotations

import codecs
import csv
import gzip
import io
import re
import zlib
from collections.abc import Iterator
from pathlib import Path

from charset_normalizer import from_bytes

from valuation.errors import SaleFileError
from valuation.importing.parquet import is_parquet, parquet_files, parquet_table
from valuation.importing.raw import RawTable, make_table
from valuation.importing.workbooks import workbook_tables

__all__ = ["decode", "find_delimiter", "raw_tables", "read_raw", "unpacked"]

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


def _cut(name: str, text: str, delimiter: str, *, skipped: bool) -> Iterator[list[str]]:
    """Yield the rows of a text; the first is empty if it only said what separates cells."""
    # Lines are taken from bytes: as text they would be held a second time, four bytes a sign.
    lines = io.TextIOWrapper(io.BytesIO(text.encode()), encoding="utf-8", newline="")
    try:
        for i, record in enumerate(csv.reader(lines, delimiter=delimiter)):
            yield [] if skipped and i == 0 else record
    except csv.Error as error:
        raise SaleFileError(
            name, "it can't be cut into cells", got=str(error), remedy="Save it as CSV again"
        ) from error


def _csv_records(name: str, data: bytes) -> tuple[Iterator[list[str]], list[str]]:
    text, encoding = decode(data)
    text = text.replace("\x00", "")
    first = text.split("\n", 1)[0].strip().lower()
    skipped = first.startswith("sep=") and len(first) <= 5
    delimiter = first[4:5] or "\t" if skipped else find_delimiter(text)
    csv.field_size_limit(_LARGEST_CELL)
    records = _cut(name, text, delimiter, skipped=skipped)
    notes = []
    if encoding not in ("utf-8", "utf-8-sig"):
        notes.append(f"{name}: the text is read as {encoding}.")
    if delimiter != ",":
        sign = "tabs" if delimiter == "\t" else f'"{delimiter}"'
        notes.append(f"{name}: cells are separated by {sign}.")
    return records, notes


def unpacked(name: str, data: bytes, *, most: int | None = None) -> bytes:
    """Unpack what is packed as ``.gz``, and return anything else as it is.

    Parameters
    ----------
    name : str
        Name of the file for messages.
    data : bytes
        Its content.
    most : int, optional
        Bytes from which on what comes out is too much.

    Raises
    ------
    SaleFileError
        If it is damaged or unpacks to too much.
    """
    if data[:2] != b"\x1f\x8b":
        return data
    try:
        with gzip.open(io.BytesIO(data)) as stream:
            out = stream.read() if most is None else stream.read(most + 1)
    except (OSError, EOFError, zlib.error) as error:
        raise _unreadable(name, error) from error
    if most is not None and len(out) > most:
        raise SaleFileError(
            name, "it unpacks to too much", remedy=f"Choose a file of at most {most:,} bytes"
        )
    return out


def _unreadable(name: str, error: Exception) -> SaleFileError:
    return SaleFileError(
        name,
        "it can't be read",
        got=getattr(error, "strerror", None) or type(error).__name__,
        remedy="Check the name and that the file is whole",
    )


def raw_tables(name: str, data: bytes, *, what: str = "sales") -> list[RawTable]:
    """Read the content of a file as text cells under column names.

    Parameters
    ----------
    name : str
        Name of the file for people.
    data : bytes
        Its content: a workbook, a Parquet file, or a table of text with any delimiter.
    what : str
        What the file should hold, for messages.

    Returns
    -------
    list of RawTable
        The table as it came; several where sheets of a workbook stand under one header.

    Raises
    ------
    SaleFileError
        If it is empty or of another kind.
    """
    other = f"Choose a file with {what} in it"
    if not data.strip():
        raise SaleFileError(name, "it is empty", remedy=other)
    if data[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" or data[:4] in (b"%PDF", b"\x89PNG"):
        raise SaleFileError(
            name, "it is of a kind that can't be read", remedy="Save it as .xlsx or CSV"
        )
    if data[:4] == b"PK\x03\x04":
        tables = workbook_tables(name, data, what=what)
    elif is_parquet(data):
        tables = [parquet_table(name, data)]
    else:
        records, notes = _csv_records(name, data)
        tables = [make_table(name, records, notes=notes)]
    full = [t for t in tables if not t.cells.empty]
    if not full:
        raise SaleFileError(name, "it holds no rows below its header", remedy=other)
    return full


def read_raw(path: str | Path) -> list[RawTable]:
    """Read a file of sales as text cells under column names.

    Parameters
    ----------
    path : str or pathlib.Path
        ``.csv``, ``.txt``, ``.tsv``, ``.xlsx``, ``.xlsm`` or ``.parquet``, or one of them packed
        as ``.gz``; or a folder of Parquet files.

    Returns
    -------
    list of RawTable
        The table as it came; several where sheets of a workbook hold sales under one header.

    Raises
    ------
    SaleFileError
        If the file is missing, empty or of another kind.
    """
    path = Path(path)
    if path.is_dir():
        return [table for file in parquet_files(path) for table in read_raw(file)]
    try:
        data = path.read_bytes()
    except OSError as error:
        raise _unreadable(path.name, error) from error
    return raw_tables(path.name, unpacked(path.name, data))
