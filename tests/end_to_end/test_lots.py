"""The invented catalogue of 200 lots, held line by line against what a reader has to make of it."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from valuation.importing.lot_changes import carry_notes, compare_lots
from valuation.importing.lot_list import LotList
from valuation.importing.lots import read_lots
from valuation.synthetic.lot_drawing import draw_lots
from valuation.synthetic.lots import LOTS, ON_FRIDAY
from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.settings import MarketSettings

FOLDER = Path(__file__).parents[2] / "data_synthetic"
Row = dict[str, str]


def rows_of(name: str) -> list[Row]:
    text = (FOLDER / name).read_text(encoding="utf-8")
    return list(csv.DictReader(io.StringIO(text)))


@pytest.fixture(scope="module")
def makes() -> dict[str, tuple[str, ...]]:
    seen: dict[str, set[str]] = {}
    for sale in rows_of("sales.csv"):
        seen.setdefault(sale["make"], set()).add(sale["model"])
    return {make: tuple(sorted(models)) for make, models in seen.items()}


@pytest.fixture(scope="module")
def read(makes: dict[str, tuple[str, ...]]) -> LotList:
    return read_lots(FOLDER / "lots.xlsx", known_makes=makes)


def test_every_row_has_the_outcome_and_the_reason_it_has_to_have(read: LotList) -> None:
    lots = {x.row: x for x in read.lots}
    aside = {s.row: s for s in read.set_aside}
    expected = rows_of("expected_lots.csv")
    assert read.rows == len(expected) == 200 == len(lots) + len(aside)
    for line in expected:
        row = int(line["row"])
        if line["outcome"] == "set aside":
            assert "; ".join(f.code for f in aside[row].faults) == line["reason"], line
        elif line["reason"]:
            assert [r for r in lots[row].remarks if line["reason"] in r], line
            assert len(lots[row].remarks) == 1, line
        else:
            assert lots[row].remarks == (), line
        if row in lots:
            assert lots[row].number == line["lot"], line


def test_nothing_about_the_file_is_odd(read: LotList) -> None:
    assert [n.split(":")[0] for n in read.notes] == [
        "lots.xlsx",
        '"My notes" is taken for your own notes',
        "Lots that share their number with another one",
    ]
    assert (read.currency, len({x.day for x in read.lots})) == ("EUR", 2)
    assert all(x.sale_date and x.venue == "Harbour Rooms" for x in read.lots)
    assert sum(bool(x.notes) for x in read.lots) == 4
    assert {x.reserve_kind for x in read.lots} == {"none", "yes", "not stated"}


@pytest.fixture(scope="module")
def market() -> SyntheticMarket:
    return make_market(MarketSettings(), seed=20_250_101)


def test_columns_and_words_come_back_as_they_were_stated(
    read: LotList, market: SyntheticMarket
) -> None:
    table = draw_lots(market, LOTS + 1, on_friday=ON_FRIDAY).table
    usual = {int(r["row"]): r for r in rows_of("expected_lots.csv") if not r["reason"]}
    wrong: list[tuple[str, str, Any, Any]] = []
    told = 0
    for lot in read.lots:
        if lot.row not in usual or usual[lot.row]["case"] not in ("", "sold before"):
            continue
        stated = table.iloc[lot.order - 1]
        values = dict(lot.car.values)
        for name in (
            "make", "model", "variant", "year", "body", "engine_size", "transmission", "gears",
            "colour", "condition_grade", "engine_originality", "restoration", "genuineness",
            "title_status", "documents", "history",
        ):  # fmt: skip
            want = stated[name]
            if want is None or want != want or name not in values:
                continue
            told += 1
            if values[name] != want:
                wrong.append((lot.number, name, values[name], want))
    assert told > 1500
    # A restoration documented with photographs adds these to the documents, and the name of a
    # version such as Ice Race reads as racing.
    assert len(wrong) <= 0.01 * told, wrong


def test_cars_sold_before_are_found_by_their_chassis(read: LotList) -> None:
    known = {s["chassis"] for s in rows_of("sales.csv")} - {""}
    rows = {int(r["row"]) for r in rows_of("expected_lots.csv") if r["case"] == "sold before"}
    assert {x.row for x in read.lots if x.car.chassis in known} == rows
    assert len(rows) == 5


def test_hard_cars_are_what_they_are(read: LotList) -> None:
    cases = {r["case"]: int(r["row"]) for r in rows_of("expected_lots.csv")}
    cars = {x.row: x.car for x in read.lots}
    assert cars[cases["a tribute"]].values["genuineness"] == "tribute"
    assert "engine_originality" not in cars[cases["contradicted in its own words"]].values
    assert cars[cases["a model never seen in the sales"]].name == "1966 Torvane Farthingale"
    formula = cars[cases["the title begins like a formula"]]
    assert formula.title.startswith("=SUM(1,2)")
    assert "make" in formula.values


def test_the_revised_list_has_five_changes_and_keeps_the_notes(
    read: LotList, makes: dict[str, tuple[str, ...]]
) -> None:
    revised = read_lots(FOLDER / "lots_revised.csv", known_makes=makes)
    changes = compare_lots(read, revised)
    assert sorted(c.kind for c in changes) == [
        "changed", "changed", "changed", "new", "withdrawn",
    ]  # fmt: skip
    said = " ".join(s for c in changes for s in c.sentences)
    for word in ("Estimate: now", "Reserve: now", "Mileage: now 48,700", "no longer in the list"):
        assert word in said
    kept = carry_notes(read, revised)
    assert [x.notes for x in kept.lots if x.notes] == [x.notes for x in read.lots if x.notes]


def test_the_same_catalogue_as_text_and_as_csv(
    read: LotList, makes: dict[str, tuple[str, ...]], tmp_path: Path
) -> None:
    sheet = openpyxl.load_workbook(FOLDER / "lots.xlsx").active
    assert sheet is not None
    cells = [["" if v is None else str(v) for v in r] for r in sheet.iter_rows(values_only=True)]
    path = tmp_path / "lots.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(cells)
    same = read_lots(path, known_makes=makes)
    assert [(x.number, dict(x.car.values), x.estimate, x.remarks) for x in same.lots] == [
        (x.number, dict(x.car.values), x.estimate, x.remarks) for x in read.lots
    ]
    lines = [
        f"Lot {x.number}  {x.car.title}, estimate {x.estimate}" + ", no reserve" * (i % 2)
        for i, x in enumerate(read.lots[:60])
        if x.car.title[:1].isalnum()
    ]
    pasted = read_lots("\n".join(lines), known_makes=makes)
    assert pasted.rows == len(lines)
    by_number = {x.number: x for x in read.lots}
    good = 0
    for lot in pasted.lots:
        twin = by_number[lot.number]
        assert (lot.estimate_low, lot.estimate_high) == (twin.estimate_low, twin.estimate_high)
        good += lot.car.values["make"] == twin.car.values["make"]
    assert good >= len(pasted.lots) - 1 > 50
