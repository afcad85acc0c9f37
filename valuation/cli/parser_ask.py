"""The words of ``valuation ask``."""

from __future__ import annotations

from valuation.cli.parser_parts import (
    Commands,
    add_json,
    add_workspace,
    command,
    count,
    day,
    exact,
)

__all__ = ["add_ask"]


def add_ask(commands: Commands) -> None:
    """Add the command that says what to ask for a car of the firm."""
    said = "what to ask for a car of yours: chance to sell, days, and money at each price"
    asked = command(commands, "ask", said)
    asked.add_argument("car", metavar="CAR", help="a car file or a filled sheet")
    asked.add_argument(
        "--model", required=True, metavar="PATH", help="model of 'fit', or a published folder"
    )
    asked.add_argument("--costs", required=True, metavar="COSTS.toml", help="your cost settings")
    asked.add_argument(
        "--days", type=count, metavar="N", help="it has to be sold within so many days"
    )
    money = asked.add_mutually_exclusive_group(required=True)
    money.add_argument(
        "--stock", default="", metavar="NUMBER", help="its number in the stock ledger"
    )
    money.add_argument(
        "--paid", type=exact, metavar="AMOUNT", help="money in the car, where no ledger says so"
    )
    add_workspace(asked)
    asked.add_argument("--as-of", type=day, metavar="DATE", help="day (default: the model's)")
    asked.add_argument("--settings", metavar="FILE", help="stock settings of your own")
    asked.add_argument("--page", metavar="OUT.html", help="write the page; as a PDF if so named")
    add_json(asked)
