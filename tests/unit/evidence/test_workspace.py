"""Which folder holds the evidence."""

from __future__ import annotations

from pathlib import Path

import pytest

from valuation.errors import EvidenceError, SettingsError
from valuation.evidence.workspace import ENVIRONMENT, workspace_at


def test_the_command_line_counts_before_the_environment(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    named = workspace_at(tmp_path / "a", {ENVIRONMENT: str(tmp_path / "b")})
    assert named.root == tmp_path / "a"
    assert workspace_at(None, {ENVIRONMENT: str(tmp_path / "b")}).root == tmp_path / "b"


def test_everything_lies_in_the_folder(tmp_path: Path) -> None:
    there = workspace_at(tmp_path / "firm" / "evidence", {}, make=True)
    assert there.root.is_dir()
    places = (
        there.database, there.lock, there.holder, there.journal, there.inbox, there.kept,
        there.said, there.published, there.settings, there.work,
    )  # fmt: skip
    assert len(set(places)) == 10
    assert all(p.parent == there.root for p in places)


def test_no_folder_is_named() -> None:
    with pytest.raises(SettingsError) as caught:
        workspace_at(None, {ENVIRONMENT: "  "})
    assert str(caught.value) == (
        "workspace: no folder of evidence is named. Name it with --workspace DIR or in the "
        "environment variable VALUATION_WORKSPACE."
    )


def test_the_folder_is_missing(tmp_path: Path) -> None:
    with pytest.raises(EvidenceError) as caught:
        workspace_at(tmp_path / "nowhere", {})
    assert str(caught.value) == (
        f"{tmp_path / 'nowhere'}: there is no such workspace. Check its name, or make it by "
        "reading in a first file: valuation import FILE."
    )


def test_a_file_is_no_workspace(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_text("x", encoding="utf-8")
    with pytest.raises(EvidenceError, match="it is no folder"):
        workspace_at(file, {})
    with pytest.raises(EvidenceError, match=r"the workspace can't be made there \(got: "):
        workspace_at(file / "below", {}, make=True)
