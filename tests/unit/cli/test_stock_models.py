"""Which model stands for that of a month ago when the stock is reviewed."""

from __future__ import annotations

from argparse import Namespace
from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from valuation.cli import stock

VERSIONS = (
    "2024-10-31-0dd00000",
    "2024-11-30-0cc00000",
    "2024-12-20-0bb00000",
    "2024-12-31-0aa00000",
    "by hand",
)


@pytest.fixture
def published(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    found = [SimpleNamespace(version=v, model=tmp_path / v) for v in VERSIONS]
    monkeypatch.setattr(stock, "published_versions", lambda _: found)
    monkeypatch.setattr(stock, "load_model", lambda path: path)
    return tmp_path


def earlier(folder: Path, as_of: date | None, *, before: str | None = None) -> Any:
    market: Any = SimpleNamespace(as_of=as_of)
    return stock._earlier(Namespace(model=str(folder), before=before), market)


def test_it_is_the_newest_that_is_some_weeks_older(published: Path) -> None:
    assert earlier(published, date(2024, 12, 31)) == published / "2024-11-30-0cc00000"
    assert earlier(published, date(2024, 12, 20)) == published / "2024-11-30-0cc00000"
    assert earlier(published, date(2024, 12, 10)) == published / "2024-10-31-0dd00000"


def test_without_an_older_one_there_is_none(published: Path) -> None:
    assert earlier(published, date(2024, 11, 1)) is None
    assert earlier(published, None) is None
    assert earlier(published / "one.model", date(2024, 12, 31)) is None


def test_one_that_is_named_counts(published: Path) -> None:
    assert earlier(published, date(2024, 12, 31), before="mine.model") == Path("mine.model")
