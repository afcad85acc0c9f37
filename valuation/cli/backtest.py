"""``valuation backtest``: price past sales from earlier ones and compare."""

from __future__ import annotations

from argparse import Namespace

from valuation.cli.inputs import assumptions_of, book_of, settings_of
from valuation.cli.output import print_json
from valuation.cli.progress import Progress
from valuation.files import write_in_one_step
from valuation.study.backtest import backtest

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Test on the newest sales, print accuracy and coverage, write what was predicted."""
    book = book_of(arguments, arguments.sales)
    assumptions = assumptions_of(arguments)
    share = 0.3 if arguments.test_share is None else arguments.test_share
    with Progress() as progress:
        result = backtest(
            book,
            test_share=share,
            months=arguments.months,
            refit=arguments.refit,
            undated_seed=arguments.undated_seed,
            least_price=arguments.least_price,
            settings=settings_of(arguments),
            assumptions=assumptions,
            progress=progress,
        )
    if arguments.predictions:
        table = result.predictions.to_csv(index=False, lineterminator="\n")
        write_in_one_step(arguments.predictions, table.encode(), what="list of predictions")
    if arguments.json:
        print_json(result.to_dict())
        return
    print(result.summary())
    if arguments.predictions:
        print(f"Predictions: {arguments.predictions}")
