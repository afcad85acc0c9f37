"""The words of the commands about the analyst's month: refresh, versions of models, studies."""

from __future__ import annotations

from collections.abc import Callable

from valuation.cli.parser_ledger import add_realised
from valuation.cli.parser_parts import (
    Commands,
    add_assumptions,
    add_json,
    add_map,
    add_rates,
    add_unsold,
    add_workers,
    command,
    count,
)

__all__ = ["add_month_commands"]


def add_month_commands(commands: Commands) -> None:
    """Add the commands of this group, in the order in which the help lists them."""
    groups: tuple[Callable[[Commands], None], ...] = (
        _ratio_study,
        _index,
        _changes,
        add_realised,
    )
    for add in groups:
        add(commands)


def _ratio_study(commands: Commands) -> None:
    study = command(
        commands, "ratio-study", "estimates against prices, over all sales and group by group"
    )
    what = study.add_mutually_exclusive_group(required=True)
    what.add_argument(
        "--predictions", metavar="FILE", help="a table with the columns price and estimate"
    )
    what.add_argument(
        "--sales",
        action="append",
        metavar="FILE",
        help="sales whose latest months are forecast; may be given several times",
    )
    add_map(study)
    add_rates(study)
    study.add_argument(
        "--months", type=count, metavar="N", help="forecast the last N months (default 12)"
    )
    study.add_argument(
        "--group-by", action="append", metavar="COLUMN", help="group by this too; may be repeated"
    )
    study.add_argument(
        "--seed", type=int, default=0, metavar="SEED", help="seed of intervals that are drawn"
    )
    study.add_argument("--page", metavar="OUT.html", help="write the page to open in a browser")
    add_unsold(study)
    add_assumptions(study)
    add_workers(study)
    add_json(study)


def _index(commands: Commands) -> None:
    index = command(commands, "index", "the level of the market by segment, month by month")
    index.add_argument("--model", required=True, metavar="PATH", help="model made by 'fit'")
    index.add_argument("--segments", metavar="FILE.toml", help="segments; by make if not given")
    index.add_argument("--all-cars", action="store_true", help="add all cars together")
    index.add_argument("--against", metavar="OLDMODEL", help="earlier model: what was revised")
    index.add_argument("--base", metavar="YYYY-MM", help="month that is 100 (default: the first)")
    index.add_argument("--months", type=count, metavar="N", help="show the last N months")
    index.add_argument("-o", dest="out", metavar="OUT.csv", help="write a line a segment and month")
    index.add_argument("--page", metavar="OUT.html", help="write the page to open in a browser")
    add_json(index)


def _changes(commands: Commands) -> None:
    said = "what moved between two models, and the sales that moved it"
    changes = command(commands, "changes", said)
    changes.add_argument("old", metavar="OLD", help="earlier model")
    changes.add_argument("new", metavar="NEW", help="later model")
    changes.add_argument("--panel", nargs="+", metavar="CAR", help="cars to price by both models")
    changes.add_argument("--segments", metavar="FILE.toml", help="segments; by make if not given")
    changes.add_argument("--settings", metavar="FILE", help="inspection settings of your own")
    changes.add_argument("--page", metavar="OUT.html", help="write the page to open in a browser")
    add_json(changes)
