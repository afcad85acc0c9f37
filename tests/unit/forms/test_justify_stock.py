"""The cars a salesperson can choose from: named by what they are, and still in stock."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from valuation.errors import CarFileError
from valuation.forms.justify_stock import Stock, cars_of, offered
from valuation.records import Car
from valuation.results.ledger import CarMark, Ledger, StockCar, StockEvent

MAKES = {"Torvane": ("GT",)}
ROOT = Path(__file__).parents[3] / "data_synthetic"
DAY = date(2025, 3, 1)


def car(colour: str = "blue", chassis: str = "") -> Car:
    values = {"year": 1968.0, "make": "Torvane", "model": "GT", "body": "coupe", "colour": colour}
    return Car(values, chassis=chassis, label="cheap, from the widow", title="BARGAIN!! Torvane")


def in_ledger(stock: str, chassis: str, *, sold: bool = False) -> StockCar:
    events = [StockEvent("bought", date(2025, 1, 7), Decimal("31250.50"), "EUR")]
    if sold:
        events.append(StockEvent("sold", date(2025, 2, 7), Decimal(48000), "EUR"))
    mark = CarMark(stock, chassis, "Torvane", "GT", 1968)
    return StockCar(mark, tuple(events), DAY)


def test_the_files_of_the_synthetic_market_become_cars() -> None:
    cars, unread = cars_of([ROOT / "cars", ROOT / "sheets"], known_makes=MAKES)
    assert unread == ()
    assert [name for name, _ in cars] == [
        "incomplete", "ordinary", "outside", "rare", "tribute", "unseen_model",
        "clean", "contradicted", "half_seen",
    ]  # fmt: skip
    names = [entry.name for entry in offered(cars)]
    assert "1968 Torvane GT Standard coupe, blue" in names
    assert names == sorted(names)
    assert len(set(names)) == 9


def test_a_name_says_what_the_car_is_and_nothing_that_was_written_about_it() -> None:
    blue, same, red = offered([("a", car()), ("widow", car()), ("c", car("red"))])
    assert blue.name == "1968 Torvane GT coupe, blue (1)"
    assert same.name == "1968 Torvane GT coupe, blue (2)"
    assert red.name == "1968 Torvane GT coupe, red"


def test_cars_alike_in_all_words_get_one_more() -> None:
    alike = [
        replace(car(), values={**car().values, "genuineness": word, "mileage": 61_300.0})
        for word in ("tribute", "claimed, not documented")
    ]
    names = {entry.name for entry in offered([("a", alike[0]), ("b", alike[1])])}
    assert names == {
        "1968 Torvane GT coupe, blue, tribute",
        "1968 Torvane GT coupe, blue, claimed, not documented",
    }


def test_a_ledger_leaves_the_cars_that_are_in_stock() -> None:
    cars = [
        ("by chassis", car("blue", "TO 68-1")),
        ("S-17", car("red")),
        ("gone", car("green", "TO68-3")),
        ("a stranger's", car("white", "TO68-4")),
    ]
    ledger = Ledger(
        (
            in_ledger("S-12", "TO68-1"),
            in_ledger("S-17", "TO68-2"),
            in_ledger("S-18", "TO68-3", sold=True),
        ),
        DAY,
    )
    found = offered(cars, ledger)
    assert [entry.name for entry in found] == [
        "1968 Torvane GT coupe, blue, stock S-12",
        "1968 Torvane GT coupe, red, stock S-17",
    ]
    assert [entry.stock and entry.stock.mark.stock for entry in found] == ["S-12", "S-17"]
    # By that number what the firm paid for it is found, and kept out of all that is shown.
    assert Stock(found).named(found[1].name).car == replace(cars[1][1], chassis="TO68-2")


def test_a_car_bought_again_is_the_one_in_stock() -> None:
    ledger = Ledger((in_ledger("S-1", "TO68-1", sold=True), in_ledger("S-9", "TO68-1")), DAY)
    (entry,) = offered([("x", car(chassis="TO68-1"))], ledger)
    assert entry.stock is not None
    assert entry.stock.mark.stock == "S-9"


def test_files_that_are_no_cars_are_told_by_name(tmp_path: Path) -> None:
    (tmp_path / "good.toml").write_text('title = "1968 Torvane GT Coupe"')
    (tmp_path / "empty.toml").write_text("")
    (tmp_path / "torn.xlsx").write_bytes(b"no workbook")
    (tmp_path / "~$open.xlsx").write_bytes(b"a note of who has it open")
    (tmp_path / "photo.jpg").write_bytes(b"")
    cars, unread = cars_of([tmp_path], known_makes=MAKES)
    assert [name for name, _ in cars] == ["good"]
    assert unread == ("empty.toml", "torn.xlsx")


def test_cars_of_one_name_in_two_folders_are_two(tmp_path: Path) -> None:
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "lot.toml").write_text('title = "1968 Torvane GT Coupe"')
    cars, _ = cars_of([tmp_path / "a", tmp_path / "b"], known_makes=MAKES)
    assert [name for name, _ in cars] == ["lot", "lot"]


def test_a_missing_folder_is_told_without_its_place(tmp_path: Path) -> None:
    with pytest.raises(CarFileError) as told:
        cars_of([tmp_path / "nowhere"], known_makes=MAKES)
    assert str(told.value) == (
        "nowhere: there is no such folder of cars. Name the folder in which the car files lie."
    )
