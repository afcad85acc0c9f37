"""The commands about evidence, from words to what they print."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from evidence_files import JUNE, MAY, file_of, line

from valuation.cli.command import main
from valuation.evidence.keep import batch_name, hash_of
from valuation.evidence.workspace import ENVIRONMENT

Say = Callable[..., str]


@pytest.fixture
def say(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Say:
    """Return what gives a command in a folder with two files and a workspace, and returns words."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv(ENVIRONMENT, str(tmp_path / "firm"))
    Path("may.csv").write_text(file_of(*MAY, line(5, price=0)), encoding="utf-8")
    Path("june.csv").write_text(file_of(*JUNE), encoding="utf-8")

    def give(*words: str, code: int = 0) -> str:
        assert main(words) == code
        printed = capsys.readouterr()
        return printed.err if code else printed.out

    return give


def name_of(file: str) -> str:
    return batch_name(hash_of(Path(file).read_bytes()))


def test_read_in_decide_correct_and_tell(say: Say) -> None:
    may, june = name_of("may.csv"), name_of("june.csv")
    assert say("import", "may.csv", "june.csv", "--by", "Ada").splitlines()[0] == (
        f"may.csv: read in as batch {may}: 5 rows, 4 accepted, 1 set aside."
    )
    assert "nothing added; it is batch" in say("import", "may.csv", "--by", "Bo")
    listed = say("batches").splitlines()
    assert [text[:12] for text in listed] == [may, june]
    assert listed == say("batches", "list").splitlines()
    shown = say("batches", "show", may[:7])
    assert f"{may}:6  price not above zero (0)" in shown
    assert "[columns.price]" in shown
    assert "held" in say("batches", "hold", june, "--reason", "odd", "--by", "Ada")
    assert "in use" in say("batches", "accept", june, "--reason", "looked at", "--by", "Ada")
    assert "undone" in say("batches", "undo", june, "--reason", "twice", "--by", "Ada")
    assert "in use" in say("batches", "restore", june, "--reason", "no", "--by", "Ada")
    key = f"{may}:2"
    fixed = say("sales", "fix", key, "mileage=48,200 km", "colour=red", "--reason", "photo")
    assert "mileage = 48,200 km (photo)" in fixed
    assert "set aside (a replica)" in say("sales", "set-aside", key, "--reason", "a replica")
    told = say("sales", "show", key)
    assert "It does not count: set aside by hand, a replica" in told
    assert "restore (after all)" in say("sales", "restore", key, "--reason", "after all")
    assert "It counts." in say("sales", "show", key)
    assert say("doctor").startswith("The evidence is whole.")


def test_everything_is_told_as_data_too(say: Say, tmp_path: Path) -> None:
    key = f"{name_of('may.csv')}:3"
    answers = [
        say("import", "may.csv", "june.csv", "--json"),
        say("batches", "--json"),
        say("batches", "show", name_of("may.csv"), "--json"),
        say("batches", "hold", name_of("june.csv"), "--reason", "odd", "--json"),
        say("sales", "fix", key, "colour=red", "--reason", "photo", "--json"),
        say("sales", "show", key, "--json"),
        say("doctor", "--save", "saved", "--rebuild", "--json"),
    ]
    data = [json.loads(text) for text in answers]
    assert all(next(iter(d)) == "format" for d in data)
    assert [f["outcome"] for f in data[0]["files"]] == ["new", "new"]
    assert [b["file"] for b in data[1]["batches"]] == ["may.csv", "june.csv"]
    assert data[2]["rows_set_aside"][0]["faults"][0]["code"] == "price not above zero"
    assert data[3]["status"] == "held"
    assert data[4]["corrections"][0]["value"] == "red"
    assert "colour" not in data[5]["read"]
    assert data[5]["corrections"][0]["field"] == "colour"
    assert (data[6]["whole"], data[6]["saved"]["tables"]["sales"]) == (True, 6)
    assert data[6]["rebuilt"]["lost"] == []
    assert (tmp_path / "saved" / "sales.parquet").exists()


def test_an_inbox_is_read_in_whole(say: Say, tmp_path: Path) -> None:
    inbox = tmp_path / "firm" / "inbox"
    assert "firm/inbox: there is no such inbox" in say("import", code=2)
    inbox.mkdir()
    assert say("import", code=2).endswith("the inbox is empty. Put files of sales into it.\n")
    for name in ("june.csv", "may.csv"):
        Path(name).rename(inbox / name)
    (inbox / ".hidden.csv").write_text("x", encoding="utf-8")
    (inbox / "notes.md").write_text("x", encoding="utf-8")
    read = [text.partition(":")[0] for text in say("import").splitlines() if "read in as" in text]
    assert read == ["june.csv", "may.csv"]
    say("batches", "undo", name_of(str(inbox / "may.csv")), "--reason", "twice")
    assert say("import", "--inbox", str(inbox)).count("nothing added") == 2
    assert "counts again as" in say("import", str(inbox / "may.csv"))


def test_a_workspace_may_be_named_before_and_behind_the_act(
    say: Say, monkeypatch: pytest.MonkeyPatch
) -> None:
    say("import", "may.csv")
    monkeypatch.delenv(ENVIRONMENT)
    one = say("batches", "--workspace", "firm")
    assert say("batches", "--workspace", "firm", "list") == one
    assert say("batches", "list", "--workspace", "firm") == one
    assert "no folder of evidence is named" in say("batches", code=2)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("import", "gone.csv"), "import: not every file could be read in (got: gone.csv). Each "),
        (("batches", "undo", "zzz", "--reason", "x"), "batch: there is no such batch (got: zzz)."),
        (("sales", "show", "zzz:1"), "batch: there is no such batch (got: zzz)."),
        (("sales", "fix", "zzz:1", "red", "--reason", "x"), "sales fix: an entry is no ATTRIBUTE="),
        (("batches", "--workspace", "nowhere"), "nowhere: there is no such workspace."),
    ],
)
def test_faults_are_sentences(say: Say, words: tuple[str, ...], said: str) -> None:
    say("import", "may.csv")
    assert say(*words, code=2).splitlines()[-1].startswith(f"valuation: {said}")


def test_a_damaged_store_is_code_2_until_it_is_made_again(say: Say) -> None:
    say("import", "may.csv", "--by", "Ada")
    Path("firm/evidence.duckdb").write_bytes(b"nothing" * 1_000)
    assert "the database is damaged" in say("batches", code=2)
    assert "firm: the evidence is not whole (got: The database can't be opened" in (
        say("doctor", code=2)
    )
    assert "Made again: batches 1, sales 4, entries of the journal 1." in say(
        "doctor", "--rebuild", "--by", "Ada"
    )
    assert say("doctor").startswith("The evidence is whole.")


def test_the_settings_of_the_workspace_count(say: Say, tmp_path: Path) -> None:
    (tmp_path / "firm").mkdir()
    (tmp_path / "firm" / "settings.toml").write_text(
        '[evidence]\ncurrency = "USD"\nrates = "rates.csv"\n', encoding="utf-8"
    )
    rates = "currency,date,rate\nEUR,2024-05-01,1.1\nEUR,2024-06-01,1.1\n"
    (tmp_path / "firm" / "rates.csv").write_text(rates, encoding="utf-8")
    done = json.loads(say("import", "may.csv", "--json"))
    assert done["currency"] == "USD"
    assert done["files"][0]["batch"]["accepted"] == 4


def test_somebody_has_to_do_it(say: Say) -> None:
    assert "user: nobody knows who gives this command" in say(
        "import", "may.csv", "--by", " ", code=2
    )
