"""``valuation chances``: chances of a sale beside the sales that came."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from valuation.cli.inputs import workspace_of_arguments
from valuation.cli.output import print_json
from valuation.cli.stock_cars import cars_of_folder
from valuation.cli.stock_known import day_of
from valuation.evidence.stock_known import stock_known
from valuation.refresh.stock_settings import segments_in, stock_settings
from valuation.report.chance_page import chance_page
from valuation.report.write import write_page
from valuation.stocking.chance_check import check_chances
from valuation.stocking.offered import offered_cars
from valuation.store.modelfile import load_model

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Read model and ledger; foretell every month from what was known; print, show or write it."""
    workspace = workspace_of_arguments(arguments)
    settings = stock_settings(arguments.settings, workspace)
    market = load_model(Path(arguments.model))
    day = day_of(arguments, market)
    ledger, said = stock_known(workspace, day)
    folder = arguments.cars
    cars = offered_cars(
        market,
        ledger.cars,
        cars=cars_of_folder(Path(folder), ledger.cars, market.makes) if folder else {},
        segments=segments_in(workspace),
        said=said,
    )
    check = check_chances(
        cars, settings, currency=market.currency, as_of=day, months=arguments.months
    )
    page = write_page(chance_page(check), arguments.page) if arguments.page else None
    if arguments.json:
        print_json(check.to_dict())
        return
    print(check.summary())
    if page:
        print(f"Page to open: {page}")
