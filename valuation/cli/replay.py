"""``valuation replay``: bids on past auction lots, with what was known before each."""

from __future__ import annotations

from argparse import Namespace

from valuation.bidding.costs_file import read_costs
from valuation.cli.inputs import assumptions_of, book_of, settings_of
from valuation.cli.output import print_json
from valuation.cli.progress import Progress
from valuation.cli.workers import runner_of
from valuation.report.replay_page import replay_page
from valuation.report.write import write_page
from valuation.study.replay import LOSS_LIMITS, PLAIN_SHARES, replay
from valuation.study.replay_resale import read_truth

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Bid on the latest lots again and say what each rule would have won and brought."""
    costs = read_costs(arguments.costs)
    book = book_of(arguments, arguments.sales)
    truth = read_truth(arguments.truth, book, seed=arguments.seed) if arguments.truth else None
    share = 0.3 if arguments.test_share is None else arguments.test_share
    with Progress() as progress, runner_of(arguments) as run:
        result = replay(
            book,
            costs,
            loss_limits=arguments.loss_limits or LOSS_LIMITS,
            plain_shares=arguments.plain_shares or PLAIN_SHARES,
            test_share=share,
            months=arguments.months,
            refit=arguments.refit,
            truth=truth,
            inspected=arguments.inspected,
            seed=arguments.seed,
            settings=settings_of(arguments),
            assumptions=assumptions_of(arguments),
            run=run,
            progress=progress,
        )
    page = write_page(replay_page(result), arguments.page) if arguments.page else None
    if arguments.json:
        print_json(result.to_dict())
        return
    print(result.summary())
    if page:
        print(f"Page to open: {page}")
