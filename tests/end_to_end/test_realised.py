"""A buyer's month: a bid is kept, the lot is won and sold, and the next bid learns from it."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from subprocess import CompletedProcess
from typing import Any

import pytest

Run = Callable[..., CompletedProcess[str]]


@pytest.fixture
def firm(tmp_path: Path, data: Path) -> Path:
    """Return a firm's folder: an empty workspace, cost settings, a lot."""
    (tmp_path / "ws").mkdir()
    shutil.copy(data / "costs.toml", tmp_path / "costs.toml")
    shutil.copy(data / "cars" / "ordinary.toml", tmp_path / "lot112.toml")
    return tmp_path


def told(done: CompletedProcess[str]) -> dict[str, Any]:
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_what_was_said_is_held_against_the_sale_and_corrects_the_next_bid(
    run: Run, model: Path, firm: Path
) -> None:
    place = ("--workspace", firm / "ws")
    named = ("--costs", firm / "costs.toml", "--model", model)
    asked = ("bid", firm / "lot112.toml", *named, "--json")
    kept = ("--log", "--by", "Ada", "--as-lot", "112", "--own-figure", "41000")
    before = told(run(*asked, *kept, *place))
    resale, today = before["resale"], datetime.now().astimezone().date()
    brought = round(resale["central"] * 0.6)
    chassis = re.search(r'chassis = "(.+)"', (firm / "lot112.toml").read_text(encoding="utf-8"))
    assert chassis is not None
    (firm / "ledger.csv").write_text(
        "Datum;Lagernummer;Vorgang;Betrag;Preisart;Bemerkung;Kanal;Los;Fahrgestellnummer;Marke\n"
        f"{today};H-7;Ankauf;21.500,00 EUR;hammer;;Auktion;112;{chassis[1]};Torvane\n"
        f"{today};H-7;Kosten;1.250,40 EUR;;Lackierung;;;;\n"
        f"{today};H-7;Verkauf;{brought},00 EUR;;;Showroom;;;\n"
        f"{today};H-8;Verlosung;1 EUR;;;;;;\n",
        encoding="utf-8",
    )
    read = told(run("ledger", "import", firm / "ledger.csv", *place, "--json"))["files"][0]
    assert (read["batch"]["rows"], read["batch"]["set_aside"]) == (4, 1)
    assert [f["code"] for f in read["set_aside"][0]["faults"]] == ["unknown event"]
    assert told(run("said", "collect", *place, "--json"))["new"] == 1
    record = ("--won-record", firm / "won.csv", "--page", firm / "realised.html")
    found = told(run("realised", *place, *record, "--json"))
    (pair,) = found["pairs"]
    assert (pair["by"], pair["own_figure"], pair["matched_by"]) == ("Ada", "41000", "chassis")
    assert pair["said_id"] == before["said"]
    assert pair["margin"]["realised"] == f"{brought - 21500 - 1250.40:.2f}"
    assert pair["margin"]["parts"] == ["work"]
    assert found["accuracy"][0]["ratio"] is None
    assert "one pair only, too few for a figure" in (firm / "realised.html").read_text("utf-8")
    costs = (firm / "costs.toml").read_text(encoding="utf-8")
    assert "[winning]" in costs
    corrected = costs.replace("[winning]", '[winning]\nrecord = "won.csv"')
    (firm / "costs.toml").write_text(corrected, encoding="utf-8")
    after = told(run(*asked))["resale"]
    assert "1 purchase on record brought" in after["winning_source"]
    assert after["winning_percent"] < resale["winning_percent"]
    assert after["central"] < resale["central"]
