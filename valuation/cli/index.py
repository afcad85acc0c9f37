"""``valuation index``: the level of the market by segment, month by month."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from valuation.appraisal.market import MarketModel
from valuation.cli.inputs import workspace_of_arguments
from valuation.cli.output import print_json
from valuation.evidence.ledger_in import ledger_of
from valuation.evidence.opening import reading
from valuation.files import write_in_one_step
from valuation.report.index_section import index_page
from valuation.report.index_table import index_csv
from valuation.report.write import write_page
from valuation.results.index import MarketIndex
from valuation.store.modelfile import load_model
from valuation.study.index import market_index, revision
from valuation.study.index_counts import ledger_days
from valuation.study.segments import read_segments

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Load the model, make its index, set it against an earlier one, print or write it."""
    market = load_model(Path(arguments.model))
    segments = read_segments(arguments.segments) if arguments.segments else None
    index = market_index(
        market,
        segments=segments,
        all_cars=arguments.all_cars,
        base=arguments.base,
        months=arguments.months,
        days_to_sell=_days(arguments, market),
    )
    if arguments.against:
        earlier = load_model(Path(arguments.against))
        old = market_index(earlier, segments=segments, all_cars=arguments.all_cars, base=index.base)
        index = revision(index, old)
    written = _write(arguments, index)
    if arguments.json:
        print_json(index.to_dict())
        return
    print(index.summary())
    for said in written:
        print(said)


def _days(arguments: Namespace, market: MarketModel) -> dict[str, float] | None:
    """Return the days to sell of the firm's own cars, None if no ledger is named."""
    if not arguments.workspace or market.as_of is None:
        return None
    with reading(workspace_of_arguments(arguments)) as con:
        ledger = ledger_of(con, as_of=market.as_of)
    return ledger_days(market.frame, market.currency, ledger.cars)


def _write(arguments: Namespace, index: MarketIndex) -> list[str]:
    out = []
    if arguments.out:
        data = index_csv(index).encode("utf-8-sig")
        out.append(f"Written: {write_in_one_step(arguments.out, data, what='market index')}")
    if arguments.page:
        out.append(f"Page to open: {write_page(index_page(index), arguments.page)}")
    return out
