"""The words of the commands about the analyst's month: refresh, versions of models, studies."""

from __future__ import annotations

from collections.abc import Callable

from valuation.cli.parser_ledger import add_realised, add_who
from valuation.cli.parser_parts import (
    Commands,
    add_assumptions,
    add_json,
    add_map,
    add_rates,
    add_unsold,
    add_workers,
    add_workspace,
    command,
    count,
    day,
)
from valuation.cli.parser_stock import add_chances, add_stock

__all__ = ["add_month_commands"]


def add_month_commands(commands: Commands) -> None:
    """Add the commands of this group, in the order in which the help lists them."""
    groups: tuple[Callable[[Commands], None], ...] = (
        _refresh,
        _models,
        _ratio_study,
        _index,
        _changes,
        _look,
        add_realised,
        add_stock,
        add_chances,
    )
    for add in groups:
        add(commands)


def _refresh(commands: Commands) -> None:
    said = (
        "read the inbox in, learn the market anew, test it forward, and publish it or say why not"
    )
    month = command(commands, "refresh", said)
    add_workspace(month)
    month.add_argument("--inbox", metavar="DIR", help="new files (default: inbox of the workspace)")
    month.add_argument("--as-of", type=day, metavar="DATE", help="use sales up to this day")
    month.add_argument("--dry-run", action="store_true", help="decide, but change nothing")
    month.add_argument("--page", metavar="OUT.html", help="write the page; as a PDF if so named")
    add_who(month)
    add_workers(month)
    add_json(month)


def _models(commands: Commands) -> None:
    models = command(
        commands, "models", "versions of published models with their figures; or put one to use"
    )
    models.add_argument(
        "action",
        metavar="use",
        nargs="?",
        choices=("list", "use"),
        default="list",
        help="'use' puts the version that is named to use; without it they are listed",
    )
    models.add_argument("version", metavar="VERSION", nargs="?", help="its name or how it begins")
    models.add_argument("--reason", metavar="TEXT", default="", help="why it is put to use")
    add_workspace(models)
    models.add_argument(
        "--published", metavar="DIR", help="published folder, where there is no workspace"
    )
    add_who(models)
    add_json(models)


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
    study.add_argument("--page", metavar="OUT.html", help="write the page; as a PDF if so named")
    add_unsold(study)
    add_assumptions(study)
    add_workers(study)
    add_json(study)


def _index(commands: Commands) -> None:
    index = command(commands, "index", "the level of the market by segment, month by month")
    index.add_argument(
        "--model", required=True, metavar="PATH", help="model of 'fit', or a published folder"
    )
    index.add_argument("--segments", metavar="FILE.toml", help="segments; by make if not given")
    index.add_argument("--all-cars", action="store_true", help="add all cars together")
    index.add_argument("--against", metavar="OLDMODEL", help="earlier model: what was revised")
    index.add_argument("--base", metavar="YYYY-MM", help="month that is 100 (default: the first)")
    index.add_argument("--months", type=count, metavar="N", help="show the last N months")
    index.add_argument(
        "--workspace", metavar="DIR", help="add days to sell from the stock ledger kept there"
    )
    index.add_argument("-o", dest="out", metavar="OUT.csv", help="write a line a segment and month")
    index.add_argument("--page", metavar="OUT.html", help="write the page; as a PDF if so named")
    add_json(index)


def _changes(commands: Commands) -> None:
    said = "what moved between two models, and the sales that moved it"
    changes = command(commands, "changes", said)
    changes.add_argument("old", metavar="OLD", help="earlier model")
    changes.add_argument("new", metavar="NEW", help="later model")
    changes.add_argument("--panel", nargs="+", metavar="CAR", help="cars to price by both models")
    changes.add_argument("--segments", metavar="FILE.toml", help="segments; by make if not given")
    changes.add_argument("--settings", metavar="FILE", help="inspection settings of your own")
    changes.add_argument("--page", metavar="OUT.html", help="write the page; as a PDF if so named")
    add_json(changes)


def _look(commands: Commands) -> None:
    said = "the sales to look at: what is odd about each, and what would change without it"
    look = command(commands, "look", said)
    look.add_argument(
        "--model", required=True, metavar="PATH", help="model of 'fit', or a published folder"
    )
    look.add_argument(
        "--most", type=count, default=50, metavar="N", help="name so many sales (default 50)"
    )
    look.add_argument("--page", metavar="OUT.html", help="write the page; as a PDF if so named")
    add_json(look)
