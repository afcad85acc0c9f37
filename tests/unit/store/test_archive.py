"""An archive is whole and unchanged, or it is refused in one sentence."""

from __future__ import annotations

import io
import json
import os
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from valuation.errors import ModelFileError, ValuationError
from valuation.store.archive import FORMAT, read_archive, write_archive

ARRAYS: dict[str, np.ndarray[Any, Any]] = {
    "floats": np.array([[0.5, -1.25], [np.pi, 1e300]]),
    "small": np.arange(4, dtype=np.float32),
    "codes": np.array([3, -1, 2], dtype=np.int64),
    "none": np.zeros((0, 5)),
}
PLAIN = {"words": {"make": ["Torvane", "Ombrecq"], "n": 3, "nothing": None}, "list": [1, "é"]}
ABOUT = {"made_by": "a test"}
REFUSED = (
    "the model is damaged or was changed, and is not used (got: {}). Fit it again, or take the "
    "copy it came from."
)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return write_archive(tmp_path / "a.model", arrays=ARRAYS, plain=PLAIN, about=ABOUT)


def refusal(path: Path) -> str:
    """Return the sentence with which a file is refused."""
    with pytest.raises(ModelFileError) as caught:
        read_archive(path)
    return str(caught.value)


def repacked(path: Path, change: dict[str, bytes | None]) -> Path:
    """Write the archive again with some entries replaced, added or (None) left out."""
    with zipfile.ZipFile(path) as z:
        bodies: dict[str, bytes | None] = {n: z.read(n) for n in z.namelist()}
    bodies |= change
    other = path.with_name("b.model")
    with zipfile.ZipFile(other, "w", zipfile.ZIP_STORED) as z:
        for name, body in bodies.items():
            if body is not None:
                z.writestr(name, body)
    return other


def test_what_was_written_comes_back(path: Path) -> None:
    arrays, plain, manifest = read_archive(path)
    assert set(arrays) == set(ARRAYS)
    for name, array in ARRAYS.items():
        assert arrays[name].dtype == array.dtype
        assert np.array_equal(arrays[name], array)
    assert plain == PLAIN
    assert manifest["format"] == FORMAT == 2
    assert manifest["made_by"] == "a test"
    assert sorted(manifest["entries"]) == [
        "codes.npy", "floats.npy", "list.json", "none.npy", "small.npy", "words.json",
    ]  # fmt: skip


def test_the_same_content_gives_the_same_bytes(path: Path, tmp_path: Path) -> None:
    turned = dict(reversed(ARRAYS.items()))
    other = write_archive(tmp_path / "c.model", arrays=turned, plain=PLAIN, about=ABOUT)
    assert path.read_bytes() == other.read_bytes()


def test_no_pickle_is_in_it(path: Path) -> None:
    with zipfile.ZipFile(path) as z:
        for info in z.infolist():
            assert info.compress_type == zipfile.ZIP_STORED
            if info.filename.endswith(".npy"):
                np.load(io.BytesIO(z.read(info)), allow_pickle=False)
            elif info.filename != "seal":
                json.loads(z.read(info))


def test_objects_are_never_pickled(tmp_path: Path) -> None:
    boxed = np.array([{"a": 1}], dtype=object)
    with pytest.raises(ValueError, match="allow_pickle"):
        write_archive(tmp_path / "d.model", arrays={"x": boxed}, plain={}, about={})
    assert list(tmp_path.iterdir()) == []


@settings(
    max_examples=300,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(where=st.floats(0, 1, exclude_max=True), bits=st.integers(1, 255))
def test_a_changed_byte_is_refused(path: Path, where: float, bits: int) -> None:
    raw = bytearray(path.read_bytes())
    raw[int(where * len(raw))] ^= bits
    other = path.with_name("flipped.model")
    other.write_bytes(raw)
    assert refusal(other).startswith("flipped.model: the model ")


@pytest.mark.parametrize("share", [0.0, 0.001, 0.3, 0.9])
def test_a_cut_file_is_refused(path: Path, share: float) -> None:
    raw = path.read_bytes()
    cut = path.with_name("cut.model")
    cut.write_bytes(raw[: int(share * len(raw))])
    assert refusal(cut) == "cut.model: " + REFUSED.format("it is no model, or its end is missing")


def test_bytes_more_or_less_at_the_end_are_refused(path: Path) -> None:
    raw = path.read_bytes()
    other = path.with_name("other.model")
    for changed in (raw + b"\0", raw[:-1]):
        other.write_bytes(changed)
        assert refusal(other) == "other.model: " + REFUSED.format(
            "bytes outside its entries were changed or are missing"
        )


def test_another_kind_of_file_is_refused(tmp_path: Path) -> None:
    other = tmp_path / "sales.csv"
    other.write_text("make,price\nTorvane,1000\n")
    assert refusal(other) == "sales.csv: " + REFUSED.format("it is no model, or its end is missing")


def test_another_zip_file_is_refused(tmp_path: Path) -> None:
    other = tmp_path / "book.xlsx"
    with zipfile.ZipFile(other, "w") as z:
        z.writestr("sheet.xml", "<a/>")
    assert refusal(other).startswith("book.xlsx: the model is damaged or was changed")


def test_a_missing_file_is_named_with_its_folder(tmp_path: Path) -> None:
    absent = tmp_path / "absent.model"
    assert refusal(absent) == f"{absent}: there is no such file (got: nothing). Fit a model first."


def test_a_folder_is_no_model(tmp_path: Path) -> None:
    assert refusal(tmp_path) == (
        f"{tmp_path}: the model can't be read (got: Is a directory). Check the path."
    )


def test_a_newer_format_is_refused(path: Path) -> None:
    with zipfile.ZipFile(path) as z:
        manifest = json.loads(z.read("manifest.json"))
    newer = json.dumps({**manifest, "format": FORMAT + 1}).encode()
    assert refusal(repacked(path, {"manifest.json": newer})) == (
        "b.model: the model comes from a newer version of this program (got: format 3, this "
        "program reads up to 2). Update the program, or fit the model again with this one."
    )


def test_entries_added_or_left_out_are_refused(path: Path) -> None:
    for change in (
        {"more.json": b"{}"},
        {"words.json": None},
        {"seal": None},
        {"manifest.json": None},
    ):
        assert refusal(repacked(path, change)).startswith("b.model: the model is damaged")


def test_a_changed_entry_is_refused(path: Path) -> None:
    assert refusal(repacked(path, {"list.json": b"[2]"})).startswith(
        "b.model: the model is damaged"
    )


@pytest.mark.parametrize(
    "manifest", [b"", b"[]", b"{}", b'{"format":"x"}', b'{"format":null}', b"\xff"]
)
def test_a_foreign_manifest_is_refused(path: Path, manifest: bytes) -> None:
    assert refusal(repacked(path, {"manifest.json": manifest})).startswith(
        "b.model: the model is damaged"
    )


def test_the_old_file_is_whole_when_writing_fails(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = path.read_bytes()

    def full(fd: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(ValuationError) as caught:
        write_archive(path, arrays={}, plain={"new": 1}, about={})
    assert str(caught.value) == (
        f"{path}: the model can't be written there (got: No space left on device). Name a file "
        "in a folder you may write to."
    )
    assert path.read_bytes() == before
    assert list(path.parent.iterdir()) == [path]
