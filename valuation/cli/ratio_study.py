"""``valuation ratio-study``: estimates against prices, and whether ranges held."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Sequence

import pandas as pd

from valuation.cli.inputs import assumptions_of, book_of, settings_of
from valuation.cli.output import print_json
from valuation.cli.progress import Progress
from valuation.cli.workers import runner_of
from valuation.errors import SettingsError
from valuation.importing.predictions import read_predictions
from valuation.report.ratio_page import ratios_page
from valuation.report.write import write_page
from valuation.study.coverage import study_coverage
from valuation.study.forecasts import forward_forecasts
from valuation.study.ratio_strata import study_ratios

__all__ = ["run"]

_TESTING = ("months", "assumptions", "map", "rates", "workers", "cluster")


def run(arguments: Namespace) -> None:
    """Study given estimates, or forecasts of the latest months of sales."""
    frame, currency, notes = _given(arguments) if arguments.predictions else _forecast(arguments)
    by = tuple(arguments.group_by or ())
    ratios = study_ratios(frame, seed=arguments.seed, currency=currency, by=by, notes=notes)
    ranged = "lower" in frame
    coverage = study_coverage(frame, currency=currency, by=by) if ranged else None
    page = None
    if arguments.page:
        page = write_page(ratios_page(ratios, coverage), arguments.page)
    if arguments.json:
        print_json({**ratios.to_dict(), "coverage": coverage.to_dict() if coverage else None})
        return
    print(ratios.summary())
    if coverage is not None:
        print(f"\n{coverage.summary()}")
    if page:
        print(f"Page to open: {page}")


def _given(arguments: Namespace) -> tuple[pd.DataFrame, str, Sequence[str]]:
    """Read estimates that somebody made; how to test sales has no meaning then."""
    asked = [name for name in _TESTING if getattr(arguments, name)]
    asked += ["no-assumptions"] if arguments.no_assumptions else []
    if asked:
        raise SettingsError(
            "ratio-study",
            "these say how sales are tested, and estimates are given",
            got=", ".join(f"--{name}" for name in asked),
            remedy="Give --sales in the place of --predictions, or leave them out",
        )
    read = read_predictions(arguments.predictions)
    return read.frame, read.currency, read.notes


def _forecast(arguments: Namespace) -> tuple[pd.DataFrame, str, Sequence[str]]:
    """Forecast the latest months of sales, each from what was known at its start."""
    book = book_of(arguments, arguments.sales)
    with Progress() as progress, runner_of(arguments) as runner:
        made = forward_forecasts(
            book,
            months=arguments.months or 12,
            settings=settings_of(arguments),
            assumptions=assumptions_of(arguments),
            run=runner,
            progress=progress,
        )
    span = made.months[0] if len(made.months) == 1 else f"{made.months[0]} to {made.months[-1]}"
    notes = [
        f"Forecasts of {span}, each month from what was known at its start; "
        f"{made.fitted_on:,} sales were known before the first."
    ]
    if made.seen_before:
        notes.append(
            f"{made.seen_before:,} sales of cars that had been sold before are left out: their "
            "own price was known."
        )
    return made.frame, made.currency, notes
