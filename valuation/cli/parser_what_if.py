"""The words of ``valuation what-if``."""

from __future__ import annotations

from valuation.cli.parser_parts import Commands, add_json, add_workspace, command, day, exact

__all__ = ["add_what_if"]


def add_what_if(commands: Commands) -> None:
    """Add the command that asks what a car would be worth otherwise."""
    asked = command(commands, "what-if", "what a car would be worth if it were otherwise")
    asked.add_argument("car", metavar="CAR", nargs="?", help="a car file or a filled sheet")
    asked.add_argument("--model", metavar="PATH", help="model of 'fit', or a published folder")
    asked.add_argument(
        "--set",
        dest="changes",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        help="what would be otherwise, such as mileage=+10000, documents=+bills or paint=8.5; "
        "given several times, all at once",
    )
    asked.add_argument(
        "--ask",
        action="append",
        default=[],
        metavar="QUESTION",
        help="a question by its name; may be given several times; without --ask and --set every "
        "question is asked",
    )
    asked.add_argument("--questions", metavar="FILE", help="questions of your own")
    asked.add_argument(
        "--list-questions", action="store_true", help="say which questions there are"
    )
    asked.add_argument("--cost", type=exact, metavar="N", help="what the change costs, at least")
    asked.add_argument("--cost-high", type=exact, metavar="N", help="what it costs at most")
    asked.add_argument("--as-of", type=day, metavar="DATE", help="day to price for")
    asked.add_argument("--channel", default="", metavar="CHANNEL", help="where the car is sold")
    asked.add_argument(
        "--stock",
        default="",
        metavar="NUMBER",
        help="its number in the stock ledger, so that nothing rests on your purchase of it",
    )
    add_workspace(asked)
    asked.add_argument("--settings", metavar="FILE", help="inspection settings of your own")
    asked.add_argument("--page", metavar="OUT.html", help="write the page; as a PDF if so named")
    add_json(asked)
