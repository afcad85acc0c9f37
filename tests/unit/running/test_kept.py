"""Finished parts are found again, and damaged ones are not believed."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from valuation.errors import ValuationError
from valuation.running.kept import Kept

ARRAYS = {
    "price": np.array([1.5, np.nan, -0.0]),
    "rows": np.arange(6).reshape(2, 3),
    "flag": np.array([True, False]),
    "word": np.array(["market level", "é"]),
    "one": np.asarray(0.25),
}


def test_what_is_kept_is_found_again(tmp_path: Path) -> None:
    kept = Kept(tmp_path / "work" / "parts")
    assert kept.load("abc") is None
    kept.save("abc", ARRAYS)
    found = Kept(tmp_path / "work" / "parts").load("abc")
    assert found is not None
    assert list(found) == list(ARRAYS)
    for name, array in ARRAYS.items():
        assert found[name].dtype == array.dtype
        assert np.array_equal(found[name], array, equal_nan=array.dtype.kind == "f")
    assert kept.load("abd") is None


@pytest.mark.parametrize("cut", [0, 10, 40, -1])
def test_a_file_cut_short_counts_as_none(tmp_path: Path, cut: int) -> None:
    kept = Kept(tmp_path)
    kept.save("abc", ARRAYS)
    (file,) = tmp_path.iterdir()
    file.write_bytes(file.read_bytes()[:cut])
    assert kept.load("abc") is None


def test_a_changed_file_counts_as_none(tmp_path: Path) -> None:
    kept = Kept(tmp_path)
    kept.save("abc", ARRAYS)
    (file,) = tmp_path.iterdir()
    content = bytearray(file.read_bytes())
    content[len(content) // 2] ^= 1
    file.write_bytes(bytes(content))
    assert kept.load("abc") is None


def test_a_folder_that_is_a_file_is_said(tmp_path: Path) -> None:
    (tmp_path / "parts").write_text("")
    with pytest.raises(ValuationError, match="result of a finished part can't be written"):
        Kept(tmp_path / "parts").save("abc", ARRAYS)
