"""A reader sees the old file or the whole new one."""

from __future__ import annotations

import errno
import io
import os
import stat
import zipfile
from datetime import datetime
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook

from valuation.errors import ValuationError
from valuation.files import without_clock, write_in_one_step


def test_the_file_holds_what_was_written(tmp_path: Path) -> None:
    target = tmp_path / "page.html"
    assert write_in_one_step(str(target), b"new", what="page") == target
    assert target.read_bytes() == b"new"
    assert list(tmp_path.iterdir()) == [target]


def test_missing_folders_are_made(tmp_path: Path) -> None:
    target = write_in_one_step(tmp_path / "a" / "b" / "page.html", b"new", what="page")
    assert target.read_bytes() == b"new"


def test_the_old_file_is_replaced(tmp_path: Path) -> None:
    target = tmp_path / "page.html"
    target.write_bytes(b"old and longer")
    write_in_one_step(target, b"new", what="page")
    assert target.read_bytes() == b"new"


@pytest.mark.parametrize("step", ["fsync", "chmod", "replace"])
def test_when_writing_fails_the_old_file_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    target = tmp_path / "page.html"
    target.write_bytes(b"old")

    def fail(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os if step == "fsync" else Path, step, fail)
    with pytest.raises(ValuationError) as caught:
        write_in_one_step(target, b"new", what="page")
    monkeypatch.undo()
    assert str(caught.value) == (
        f"{target}: the page can't be written there (got: No space left on device). "
        "Name a file in a folder you may write to."
    )
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_a_stop_in_the_middle_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "page.html"
    target.write_bytes(b"old")

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stop)
    with pytest.raises(KeyboardInterrupt):
        write_in_one_step(target, b"new", what="page")
    monkeypatch.undo()
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_a_folder_of_that_name_is_in_the_way(tmp_path: Path) -> None:
    target = tmp_path / "page.html"
    target.mkdir()
    with pytest.raises(ValuationError, match="a folder has that name") as caught:
        write_in_one_step(target, b"new", what="model")
    assert str(caught.value) == (
        f"{target}: the model can't be written there (got: a folder has that name). "
        "Name a file in a folder you may write to."
    )
    assert list(tmp_path.iterdir()) == [target]


def test_a_file_where_a_folder_should_be(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"a file")
    with pytest.raises(ValuationError, match="the page can't be written there"):
        write_in_one_step(tmp_path / "a" / "page.html", b"new", what="page")
    assert (tmp_path / "a").read_bytes() == b"a file"


def test_others_may_read_it_as_any_new_file(tmp_path: Path) -> None:
    usual = tmp_path / "usual"
    usual.write_bytes(b"")
    made = write_in_one_step(tmp_path / "page.html", b"new", what="page")
    assert stat.S_IMODE(made.stat().st_mode) == stat.S_IMODE(usual.stat().st_mode)


def test_a_workbook_says_nothing_of_the_clock() -> None:
    def saved(hour: int) -> bytes:
        book = Workbook()
        book.properties.created = book.properties.modified = datetime(2025, 6, 14, hour)  # noqa: DTZ001
        out = io.BytesIO()
        book.save(out)
        return out.getvalue()

    assert without_clock(saved(9)) == without_clock(saved(10))
    with zipfile.ZipFile(io.BytesIO(without_clock(saved(9)))) as parts:
        assert {p.date_time for p in parts.infolist()} == {(2000, 1, 1, 0, 0, 0)}
        assert {p.compress_type for p in parts.infolist()} == {zipfile.ZIP_STORED}
    assert load_workbook(io.BytesIO(without_clock(saved(9)))).sheetnames == ["Sheet"]
