"""``valuation price``: price cars and explain the prices."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from valuation.appraisal.appraise import appraise_all
from valuation.appraisal.market import MarketModel
from valuation.appraisal.named_variant import with_named_variant
from valuation.cli.inputs import car_of, inspection_settings_of
from valuation.cli.logging_said import Log, log_of_arguments, said_car
from valuation.cli.output import print_json
from valuation.errors import SettingsError
from valuation.evidence.said_files import log_valuation
from valuation.records import Car
from valuation.report.valuation_page import valuation_page
from valuation.report.write import write_page
from valuation.results.valuation import Valuation
from valuation.store.modelfile import load_model

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Load the model, read the cars, price them, print the answers or their JSON."""
    if arguments.page and len(arguments.cars) > 1:
        raise SettingsError(
            "--page",
            "one page shows one car",
            got=f"{len(arguments.cars)} cars",
            remedy="Price each car whose page you want by itself",
        )
    log = _log(arguments)
    market = load_model(arguments.model)
    inspection = inspection_settings_of(arguments)
    cars = [
        with_named_variant(market, car_of(path, market.makes, inspection))
        for path in arguments.cars
    ]
    valuations = appraise_all(market, cars, as_of=arguments.as_of)
    one = valuations[0] if len(valuations) == 1 else None
    page = write_page(valuation_page(one), arguments.page) if one and arguments.page else None
    kept = [_kept(arguments, log, market, car, v) for car, v in zip(cars, valuations, strict=True)]
    if arguments.json:
        told = [v.to_dict() | k for v, k in zip(valuations, kept, strict=True)]
        print_json(told[0] if one else {"valuations": told})
        return
    print("\n\n".join(v.summary() for v in valuations))
    for k in filter(None, kept):
        print(f"Kept as: {k['said']}")
    if page:
        print(f"Page to open: {page}")


def _log(arguments: Namespace) -> Log | None:
    """Return where to keep what will be said; a person's own figure is asked for first."""
    asked = {
        "--own-figure": arguments.own_figure is not None or arguments.ask_own_figure,
        "--stock": bool(arguments.stock),
        "--as-lot": bool(arguments.as_lot),
    }
    for_one = [name for name, given in asked.items() if given]
    if for_one and len(arguments.cars) > 1:
        raise SettingsError(
            for_one[0],
            "it is for one car",
            got=f"{len(arguments.cars)} cars",
            remedy="Price each car that you state it of by itself",
        )
    return log_of_arguments(arguments, car=Path(arguments.cars[0]).name)


def _kept(
    arguments: Namespace, log: Log | None, market: MarketModel, car: Car, valuation: Valuation
) -> dict[str, str]:
    """Keep what was said of a car; return its identity, nothing if it is not to be kept."""
    if log is None:
        return {}
    return {
        "said": log_valuation(
            log.folder,
            valuation,
            car=said_car(car, lot=arguments.as_lot, stock=arguments.stock),
            by=log.by,
            now=log.now,
            version=log.version,
            channel=market.sale_of(car.sale)["channel"],
            own_figure=log.own_figure,
        )
    }
