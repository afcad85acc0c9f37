"""A workspace, and small files to read into it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from evidence_files import HEADER, NOW, file_of

from valuation.evidence.book import evidence_book
from valuation.evidence.opening import reading
from valuation.evidence.sales_in import ImportResult, import_sales
from valuation.evidence.workspace import Workspace, workspace_at
from valuation.records import SalesBook

Write = Callable[..., Path]
ReadIn = Callable[..., ImportResult]
Book = Callable[..., SalesBook]


@pytest.fixture
def workspace(tmp_path: Path) -> Workspace:
    """Return an empty workspace."""
    return workspace_at(tmp_path / "firm", {}, make=True)


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Return what writes a file of sales from its lines."""

    def file(name: str, lines: Sequence[str], header: str = HEADER) -> Path:
        path = tmp_path / name
        path.write_text(file_of(*lines, header=header), encoding="utf-8")
        return path

    return file


@pytest.fixture
def read_in(workspace: Workspace) -> ReadIn:
    """Return what reads files into the workspace."""

    def read(*files: Path, who: str = "Ada", now: datetime = NOW, **options: Any) -> ImportResult:
        return import_sales(workspace, files, who=who, now=now, **options)

    return read


@pytest.fixture
def book(workspace: Workspace) -> Book:
    """Return what reads the evidence as one book."""

    def read(as_of: date | None = None) -> SalesBook:
        with reading(workspace) as con:
            return evidence_book(con, as_of=as_of)

    return read
