"""Versions in a folder: whole or not there at all."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from valuation.appraisal.market import MarketModel
from valuation.errors import ModelFileError, ValuationError
from valuation.store.modelfile import load_model, save_model
from valuation.store.published import (
    MODEL,
    Use,
    current_version,
    history,
    publish,
    published_versions,
    use_version,
    version_name,
)

FIRST = {MODEL: b"first", "decision.json": b'{"publish": true}'}
SECOND = {MODEL: b"second"}


def put(folder: Path, version: str, files: dict[str, bytes] = FIRST) -> None:
    publish(folder, version, files, by="Ada", reason="better")


def test_a_published_version_is_in_use_with_all_its_files(tmp_path: Path) -> None:
    put(tmp_path, "2024-05-31-aa")
    current = current_version(tmp_path)
    assert current is not None
    assert current.version == "2024-05-31-aa"
    assert current.model.read_bytes() == b"first"
    assert current.read("decision.json") == {"publish": True}
    assert current.read("study.json") == {}


def test_nothing_is_in_use_in_an_empty_folder(tmp_path: Path) -> None:
    assert current_version(tmp_path) is None
    assert history(tmp_path) == ()
    assert published_versions(tmp_path / "missing") == ()
    with pytest.raises(ModelFileError, match="no model is published in this folder"):
        load_model(tmp_path)


def test_the_old_one_can_be_put_back_and_the_record_says_so(tmp_path: Path) -> None:
    put(tmp_path, "2024-05-31-aa")
    put(tmp_path, "2024-06-30-bb", SECOND)
    back = use_version(tmp_path, "2024-05", by="Bo", reason="june misses")
    assert back.version == "2024-05-31-aa"
    assert current_version(tmp_path) == back
    assert [u.version for u in history(tmp_path)] == [
        "2024-05-31-aa", "2024-06-30-bb", "2024-05-31-aa",
    ]  # fmt: skip
    assert history(tmp_path)[-1] == Use("2024-05-31-aa", "Bo", "june misses")
    assert [p.version for p in published_versions(tmp_path)] == ["2024-05-31-aa", "2024-06-30-bb"]


@pytest.mark.parametrize(
    ("asked", "said"),
    [("2023", "there is no such version"), ("2024", "several versions begin so")],
)
def test_a_version_must_be_one(tmp_path: Path, asked: str, said: str) -> None:
    put(tmp_path, "2024-05-31-aa")
    put(tmp_path, "2024-06-30-bb", SECOND)
    with pytest.raises(ModelFileError, match=said):
        use_version(tmp_path, asked, by="", reason="")


def test_publishing_the_same_again_changes_nothing(tmp_path: Path) -> None:
    put(tmp_path, "2024-05-31-aa")
    before = (tmp_path / "current.json").read_bytes()
    put(tmp_path, "2024-05-31-aa")
    assert (tmp_path / "current.json").read_bytes() == before


def test_another_model_of_the_same_name_is_refused(tmp_path: Path) -> None:
    put(tmp_path, "2024-05-31-aa")
    with pytest.raises(ValuationError, match="another model was published under that name"):
        put(tmp_path, "2024-05-31-aa", SECOND)
    assert (
        current_version(tmp_path) or pytest.fail("nothing is in use")
    ).model.read_bytes() == b"first"


def test_what_a_killed_run_left_is_not_read_and_goes(tmp_path: Path) -> None:
    half = tmp_path / "versions" / ".2024-05-31-aa.x1"
    half.mkdir(parents=True)
    (half / MODEL).write_bytes(b"ha")
    assert published_versions(tmp_path) == ()
    put(tmp_path, "2024-05-31-aa")
    assert not half.exists()


def test_a_version_that_was_renamed_but_not_named_is_completed(tmp_path: Path) -> None:
    put(tmp_path, "2024-05-31-aa")
    (tmp_path / "current.json").unlink()
    put(tmp_path, "2024-05-31-aa")
    assert (
        current_version(tmp_path) or pytest.fail("nothing is in use")
    ).version == "2024-05-31-aa"


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b'{"version": 3}'])
def test_a_damaged_pointer_is_said_and_can_be_mended(tmp_path: Path, content: bytes) -> None:
    put(tmp_path, "2024-05-31-aa")
    (tmp_path / "current.json").write_bytes(content)
    with pytest.raises(ModelFileError, match="it can't be read"):
        current_version(tmp_path)
    use_version(tmp_path, "2024-05-31-aa", by="Ada", reason="mended")
    assert history(tmp_path) == (Use("2024-05-31-aa", "Ada", "mended"),)


def test_a_version_in_use_that_is_gone_is_said(tmp_path: Path) -> None:
    put(tmp_path, "2024-05-31-aa")
    (tmp_path / "versions" / "2024-05-31-aa" / MODEL).unlink()
    with pytest.raises(ModelFileError, match="the version in use is not there"):
        current_version(tmp_path)


def test_a_place_that_is_no_folder_is_said(tmp_path: Path) -> None:
    place = tmp_path / "published"
    place.write_text("a file")
    with pytest.raises(ValuationError, match="nothing can be published there"):
        put(place, "2024-05-31-aa")


def test_a_model_is_read_from_its_folder(tmp_path: Path, tiny_market: MarketModel) -> None:
    content = save_model(tiny_market, tmp_path / "a.model").read_bytes()
    version = version_name("2024-12-31", content)
    publish(tmp_path / "published", version, {MODEL: content}, by="", reason="")
    read = load_model(tmp_path / "published")
    assert read.summary() == tiny_market.summary()
    pointer = json.loads((tmp_path / "published" / "current.json").read_bytes())
    assert pointer["model"] == f"versions/{version}/market.model"
