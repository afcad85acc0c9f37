"""The words of the commands about the firm's stock: review, asking price, chances that held."""

from __future__ import annotations

from valuation.cli.parser_parts import (
    Commands,
    Parser,
    add_json,
    add_workspace,
    command,
    count,
    day,
    exact,
)

__all__ = ["add_ask", "add_chances", "add_stock"]


def add_stock(commands: Commands) -> None:
    """Add the review of the stock."""
    said = "every car of yours: what it is worth and asked, what moved, what to decide first"
    stock = command(commands, "stock", said)
    stock.add_argument(
        "-o",
        dest="out",
        action="append",
        default=[],
        metavar="OUT",
        help="write it, .html, .pdf or .xlsx; may be given several times",
    )
    _add_model(stock)
    stock.add_argument("--costs", required=True, metavar="COSTS.toml", help="your cost settings")
    add_workspace(stock)
    _add_cars(stock)
    stock.add_argument("--as-of", type=day, metavar="DATE", help="day (default: the model's)")
    stock.add_argument(
        "--before",
        metavar="MODEL",
        help="model of a month ago (default: the published version before)",
    )
    _add_settings(stock)
    add_json(stock)


def add_chances(commands: Commands) -> None:
    """Add chances of a sale beside the sales that came."""
    said = "how often cars of yours sold beside the chances foretold month by month"
    chances = command(commands, "chances", said)
    _add_model(chances)
    add_workspace(chances)
    _add_cars(chances)
    chances.add_argument(
        "--months", type=count, default=12, metavar="N", help="months foretold (default 12)"
    )
    chances.add_argument("--as-of", type=day, metavar="DATE", help="day (default: the model's)")
    _add_settings(chances)
    chances.add_argument("--page", metavar="OUT.html", help="write the page; as a PDF if so named")
    add_json(chances)


def add_ask(commands: Commands) -> None:
    """Add the command that says what to ask for a car of the firm."""
    said = "what to ask for a car of yours: chance to sell, days, and money at each price"
    asked = command(commands, "ask", said)
    asked.add_argument("car", metavar="CAR", help="a car file or a filled sheet")
    _add_model(asked)
    asked.add_argument("--costs", required=True, metavar="COSTS.toml", help="your cost settings")
    asked.add_argument(
        "--days", type=count, metavar="N", help="it has to be sold within so many days"
    )
    asked.add_argument(
        "--least-chance",
        type=float,
        metavar="PERCENT",
        help="how likely by then (default: that of the settings)",
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
    _add_settings(asked)
    asked.add_argument("--page", metavar="OUT.html", help="write the page; as a PDF if so named")
    add_json(asked)


def _add_cars(parser: Parser) -> None:
    parser.add_argument(
        "--cars",
        metavar="DIR",
        help="folder of car files, named by stock number or with the ledger's chassis numbers",
    )


def _add_settings(parser: Parser) -> None:
    parser.add_argument(
        "--settings",
        metavar="FILE",
        help="stock settings of your own (default: stock.toml of the workspace)",
    )


def _add_model(parser: Parser) -> None:
    parser.add_argument(
        "--model", required=True, metavar="PATH", help="model of 'fit', or a published folder"
    )
