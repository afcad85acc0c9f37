"""The cars that a salesperson can choose from, named by what they are."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from valuation.appraisal.wordings import say
from valuation.errors import CarFileError, ValuationError
from valuation.importing.car_file import read_car
from valuation.importing.repeats import chassis_key
from valuation.inspection.inspection import read_sheet
from valuation.inspection.settings import InspectionSettings
from valuation.reading.text import compact
from valuation.records import Car
from valuation.results.ledger import Ledger, StockCar
from valuation.selling.own_stock import known_by
from valuation.selling.sheet_words import heading_of, shown_words

__all__ = ["OfferedCar", "Stock", "car_words", "cars_of", "offered"]

CAR_FILE, SHEET_FILE = ".toml", ".xlsx"
"""Endings of car files and of filled inspection sheets."""

_APART = ("genuineness", "transmission", "engine_size", "mileage")
"""What is said of cars that are alike in all else, the first that tells them apart."""

_READ = (CAR_FILE, SHEET_FILE)


@dataclass(frozen=True)
class OfferedCar:
    """A car that a customer may be shown.

    Parameters
    ----------
    name : str
        What it is, never words of an advert or the name of a file; differs from all others.
    car : Car
        The car, with its chassis number from the ledger where its file has none.
    stock : StockCar or None
        What the ledger knows of it; None without a ledger.
    """

    name: str
    car: Car
    stock: StockCar | None = None


@dataclass(frozen=True)
class Stock:
    """The cars to choose from.

    Parameters
    ----------
    cars : tuple of OfferedCar
        In the order of their names.
    unread : tuple of str
        Names of the files of which no car could be made.
    """

    cars: tuple[OfferedCar, ...]
    unread: tuple[str, ...] = ()

    def named(self, name: str) -> OfferedCar:
        """Return the car with a name."""
        return next(entry for entry in self.cars if entry.name == name)


def car_words(car: Car) -> str:
    """Say what a car is: year, make, model, variant, body, colour.

    Examples
    --------
    >>> car_words(Car({"year": 1968.0, "make": "Torvane", "model": "GT", "colour": "blue"}))
    '1968 Torvane GT, blue'
    """
    cells = {**car.values, "chassis": car.chassis}
    colour = shown_words(str(car.values.get("colour", "")), cells)
    return ", ".join(words for words in (heading_of(cells), colour) if words)


def cars_of(
    folders: Iterable[str | Path],
    *,
    known_makes: Mapping[str, tuple[str, ...]],
    inspection: InspectionSettings | None = None,
) -> tuple[tuple[tuple[str, Car], ...], tuple[str, ...]]:
    """Read every car file and every filled inspection sheet of some folders.

    Parameters
    ----------
    folders : iterable of path-like
        Where they lie.
    known_makes : mapping of str to tuple of str
        Models by make, from a fitted model.
    inspection : InspectionSettings, optional
        Zones and components; those that come with the package without it.

    Returns
    -------
    cars : tuple of (str, Car)
        Each behind the name of its file without the ending.
    unread : tuple of str
        Names of the files of which no car could be made.

    Raises
    ------
    CarFileError
        If one of the folders isn't there.
    """
    cars: list[tuple[str, Car]] = []
    unread: list[str] = []
    for path in _files(folders):
        try:
            if path.suffix.lower() == SHEET_FILE:
                car = read_sheet(path, inspection).to_car()
            else:
                car = read_car(path, known_makes=known_makes)
            cars.append((path.stem, car))
        except ValuationError:
            unread.append(path.name)
    return tuple(cars), tuple(unread)


def _files(folders: Iterable[str | Path]) -> Iterator[Path]:
    for folder in map(Path, folders):
        if not folder.is_dir():
            raise CarFileError(
                folder.name,
                "there is no such folder of cars",
                remedy="Name the folder in which the car files lie",
            )
        # A spreadsheet program keeps a note beside a workbook that is open in it.
        yield from sorted(
            path
            for path in folder.iterdir()
            if path.suffix.lower() in (CAR_FILE, SHEET_FILE)
            and not path.name.startswith(("~", "."))
        )


def offered(
    cars: Iterable[tuple[str, Car]], ledger: Ledger | None = None, *, others: bool = False
) -> tuple[OfferedCar, ...]:
    """Return the cars that can be chosen, each with a name of its own.

    Parameters
    ----------
    cars : iterable of (str, Car)
        Each behind the name of its file.
    ledger : Ledger, optional
        The firm's stock: with it only those of its cars are offered that are not sold.  A car is
        known by its chassis number, or by a file that is named as its stock number.
    others : bool, default False
        True to return the cars that are none of these as well.

    Returns
    -------
    tuple of OfferedCar
        In the order of their names; those that are alike in all words get one more word, or a
        number.
    """
    known = ((car, _stock_of(ledger, name, car)) for name, car in cars)
    found = [
        OfferedCar(_with_number(car, stock), known_by(car, stock), stock)
        for car, stock in known
        if others or ledger is None or stock is not None
    ]
    return tuple(_told_apart(sorted(found, key=lambda entry: entry.name)))


def _stock_of(ledger: Ledger | None, name: str, car: Car) -> StockCar | None:
    chassis = chassis_key(car.chassis, car.values.get("make", ""))
    for stock in reversed(ledger.cars if ledger else ()):
        mark = stock.mark
        same = bool(chassis) and chassis == chassis_key(mark.chassis, mark.make)
        if stock.in_stock and (same or (mark.stock and compact(mark.stock) == compact(name))):
            return stock
    return None


def _with_number(car: Car, stock: StockCar | None) -> str:
    number = stock.mark.stock if stock else ""
    return f"{car_words(car)}, stock {number}" if number else car_words(car)


def _told_apart(found: Sequence[OfferedCar]) -> Iterator[OfferedCar]:
    """Give cars that are alike in all words one more word, or a number where there is none."""
    for name in dict.fromkeys(entry.name for entry in found):
        alike = [entry for entry in found if entry.name == name]
        if len(alike) == 1:
            yield alike[0]
            continue
        more = (_said(alike, attribute) for attribute in _APART)
        numbers = [f"({i})" for i in range(1, len(alike) + 1)]
        for entry, word in zip(alike, next((m for m in more if m), numbers), strict=True):
            yield replace(entry, name=f"{name} {word}" if word in numbers else f"{name}, {word}")


def _said(alike: Sequence[OfferedCar], attribute: str) -> list[str]:
    """Return what the cars are in one respect; nothing if that does not tell them apart."""
    words = [say(attribute, entry.car.values) for entry in alike]
    return words if len(set(words)) == len(words) and "not stated" not in words else []
