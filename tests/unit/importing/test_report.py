from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from valuation.importing.faults import REMEDIES
from valuation.importing.report import check_report, write_rejects
from valuation.importing.sales import propose_map, read_sales

Writer = Callable[..., Path]
HEADER = ["Make", "Year", "Price", "Odometer", "Note"]
ROWS = [
    ["Kora", "1967", "€ 20,000", "41,000", "fine"],
    ["Kora", "1968", "€ 21,000", "42,000", "=SUM(A1)"],
    ["Kora", "", "n/s", "43,000", "@you"],
]


@pytest.fixture
def path(write_csv: Writer) -> Path:
    made: Path = write_csv(HEADER, ROWS)
    return made


def test_the_report_as_data(path: Path) -> None:
    report = check_report(read_sales(path), propose_map(path)).to_dict()
    assert json.loads(json.dumps(report)) == report
    assert report["format"] == 1
    assert (report["rows"], report["accepted"], report["rejected"]) == (3, 2, 1)
    assert report["reasons"] == {"no price": 1, "no year": 1}
    assert (report["currency"], report["dated"]) == ("EUR", False)
    columns = {c["understood_as"]: c for c in report["columns"]}
    assert columns["mileage"] == {
        "column": "Odometer",
        "understood_as": "mileage",
        "unit": "miles",
        "how": "name",
        "stated": 1.0,
        "examples": ["41,000", "42,000", "43,000"],
        "notes": ['"Odometer" states no unit and is read as miles.'],
    }
    assert columns["year"]["stated"] == 0.6667


def test_the_report_for_people(path: Path) -> None:
    text = str(check_report(read_sales(path), propose_map(path)))
    assert text.startswith("3 rows of offers without dates in EUR: 2 accepted, 1 set aside.\n")
    assert "        1  no price. Fill in the price, or leave the row out.\n" in text
    assert "  Odometer  mileage  100% stated, by name [miles]; such as 41,000, 42,000" in text
    assert '  - "Odometer" states no unit and is read as miles.' in text


def test_the_rows_set_aside_as_a_file(path: Path, tmp_path: Path) -> None:
    out = tmp_path / "rejects.csv"
    write_rejects(read_sales(path), out)
    with out.open(encoding="utf-8-sig", newline="") as file:
        written = list(csv.reader(file))
    assert written == [
        ["file", "row", "reasons", "what to do", *HEADER],
        [
            "sales.csv",
            "4",
            "no price in Price (n/s); no year",
            "Fill in the price, or leave the row out; Fill in the model year",
            "Kora",
            "",
            "n/s",
            "43,000",
            "'@you",
        ],
    ]
    assert not list(tmp_path.glob(".*"))


def test_every_remedy_is_an_instruction_without_a_full_stop() -> None:
    assert all(r and r[0].isupper() and not r.endswith(".") for r in REMEDIES.values())
