"""Corrections by hand: on record, checked like a car file, taken back whole."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from evidence_files import LATER, MAY, NOW, file_of, line

from valuation.errors import EvidenceError
from valuation.evidence.corrections import (
    fix_sale,
    history,
    in_force,
    restore_sale,
    set_aside_sale,
)
from valuation.evidence.fixes import fixed_values
from valuation.evidence.opening import reading, writing
from valuation.evidence.sales_in import ImportResult, import_sales
from valuation.evidence.workspace import Workspace, workspace_at
from valuation.records import SalesBook


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Workspace, str]:
    """Return a workspace with a batch of four sales and a row that is none, and its name."""
    path = tmp_path_factory.mktemp("made") / "may.csv"
    path.write_text(file_of(*MAY, line(5, price=0)), encoding="utf-8")
    there = workspace_at(path.with_name("firm"), {}, make=True)
    done = import_sales(there, [path], who="Ada", now=NOW).files[0].batch
    assert done is not None
    return there, done.batch


@pytest.fixture
def workspace(made: tuple[Workspace, str], tmp_path: Path) -> Workspace:
    """Return a copy of the workspace."""
    return Workspace(Path(shutil.copytree(made[0].root, tmp_path / "firm")))


@pytest.fixture
def batch(made: tuple[Workspace, str]) -> str:
    """Return the name of its batch."""
    return made[1]


def decide(workspace: Workspace, act: Callable[..., Any], *of: Any, reason: str = "why not") -> Any:
    with writing(workspace, who="Bo", now=LATER) as con:
        return act(con, *of, reason=reason, who="Bo", now=LATER)


def test_every_decision_stays_on_record(
    workspace: Workspace, batch: str, book: Callable[..., SalesBook]
) -> None:
    key = f"{batch}:2"
    before = book().table
    decide(workspace, set_aside_sale, key, reason="a replica")
    decide(workspace, fix_sale, key, {"price": "40.500 €", "mileage": "TMU"}, reason="catalogue")
    decide(workspace, fix_sale, key, {"price": "40,750"}, reason="corrected catalogue")
    with reading(workspace) as con:
        told = history(con, key)
        now = in_force(con)
    assert [c.summary() for c in told] == [
        "2024-07-02 17:00  Bo: set aside (a replica)",
        "2024-07-02 17:00  Bo: price = 40.500 € (catalogue)",
        "2024-07-02 17:00  Bo: mileage_status = TMU (catalogue)",
        "2024-07-02 17:00  Bo: price = 40,750 (corrected catalogue)",
    ]
    assert set(now.set_aside) == {key}
    assert {n: f.value for n, f in now.fixes[key].items()} == {
        "price": 40_750.0,
        "mileage_status": "unknown",
    }
    decide(workspace, restore_sale, key, reason="the first list was right")
    with reading(workspace) as con:
        assert len(history(con, key)) == 5
        assert in_force(con) == type(now)()
    assert book().table.equals(before)
    assert told[1].to_dict() == {
        "moment": "2024-07-02T17:00:00+00:00",
        "who": "Bo",
        "action": "fix",
        "field": "price",
        "value": 40_500.0,
        "stated": "40.500 €",
        "reason": "catalogue",
    }


@pytest.mark.parametrize(
    ("act", "of", "said"),
    [
        (
            set_aside_sale,
            ("abc:2",),
            "sale abc:2: there is no such sale. Name it as batch:row, such as 1f60af764346:12.",
        ),
        (
            set_aside_sale,
            ("{batch}:6",),
            "sale {batch}:6: this row was set aside when its file was read and never became a "
            "sale. Put the file right and read it in again.",
        ),
        (restore_sale, ("{batch}:2",), "sale {batch}:2: no correction of it is in force."),
        (
            fix_sale,
            ("{batch}:2", {"price": "-3", "year": "3000", "color": "red"}),
            "sale {batch}:2: 3 entries are wrong: price has to be one amount above zero in EUR, "
            "such as 41250 (got: -3); year has to be a number from 1885 to 2100 (got: 3000); "
            "color has to be one of the names sale_date, price, basis,",
        ),
    ],
)
def test_what_makes_no_sense_is_refused(
    workspace: Workspace, batch: str, act: Callable[..., Any], of: tuple[Any, ...], said: str
) -> None:
    named = [o.format(batch=batch) if isinstance(o, str) else o for o in of]
    with pytest.raises(EvidenceError) as caught:
        decide(workspace, act, *named)
    assert str(caught.value).startswith(said.format(batch=batch))
    with reading(workspace) as con:
        assert con.execute("SELECT count(*) FROM corrections").fetchall() == [(0,)]


def test_once_is_enough_and_needs_a_reason(workspace: Workspace, batch: str) -> None:
    with pytest.raises(EvidenceError) as caught:
        decide(workspace, set_aside_sale, f"{batch}:2", reason=" ")
    assert str(caught.value) == (
        f"sale {batch}:2: a correction needs a reason. Say why with --reason."
    )
    decide(workspace, set_aside_sale, f"{batch}:2", reason="a replica")
    with pytest.raises(EvidenceError) as caught:
        decide(workspace, set_aside_sale, f"{batch}:2")
    assert str(caught.value) == f"sale {batch}:2: it is set aside already (got: a replica)."


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ({"price": "41.250,00 €"}, {"price": 41_250.0}),
        ({"sale_date": "14 June 2024"}, {"sale_date": date(2024, 6, 14)}),
        ({"outcome": "bid to"}, {"outcome": "not sold"}),
        ({"reserve": "not stated"}, {"reserve": "not stated"}),
        ({"venue": "Plumbline Lots"}, {"venue": "Plumbline Lots"}),
        ({"chassis": "not stated"}, {"chassis": None}),
        ({"mileage": "48,200 miles"}, {"mileage": 48_200.0}),
        ({"documents": "bills; build record"}, {"documents": ("bills", "build record")}),
        ({"documents": "none"}, {"documents": ()}),
        ({"documents": "not stated"}, {"documents": None}),
        ({"colour": "Guards Red"}, {"colour": "red"}),
        ({"transmission": "4-speed manual"}, {"transmission": "manual", "gears": 4.0}),
        ({"condition_grade": "63"}, {"condition_grade": 63.0}),
    ],
)
def test_what_is_typed_is_read_as_in_a_car_file(
    typed: dict[str, str], read: dict[str, Any]
) -> None:
    found = fixed_values(typed, currency="EUR", where="sale x")
    assert {name: value for name, (value, _) in found.items()} == read
    assert {stated for _, stated in found.values()} == set(typed.values())


@pytest.mark.parametrize(
    ("typed", "allowed"),
    [
        ({"price": "41250 USD"}, "one amount above zero in EUR, such as 41250"),
        ({"price": "not stated"}, "one amount above zero in EUR, such as 41250"),
        ({"price": "nothing"}, "one amount above zero in EUR, such as 41250"),
        ({"sale_date": "3/4/2024"}, "a day such as 2025-06-14"),
        ({"sale_date": "some day"}, "a day such as 2025-06-14"),
        ({"basis": "net"}, "one of hammer price, hammer price plus buyer's premium, asking price"),
        ({"year": "not stated"}, "a number from 1885 to 2100"),
        ({"make": ""}, 'some text, or "not stated"'),
        ({"venue": " "}, 'some text, or "not stated"'),
        ({"currency": "USD"}, "one of the names sale_date"),
        ({"sale_id": "7"}, "one of the names sale_date"),
        ({"condition_grade": "163"}, "a number from 0 to 100 points"),
        ({"engine_originality": "mint"}, "one of numbers-matching"),
    ],
)
def test_what_is_not_allowed_is_named(typed: dict[str, str], allowed: str) -> None:
    ((name, got),) = typed.items()
    with pytest.raises(EvidenceError) as caught:
        fixed_values(typed, currency="EUR", where="sale x")
    said = str(caught.value)
    assert said.startswith(f"sale x: one entry is wrong: {name} has to be {allowed}")
    # Of a name that nobody may fix, the name is what came.
    came = name if name in ("currency", "sale_id") else got.strip()
    assert said.endswith(f"(got: {came}). Correct it.")


def test_nothing_is_typed() -> None:
    with pytest.raises(EvidenceError) as caught:
        fixed_values({}, currency="EUR", where="sale x")
    assert str(caught.value) == "sale x: nothing is fixed. Name a value."


def test_amounts_of_an_unnamed_currency_take_any(workspace: Workspace) -> None:
    found = fixed_values({"price": "41250 USD"}, currency="XXX", where="sale x")
    assert found == {"price": (41_250.0, "41250 USD")}


def test_a_correction_lasts_while_its_batch_is_away(
    workspace: Workspace,
    batch: str,
    book: Callable[..., SalesBook],
    write: Callable[..., Path],
    read_in: Callable[..., ImportResult],
) -> None:
    decide(workspace, fix_sale, f"{batch}:2", {"price": "40500"})
    read_in(write("june.csv", [line(30, day="2024-06-20")]), now=NOW)
    assert sorted(book().table["price"])[-3:] == [40_500, 41_000, 52_000]
