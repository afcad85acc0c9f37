"""The words of the commands about the analyst's month: refresh, versions of models, studies."""

from __future__ import annotations

from collections.abc import Callable

from valuation.cli.parser_parts import Commands, add_json, command, count

__all__ = ["add_month_commands"]


def add_month_commands(commands: Commands) -> None:
    """Add the commands of this group, in the order in which the help lists them."""
    groups: tuple[Callable[[Commands], None], ...] = (
        _index,
        _changes,
    )
    for add in groups:
        add(commands)


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
