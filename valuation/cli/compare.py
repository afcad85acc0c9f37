"""``valuation compare``: why one car is dearer than another, and which is the better buy."""

from __future__ import annotations

from argparse import Namespace
from decimal import Decimal
from pathlib import Path

from valuation.appraisal.market import MarketModel
from valuation.cli.inputs import car_of, inspection_settings_of
from valuation.cli.output import print_json
from valuation.cli.own_car import stock_car_of
from valuation.errors import SettingsError
from valuation.importing.listing_car import car_of_listing, read_listing_text
from valuation.inspection.settings import InspectionSettings
from valuation.records import Car
from valuation.report.beside_page import beside_page
from valuation.report.write import write_page
from valuation.selling.beside import beside
from valuation.selling.own_stock import known_by, purchase_of
from valuation.store.modelfile import load_model

__all__ = ["run"]

_CAR_FILES = (".toml", ".xlsx")


def run(arguments: Namespace) -> None:
    """Load the model, read both cars, set them side by side, print the answer or its JSON."""
    _check(arguments)
    settings = inspection_settings_of(arguments)
    stock = stock_car_of(arguments) if arguments.stock else None
    market = load_model(arguments.model)
    found = beside(
        market,
        known_by(car_of(arguments.car, market.makes, settings), stock),
        _other(arguments.other, market, settings),
        our_price=_amount(arguments.asking),
        their_price=_amount(arguments.price),
        price_kind=arguments.price_kind or "asking",
        price_day=arguments.price_date,
        as_of=arguments.as_of,
        channel=arguments.channel,
        purchase=purchase_of(stock, market.currency),
    )
    page = write_page(beside_page(found), arguments.page) if arguments.page else None
    if arguments.json:
        print_json(found.to_dict())
        return
    print(found.summary())
    if page:
        print(f"Page to open: {page}")


def _check(arguments: Namespace) -> None:
    """Refuse what is said of a price that is not given."""
    if arguments.price is None:
        for name, value in (
            ("--price-kind", arguments.price_kind),
            ("--price-date", arguments.price_date),
        ):
            if value:
                raise SettingsError(
                    name,
                    "there is no price that it speaks of",
                    got=str(value),
                    remedy="Add --price N",
                )


def _other(path: str, market: MarketModel, settings: InspectionSettings) -> Car:
    """Read the other car: a car file, a filled sheet, or the words of an advert."""
    if Path(path).suffix.lower() in _CAR_FILES:
        return car_of(path, market.makes, settings)
    text = read_listing_text(path)
    return car_of_listing(text, known_makes=market.makes, where=Path(path).name)


def _amount(value: Decimal | None) -> float | None:
    return None if value is None else float(value)
