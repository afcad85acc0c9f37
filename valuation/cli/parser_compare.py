"""The words of ``valuation compare``."""

from __future__ import annotations

from valuation.cli.parser_parts import Commands, add_json, add_workspace, command, day, exact

__all__ = ["add_compare"]


def add_compare(commands: Commands) -> None:
    """Add the command that sets one car beside another."""
    said = "why one car is dearer than another, and which is the better buy"
    beside = command(commands, "compare", said)
    beside.add_argument("car", metavar="CAR", help="a car file or a filled sheet")
    beside.add_argument(
        "--with",
        dest="other",
        required=True,
        metavar="LISTING",
        help="the other car: a car file, a filled sheet (.xlsx), or the advert in a text file",
    )
    beside.add_argument(
        "--model", required=True, metavar="PATH", help="model of 'fit', or a published folder"
    )
    beside.add_argument("--asking", type=exact, metavar="N", help="what this car is offered for")
    beside.add_argument("--price", type=exact, metavar="N", help="price of the other car")
    beside.add_argument(
        "--price-kind",
        choices=("asking", "sold"),
        help="whether the other car is offered for that price (the default) or was sold for it",
    )
    beside.add_argument(
        "--price-date", type=day, metavar="D", help="day of that price, if it is not of today"
    )
    beside.add_argument("--as-of", type=day, metavar="D", help="day to price for")
    beside.add_argument("--channel", default="", metavar="C", help="where both cars are sold")
    beside.add_argument("--settings", metavar="FILE", help="inspection settings of your own")
    beside.add_argument(
        "--stock",
        default="",
        metavar="NUMBER",
        help="number of your car in the stock ledger, so that nothing rests on its purchase",
    )
    add_workspace(beside)
    beside.add_argument("--page", metavar="OUT.html", help="write the page; as a PDF if so named")
    add_json(beside)
