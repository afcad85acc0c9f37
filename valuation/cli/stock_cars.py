"""Car files of a stock: which file is which car of the ledger."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from valuation.cli.inputs import car_of
from valuation.errors import CarFileError, SettingsError, ValuationError
from valuation.importing.repeats import chassis_key
from valuation.inspection.settings_file import default_inspection_settings
from valuation.reading.text import compact
from valuation.records import Car
from valuation.results.ledger import StockCar

__all__ = ["cars_of_folder"]

_ENDINGS = (".toml", ".xlsx")


def cars_of_folder(
    folder: Path, stock: Sequence[StockCar], makes: Mapping[str, tuple[str, ...]]
) -> dict[str, Car]:
    """Read the car files and filled inspection sheets of a folder.

    Parameters
    ----------
    folder : pathlib.Path
        With a file for each car: named by its stock number, or with the chassis number that the
        ledger has.
    stock : sequence of StockCar
        Of the ledger.
    makes : mapping of str to tuple of str
        Known makes with their models.

    Returns
    -------
    dict of str to Car
        By stock number as the ledger writes it; files of no car of the ledger are passed over.

    Raises
    ------
    SettingsError
        If the folder can't be found.
    CarFileError
        If files can't be read; all of them are named.
    """
    if not folder.is_dir():
        raise SettingsError(
            "--cars", "there is no such folder", got=str(folder), remedy="Name one with car files"
        )
    by_number = {compact(c.mark.stock): c.mark.stock for c in stock if c.mark.stock}
    by_chassis = {
        chassis_key(c.mark.chassis, c.mark.make): c.mark.stock
        for c in stock
        if c.mark.stock and c.mark.chassis
    }
    found: dict[str, Car] = {}
    faults: list[str] = []
    for path in sorted(p for p in folder.iterdir() if p.suffix.lower() in _ENDINGS):
        try:
            car = car_of(str(path), makes, default_inspection_settings())
        except ValuationError as error:
            faults.append(str(error))
            continue
        chassis = chassis_key(car.chassis, str(car.values.get("make", ""))) if car.chassis else ""
        number = by_number.get(compact(path.stem)) or by_chassis.get(chassis)
        if number:
            found[number] = car
    if faults:
        raise CarFileError(
            folder.name,
            f"{len(faults)} of its car files can't be read",
            got=" / ".join(faults),
            remedy="Mend them, or take them out of the folder",
        )
    return found
