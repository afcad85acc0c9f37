"""``valuation ask``: what to ask for a car of the firm."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from valuation.appraisal.market import MarketModel
from valuation.bidding.costs_file import read_costs
from valuation.cents import in_cents
from valuation.cli.inputs import car_of, workspace_of_arguments
from valuation.cli.output import print_json
from valuation.errors import SettingsError
from valuation.evidence.ledger_in import ledger_of
from valuation.evidence.opening import reading
from valuation.evidence.said_in import said_of
from valuation.inspection.settings_file import default_inspection_settings
from valuation.reading.text import compact
from valuation.refresh.settings import read_month_settings
from valuation.report.ask_page import ask_page
from valuation.report.write import write_page
from valuation.results.ledger import StockCar
from valuation.results.said import Said
from valuation.stocking.asking_car import ask_for, known_firm
from valuation.stocking.asking_money import MoneyIn
from valuation.stocking.settings import default_stock_settings, read_stock_settings
from valuation.store.modelfile import load_model
from valuation.study.segments import Segment, segments_of

__all__ = ["run"]

_Known = tuple[Sequence[StockCar], tuple[Said, ...], tuple[Segment, ...]]


def run(arguments: Namespace) -> None:
    """Read model, costs, ledger and car; print what to ask, or its JSON, and write the page."""
    own = arguments.settings
    settings = read_stock_settings(Path(own)) if own else default_stock_settings()
    costs = read_costs(arguments.costs)
    market = load_model(Path(arguments.model))
    ledger, said, segments = _kept(arguments, market)
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
        stock=_stock_car(ledger, arguments.stock) if arguments.stock else None,
        money=_money(arguments, firm.day),
        target_days=arguments.days,
    )
    page = write_page(ask_page(answer), arguments.page) if arguments.page else None
    if arguments.json:
        print_json(answer.to_dict())
        return
    print(answer.summary())
    if page:
        print(f"Page to open: {page}")


def _kept(arguments: Namespace, market: MarketModel) -> _Known:
    """Return the ledger, what was said, and the kinds of cars; nothing without a workspace."""
    if not arguments.stock and not arguments.workspace:
        return (), (), ()
    workspace = workspace_of_arguments(arguments)
    day = arguments.as_of or market.as_of or date.max
    with reading(workspace) as con:
        ledger, store = ledger_of(con, as_of=day), said_of(con)
    own = read_month_settings(workspace.settings).segments
    said = tuple(s for s in store.said.values() if s.said_on <= day)
    return ledger.cars, said, segments_of(own) if own else ()


def _stock_car(ledger: Sequence[StockCar], number: str) -> StockCar:
    wanted = compact(number)
    found = [c for c in ledger if wanted and compact(c.mark.stock) == wanted]
    if not found:
        raise SettingsError(
            "--stock",
            "no car of the ledger has this stock number",
            got=number,
            remedy="See the numbers with 'valuation ledger list'",
        )
    return found[0]


def _money(arguments: Namespace, day: date) -> MoneyIn | None:
    """Return the money in a car that no ledger knows: as if it was bought on the day."""
    if arguments.paid is None:
        return None
    cents = in_cents(arguments.paid)
    return MoneyIn(cents, cents, day)
