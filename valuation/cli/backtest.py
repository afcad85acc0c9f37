"""``valuation backtest``: price past sales from earlier ones and compare."""

from __future__ import annotations

from argparse import Namespace

import pandas as pd

from valuation.cli.inputs import assumptions_of, book_of, settings_of
from valuation.cli.output import print_json
from valuation.cli.progress import Progress
from valuation.cli.workers import runner_of
from valuation.files import write_in_one_step
from valuation.spreadsheets import guarded
from valuation.study.backtest import backtest

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Test on the newest sales, print accuracy and coverage, write what was predicted."""
    book = book_of(arguments, arguments.sales)
    assumptions = assumptions_of(arguments)
    share = 0.3 if arguments.test_share is None else arguments.test_share
    with Progress() as progress, runner_of(arguments) as run:
        result = backtest(
            book,
            test_share=share,
            months=arguments.months,
            refit=arguments.refit,
            undated_seed=arguments.undated_seed,
            least_price=arguments.least_price,
            settings=settings_of(arguments),
            assumptions=assumptions,
            run=run,
            progress=progress,
        )
    if arguments.predictions:
        table = _table(result.predictions).to_csv(index=False, lineterminator="\n")
        write_in_one_step(arguments.predictions, table.encode(), what="list of predictions")
    if arguments.json:
        print_json(result.to_dict())
        return
    print(result.summary())
    if arguments.predictions:
        print(f"Predictions: {arguments.predictions}")


def _table(predictions: pd.DataFrame) -> pd.DataFrame:
    """Return predictions whose texts, which came from a file, no spreadsheet runs."""
    texts = predictions.select_dtypes(exclude=["number", "bool", "datetime"])
    guard = {
        str(name): texts[name].map(lambda x: guarded(x) if isinstance(x, str) else x)
        for name in texts
    }
    return predictions.assign(**guard)
