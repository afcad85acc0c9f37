"""``valuation stock``: every car of the firm, what moved, and what to decide first."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from valuation.appraisal.market import MarketModel
from valuation.bidding.costs_file import read_costs
from valuation.cli.inputs import workspace_of_arguments
from valuation.cli.output import print_json
from valuation.cli.stock_cars import cars_of_folder
from valuation.cli.stock_known import day_of
from valuation.errors import SettingsError
from valuation.evidence.stock_known import stock_known
from valuation.files import write_in_one_step
from valuation.refresh.stock_settings import segments_in, stock_settings
from valuation.report.stock_page import stock_page
from valuation.report.stock_workbook import stock_workbook
from valuation.report.write import write_page
from valuation.results.stock_review import StockReview
from valuation.stocking.review import review_stock
from valuation.store.modelfile import load_model
from valuation.store.published import published_versions

__all__ = ["run"]

_ENDINGS = (".html", ".pdf", ".xlsx")

_LEAST_DAYS = 20
"""A model that is so many days older at least is one of the month before."""


def run(arguments: Namespace) -> None:
    """Read model, ledger, costs and cars; review the stock; write and print it."""
    _check(arguments.out)
    workspace = workspace_of_arguments(arguments)
    settings, costs = stock_settings(arguments.settings, workspace), read_costs(arguments.costs)
    market = load_model(Path(arguments.model))
    day = day_of(arguments, market)
    ledger, said = stock_known(workspace, day)
    found = (
        cars_of_folder(Path(arguments.cars), ledger.cars, market.makes) if arguments.cars else {}
    )
    review = review_stock(
        market,
        ledger.cars,
        costs,
        settings,
        as_of=day,
        cars=found,
        segments=segments_in(workspace),
        said=said,
        earlier=_earlier(arguments, market),
    )
    written = [_write(review, file) for file in arguments.out]
    if arguments.json:
        print_json(review.to_dict())
        return
    print(review.summary())
    for path in written:
        print(f"Written: {path}")


def _check(files: Sequence[str]) -> None:
    """Say at once what can't be written."""
    for file in files:
        if Path(file).suffix.lower() not in _ENDINGS:
            raise SettingsError(
                "-o",
                "the ending of the name says what is written",
                got=file,
                remedy=f"Let it end in {', '.join(_ENDINGS[:-1])} or {_ENDINGS[-1]}",
            )


def _earlier(arguments: Namespace, market: MarketModel) -> MarketModel | None:
    """Return the model of a month ago: the one named, else the published version before."""
    if arguments.before:
        return load_model(Path(arguments.before))
    folder = Path(arguments.model)
    if not folder.is_dir() or market.as_of is None:
        return None
    days = [(_day_of(p.version), p) for p in published_versions(folder)]
    older = [(d, p) for d, p in days if d and (market.as_of - d).days >= _LEAST_DAYS]
    if not older:
        return None
    return load_model(max(older, key=lambda pair: (pair[0], pair[1].version))[1].model)


def _day_of(version: str) -> date | None:
    try:
        return date.fromisoformat(version[:10])
    except ValueError:
        return None


def _write(review: StockReview, file: str) -> Path:
    if Path(file).suffix.lower() == ".xlsx":
        return write_in_one_step(file, stock_workbook(review), what="workbook")
    return write_page(stock_page(review), file)
