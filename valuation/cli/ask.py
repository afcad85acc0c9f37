"""``valuation ask``: what to ask for a car of the firm."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from valuation.bidding.costs_file import read_costs
from valuation.cents import in_cents
from valuation.cli.inputs import car_of, workspace_of_arguments
from valuation.cli.output import print_json
from valuation.cli.stock_known import day_of, stock_car
from valuation.evidence.stock_known import stock_known
from valuation.evidence.workspace import Workspace
from valuation.inspection.settings_file import default_inspection_settings
from valuation.refresh.stock_settings import segments_in, stock_settings
from valuation.report.ask_page import ask_page
from valuation.report.write import write_page
from valuation.results.ledger import StockCar
from valuation.results.said import Said
from valuation.stocking.asking_car import ask_for, known_firm
from valuation.stocking.asking_money import MoneyIn
from valuation.store.modelfile import load_model
from valuation.study.segments import Segment

__all__ = ["run"]

_Known = tuple[Sequence[StockCar], tuple[Said, ...], tuple[Segment, ...]]


def run(arguments: Namespace) -> None:
    """Read model, costs, ledger and car; print what to ask, or its JSON, and write the page."""
    named = arguments.stock or arguments.workspace
    workspace = workspace_of_arguments(arguments) if named else None
    settings = stock_settings(arguments.settings, workspace)
    costs = read_costs(arguments.costs)
    market = load_model(Path(arguments.model))
    ledger, said, segments = _kept(workspace, day_of(arguments, market))
    firm = known_firm(
        market,
        costs,
        settings,
        ledger=ledger,
        said=said,
        segments=segments,
        as_of=arguments.as_of,
    )
    answer = ask_for(
        firm,
        car_of(arguments.car, market.makes, default_inspection_settings()),
        stock=stock_car(ledger, arguments.stock) if arguments.stock else None,
        money=_money(arguments, firm.day),
        target_days=arguments.days,
        target_percent=arguments.least_chance,
    )
    page = write_page(ask_page(answer), arguments.page) if arguments.page else None
    if arguments.json:
        print_json(answer.to_dict())
        return
    print(answer.summary())
    if page:
        print(f"Page to open: {page}")


def _kept(workspace: Workspace | None, day: date) -> _Known:
    """Return the ledger, what was said, and the kinds of cars; nothing without a workspace."""
    if workspace is None:
        return (), (), ()
    ledger, said = stock_known(workspace, day)
    return ledger.cars, said, segments_in(workspace)


def _money(arguments: Namespace, day: date) -> MoneyIn | None:
    """Return the money in a car that no ledger knows: as if it was bought on the day."""
    if arguments.paid is None:
        return None
    cents = in_cents(arguments.paid)
    return MoneyIn(cents, cents, day)
