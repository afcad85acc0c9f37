"""Kill the command at any moment: the evidence and the published models stay whole."""

from __future__ import annotations

import math
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from commands import Commands
from killing import (
    SIGNS,
    Words,
    assert_readable,
    copied,
    faults,
    run_killed,
    run_watched,
    sales_in,
    state_of,
    tree,
)

from valuation.evidence.workspace import Workspace
from valuation.synthetic.files import csv_bytes, sales_cells
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

SHARES = (
    ("import", "at any time", 14),
    ("import", "while it writes", 16),
    ("refresh", "at any time", 8),
    ("refresh", "while it writes", 6),
    ("refresh", "while it publishes", 6),
)
"""Command, kind of moment, and its share of fifty kills."""

SETTINGS = """
[model]
assumptions = "none"
[study]
months = 1
[panel]
lines = 2
"""
NEW = ("new_1.csv", "new_2.csv")


@dataclass(frozen=True)
class Prepared:
    """A workspace with a published model, the next month's files, and what they end in."""

    base: Path
    inbox: Path
    commands: Commands

    def words(self, command: str, workspace: Workspace) -> Words:
        """Return the words of a command on the new files."""
        where = ("--workspace", workspace.root)
        if command == "refresh":
            return ("refresh", *where, "--inbox", self.inbox)
        return ("import", *(self.inbox / name for name in NEW), *where)


@pytest.fixture(scope="module")
def prepared(commands: Commands, tmp_path_factory: pytest.TempPathFactory) -> Prepared:
    folder = tmp_path_factory.mktemp("kill")
    base, inbox = folder / "base", folder / "inbox"
    inbox.mkdir()
    market = make_market(MarketSettings(sales=330, lines=2), seed=4)
    table = market.table
    for name, rows in (("history.csv", table[:250]), (NEW[0], table[250:290]),
                       (NEW[1], table[290:])):  # fmt: skip
        (inbox / name).write_bytes(csv_bytes(*sales_cells(rows)))
    history = folder / "history.csv"
    (inbox / "history.csv").replace(history)
    base.mkdir()
    (base / "settings.toml").write_text(SETTINGS, encoding="utf-8")
    for words in (("import", history, "--workspace", base), ("refresh", "--workspace", base)):
        done = commands.run(words, timeout=120, lean=True)
        assert done.returncode == 0, done.stderr
    return Prepared(base, inbox, commands)


@pytest.fixture
def trial(tmp_path: Path) -> Iterator[Path]:
    yield tmp_path
    shutil.rmtree(tmp_path)


@pytest.mark.parametrize(("command", "moment", "share"), SHARES)
def test_a_killed_run_leaves_all_or_nothing_and_the_next_one_ends_the_same(
    command: str,
    moment: str,
    share: int,
    prepared: Prepared,
    trial: Path,
    request: pytest.FixtureRequest,
) -> None:
    commands, sign = prepared.commands, SIGNS[moment]
    after = copied(prepared.base, trial / "after")
    code, spans = run_watched(commands, prepared.words(command, after), after, sign)
    assert code == 0, commands.err.read_text(encoding="utf-8")
    assert spans.count > 0
    before = Workspace(prepared.base)
    assert_moved(before, after, command)
    rng = np.random.default_rng([7, share, len(command), len(moment)])
    kills = math.ceil(share * request.config.getoption("--kills") / 50)
    killed, tries = 0, 0
    while killed < kills:
        tries += 1
        assert tries <= 3 * kills, "runs end before they are killed"
        place = copied(prepared.base, trial / f"killed-{tries}")
        words = prepared.words(command, place)
        if run_killed(commands, words, place, sign, spans, rng):
            killed += 1
            assert_between(place, before, after)
            done = commands.run(words, timeout=120, lean=True)
            assert done.returncode == 0, done.stderr
        else:  # the machine is quicker now than when the run was watched
            spans = spans.shorter()
        assert_same(place, after)
        shutil.rmtree(place.root)


def assert_moved(before: Workspace, after: Workspace, command: str) -> None:
    """Check that the command did what kills are to interrupt."""
    old, new = state_of(before), state_of(after)
    assert new.files - old.files == set(NEW)
    assert (old.version != new.version) == (command == "refresh")


def assert_between(place: Workspace, before: Workspace, after: Workspace) -> None:
    """Check that everything is as it was before or as it is after, and readable."""
    assert faults(place) == []
    old, now, new = state_of(before), state_of(place), state_of(after)
    assert old.files <= now.files <= new.files
    assert now.version in (old.version, new.version)
    for file in now.files:
        pd.testing.assert_frame_equal(sales_in(place, file), sales_in(after, file))
    assert_readable(place)
    whole = tree(after.published if now.version == new.version else before.published)
    mine = tree(place.published)
    left = {name for name in mine if name.startswith("versions/.")}
    pointed = f"versions/{now.version}/"
    assert {n: h for n, h in mine.items() if n.startswith(pointed)} == {
        n: h for n, h in whole.items() if n.startswith(pointed)
    }
    unpointed = set(mine) - left - set(whole)
    assert all(n.startswith(f"versions/{new.version}/") for n in unpointed)


def assert_same(place: Workspace, after: Workspace) -> None:
    """Check that a workspace ended as one whose run nobody killed."""
    assert faults(place) == []
    assert state_of(place) == state_of(after)
    for file in state_of(after).files:
        pd.testing.assert_frame_equal(sales_in(place, file), sales_in(after, file))
    assert tree(place.published) == tree(after.published)
    # What a killed run was reading may be left; nothing in that folder is needed.
    left = list(place.work.iterdir()) if place.work.is_dir() else []
    assert all(p.name.startswith("reading-") for p in left)
