"""``valuation fit``: learn a market from sales and save it."""

from __future__ import annotations

from argparse import Namespace
from typing import Any

from valuation.appraisal.market import MarketModel, fit_market
from valuation.cli.inputs import assumptions_of, book_of, settings_of
from valuation.cli.output import print_json, print_notes
from valuation.cli.progress import Progress
from valuation.cli.workers import runner_of
from valuation.records import SalesBook
from valuation.store.modelfile import save_model

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Fit, calibrate, save, and say what the model rests on."""
    book = book_of(arguments, arguments.sales)
    assumptions = assumptions_of(arguments)
    with Progress() as progress, runner_of(arguments) as run:
        market = fit_market(
            book,
            as_of=arguments.as_of,
            settings=settings_of(arguments),
            assumptions=assumptions,
            run=run,
            progress=progress,
        )
    save_model(market, arguments.model)
    if arguments.json:
        print_json(_as_dict(market, book, arguments.model))
        return
    print(market.summary())
    print(f"  {len(book):,} of {book.rows:,} rows were used, {len(book.set_aside):,} set aside")
    print_notes(book.notes)
    print(f"Saved as {arguments.model}")


def _as_dict(market: MarketModel, book: SalesBook, path: str) -> dict[str, Any]:
    return {
        "format": 1,
        "model": path,
        "sales": len(market.frame),
        "rows": book.rows,
        "set_aside": len(book.set_aside),
        "as_of": market.as_of.isoformat() if market.as_of else None,
        "currency": market.currency,
        "basis": market.usual["basis"],
        "estimand": market.estimand,
        "notes": list(book.notes),
    }
