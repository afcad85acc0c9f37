"""``valuation bid``: the walk-away bid for one car, and why."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import replace
from pathlib import Path

from valuation.appraisal.batch import lacking
from valuation.bidding.costs import Costs
from valuation.bidding.costs_file import read_costs
from valuation.bidding.from_market import market_prospects
from valuation.bidding.prospect import stated_prospect
from valuation.bidding.resale_points import read_resale_points
from valuation.bidding.sheet import bid_sheet
from valuation.bidding.ways import unknown_venue, way_for, way_named
from valuation.cli.inputs import car_of, inspection_settings_of
from valuation.cli.logging_said import Log, log_of_arguments, said_car
from valuation.cli.output import print_json
from valuation.errors import CarFileError, SettingsError
from valuation.evidence.said_files import log_bid
from valuation.importing.car_file import read_car
from valuation.records import Car
from valuation.report.bid_page import bid_page
from valuation.report.write import write_page
from valuation.results.bid_sheet import BidSheet
from valuation.store.modelfile import load_model

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Read car, costs and model or stated amounts; print the bid sheet or its JSON."""
    costs = read_costs(arguments.costs)
    stated = arguments.resale_points is not None
    if stated == (arguments.model is not None):
        raise SettingsError(
            "valuation bid",
            "the resale comes either from a model or from stated amounts",
            got="both" if stated else "neither",
            remedy="Give --model PATH, or --resale-points FILE to check the arithmetic",
        )
    log = log_of_arguments(arguments, car=Path(arguments.car).name if arguments.car else "")
    car, sheet = _on_points(arguments, costs) if stated else _on_model(arguments, costs)
    page = write_page(bid_page(sheet), arguments.page) if arguments.page else None
    kept = _kept(arguments, log, car, sheet)
    if arguments.json:
        print_json(sheet.to_dict() | kept)
        return
    print(sheet.summary())
    if kept:
        print(f"Kept as: {kept['said']}")
    if page:
        print(f"Page to open: {page}")


def _kept(arguments: Namespace, log: Log | None, car: Car, sheet: BidSheet) -> dict[str, str]:
    """Keep what was said of a bid; return its identity, nothing if it is not to be kept."""
    if log is None:
        return {}
    return {
        "said": log_bid(
            log.folder,
            sheet,
            car=said_car(car, lot=arguments.as_lot, stock=arguments.stock),
            by=log.by,
            now=log.now,
            version=log.version,
            own_figure=log.own_figure,
        )
    }


def _on_points(arguments: Namespace, costs: Costs) -> tuple[Car, BidSheet]:
    """Return the sheet for stated resale amounts; a car file only names the car."""
    car = read_car(arguments.car) if arguments.car else Car({}, label="stated resale")
    sheet = bid_sheet(
        stated_prospect(read_resale_points(arguments.resale_points)),
        car=car.name,
        way=way_named(costs, arguments.way) if arguments.way else way_for(costs, car),
        costs=costs,
        as_of=arguments.as_of,
    )
    return car, sheet


def _on_model(arguments: Namespace, costs: Costs) -> tuple[Car, BidSheet]:
    if not arguments.car:
        raise SettingsError(
            "valuation bid", "no car is named", got="nothing", remedy="Name a car file or a sheet"
        )
    market = load_model(Path(arguments.model))
    inspection = inspection_settings_of(arguments)
    car = car_of(arguments.car, market.makes, inspection)
    (candidate,) = market_prospects(
        market, [car], costs, as_of=arguments.as_of, inspection=inspection
    )
    if candidate.brief is None:
        missing = " and ".join(lacking(candidate.car))
        raise CarFileError(
            Path(arguments.car).name,
            f"a car can't be valued without {missing}",
            got="nothing",
            remedy=f"State {missing}, or a title that tells",
        )
    sheet = bid_sheet(
        candidate.prospect,
        car=candidate.car.name,
        way=way_named(costs, arguments.way) if arguments.way else way_for(costs, car),
        costs=costs,
        as_of=arguments.as_of or market.as_of,
        preparation=candidate.preparation,
    )
    told = () if arguments.way else unknown_venue(costs, car)
    return candidate.car, replace(sheet, warnings=(*told, *sheet.warnings))
