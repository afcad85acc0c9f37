"""Words that several commands of the command line share, and how their values are read."""

from __future__ import annotations

import argparse
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import TypeAlias

__all__ = [
    "Commands",
    "Parser",
    "add_assumptions",
    "add_json",
    "add_map",
    "add_rates",
    "add_sales",
    "add_stretch",
    "add_unsold",
    "add_workers",
    "add_workspace",
    "amount",
    "command",
    "count",
    "day",
    "exact",
    "share",
    "won",
]

Parser = argparse.ArgumentParser
# argparse has no public name for what `add_subparsers` returns.
Commands: TypeAlias = "argparse._SubParsersAction[Parser]"


def command(commands: Commands, name: str, said: str) -> Parser:
    """Add a command with the sentence that says what it does."""
    sentence = f"{said[:1].upper()}{said[1:]}."
    return commands.add_parser(name, help=said, description=sentence, allow_abbrev=False)


def add_stretch(parser: Parser) -> None:
    """Add the words that say which sales are tested."""
    span = parser.add_mutually_exclusive_group()
    span.add_argument(
        "--test-share", type=share, metavar="SHARE", help="newest share to price (default 0.3)"
    )
    span.add_argument("--months", type=count, metavar="N", help="price the last N months")
    parser.add_argument(
        "--refit",
        choices=("month", "fortnight", "never"),
        default="month",
        help="how often the market is learned anew (default month)",
    )


def add_sales(parser: Parser) -> None:
    """Add the files of sales and how they are read."""
    parser.add_argument(
        "--sales",
        action="append",
        required=True,
        metavar="FILE",
        help="sales as CSV, TSV or XLSX; may be given several times",
    )
    add_map(parser)
    add_rates(parser)


def add_map(parser: Parser) -> None:
    """Add the column map."""
    parser.add_argument("--map", metavar="MAP.toml", help="column map; proposed if not given")


def add_rates(parser: Parser) -> None:
    """Add the currency rates."""
    parser.add_argument("--rates", metavar="FILE", help="currency rates by day")


def add_assumptions(parser: Parser) -> None:
    """Add the starting assumptions."""
    choice = parser.add_mutually_exclusive_group()
    choice.add_argument("--assumptions", metavar="FILE", help="starting assumptions of your own")
    choice.add_argument("--no-assumptions", action="store_true", help="start from no effect at all")


def add_unsold(parser: Parser) -> None:
    """Add what a highest bid on an unsold car tells."""
    parser.add_argument(
        "--unsold",
        choices=("as bids", "left out", "as bounds"),
        default="as bids",
        help="what a highest bid on an unsold car tells (default: what the market bid)",
    )


def add_workers(parser: Parser) -> None:
    """Add where independent pieces of work are run; what comes out is the same."""
    where = parser.add_mutually_exclusive_group()
    where.add_argument(
        "--workers", type=count, metavar="N", help="processes of this machine (default 1)"
    )
    where.add_argument(
        "--cluster",
        metavar="ADDRESS|local:N",
        help="Dask cluster instead: a scheduler such as tcp://10.0.0.5:8786, or N processes here",
    )


def add_workspace(parser: Parser) -> None:
    """Add the folder of the firm's evidence."""
    parser.add_argument(
        "--workspace",
        metavar="DIR",
        help="folder of the evidence; that of VALUATION_WORKSPACE if not given",
    )


def add_json(parser: Parser) -> None:
    """Add the wish for JSON."""
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")


def day(text: str) -> date:
    """Read a day."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"not a day (got: {text}); write it as 2025-09-30"
        ) from None


def share(text: str) -> float:
    """Read a share between 0 and 1."""
    try:
        share = float(text)
    except ValueError:
        share = -1.0
    if not 0 < share < 1:
        raise argparse.ArgumentTypeError(f"not a share between 0 and 1 (got: {text})")
    return share


def amount(text: str) -> float:
    """Read an amount of 0 or more."""
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0 <= value < float("inf"):
        raise argparse.ArgumentTypeError(f"an amount of 0 or more is wanted (got: {text})")
    return value


def exact(text: str) -> Decimal:
    """Read an amount above 0, to the cent."""
    try:
        value = Decimal(text)
    except InvalidOperation:
        value = Decimal(-1)
    if not value.is_finite() or not 0 < value <= 1_000_000_000 or value != round(value, 2):
        raise argparse.ArgumentTypeError(f"not an amount above 0, to the cent (got: {text})")
    return value


def won(text: str) -> tuple[str, Decimal]:
    """Read a lot and its hammer price."""
    number, sign, price = text.rpartition("=")
    if not sign or not number.strip():
        raise argparse.ArgumentTypeError(f"write it as LOT=PRICE, such as 112=41000 (got: {text})")
    return number.strip(), exact(price)


def count(text: str) -> int:
    """Read a whole number from 1 up."""
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"not a whole number from 1 up (got: {text})")
    return int(text)
