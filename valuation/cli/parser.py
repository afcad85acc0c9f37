"""The words that the command understands."""

from __future__ import annotations

import argparse
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import TypeAlias

__all__ = ["build_parser"]

_Parser = argparse.ArgumentParser
# argparse has no public name for what `add_subparsers` returns.
_Commands: TypeAlias = "argparse._SubParsersAction[_Parser]"

_AFTERWORD = (
    "An estimate from past sales is not an appraisal by a licensed or certified appraiser, "
    "and no guarantee of roadworthiness, authenticity or title."
)


def build_parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command line."""
    parser = argparse.ArgumentParser(
        prog="valuation",
        description="Prices collector cars from comparable sales and explains every unit of money.",
        epilog=_AFTERWORD,
        allow_abbrev=False,
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for add in (
        _demo,
        _check,
        _template,
        _read_listing,
        _inspect,
        _fit,
        _price,
        _bid,
        _runlist,
        _costs,
        _backtest,
        _replay,
    ):
        add(commands)
    return parser


def _command(commands: _Commands, name: str, said: str) -> _Parser:
    sentence = f"{said[:1].upper()}{said[1:]}."
    return commands.add_parser(name, help=said, description=sentence, allow_abbrev=False)


def _demo(commands: _Commands) -> None:
    demo = _command(commands, "demo", "fit a synthetic market, price one car and write its page")
    demo.add_argument("--out", metavar="DIR", default="demo_output", help="folder for the page")
    demo.add_argument("--sales", metavar="FILE", help="sales to use instead of the synthetic ones")


def _check(commands: _Commands) -> None:
    check = _command(commands, "check", "read a sale file and say what can be used and what not")
    check.add_argument("file", metavar="FILE", help="sales as CSV, TSV or XLSX")
    _add_map(check)
    check.add_argument("--write-map", metavar="MAP.toml", help="write the column map that was used")
    check.add_argument("--rejects", metavar="OUT.csv", help="write the rows that were set aside")
    _add_rates(check)
    _add_json(check)


def _template(commands: _Commands) -> None:
    template = _command(commands, "template", "write an empty sale file to fill in")
    template.add_argument("out", metavar="OUT", help="file to write, .xlsx or .csv")


def _read_listing(commands: _Commands) -> None:
    said = "read an advert or a catalogue entry and say what it states about the car"
    listing = _command(commands, "read-listing", said)
    listing.add_argument(
        "listing", metavar="TEXT|FILE", help="the words in quotes, a text file, or - for input"
    )
    listing.add_argument(
        "-o",
        dest="out",
        metavar="CAR.toml",
        help="write a car file with every statement to correct",
    )
    _add_json(listing)


def _inspect(commands: _Commands) -> None:
    said = "read a filled inspection sheet into a car file, or make an empty sheet"
    inspect = _command(commands, "inspect", said)
    inspect.add_argument("sheet", metavar="SHEET", nargs="?", help="filled sheet, .xlsx or .toml")
    inspect.add_argument("-o", dest="out", metavar="CAR.toml", help="write the car to be priced")
    inspect.add_argument("--blank", metavar="OUT", help="make an empty sheet, .xlsx or .toml")
    inspect.add_argument("--settings", metavar="FILE", help="inspection settings of your own")
    _add_json(inspect)


def _fit(commands: _Commands) -> None:
    fit = _command(commands, "fit", "learn a market from sales and save it as a model")
    _add_sales(fit)
    fit.add_argument("--model", required=True, metavar="PATH", help="where to save the model")
    fit.add_argument("--as-of", type=_day, metavar="DATE", help="use sales up to this day")
    _add_unsold(fit)
    _add_assumptions(fit)
    _add_json(fit)


def _price(commands: _Commands) -> None:
    price = _command(commands, "price", "price cars and explain the prices")
    price.add_argument(
        "cars", metavar="CAR", nargs="+", help="a car file or a filled inspection sheet, or several"
    )
    price.add_argument("--model", required=True, metavar="PATH", help="model made by 'fit'")
    price.add_argument("--as-of", type=_day, metavar="DATE", help="day to price for")
    price.add_argument("--page", metavar="OUT.html", help="write the page to open in a browser")
    price.add_argument("--settings", metavar="FILE", help="inspection settings of your own")
    _add_json(price)


def _bid(commands: _Commands) -> None:
    bid = _command(commands, "bid", "the walk-away bid for one car, and why")
    bid.add_argument("car", metavar="CAR", nargs="?", help="a car file or a filled sheet")
    bid.add_argument("--costs", required=True, metavar="FILE", help="cost settings of the firm")
    bid.add_argument("--model", metavar="PATH", help="model made by 'fit'")
    bid.add_argument(
        "--resale-points", metavar="FILE", help="stated resale amounts instead of a model"
    )
    bid.add_argument("--way", metavar="NAME", help="way of buying; that of the venue if not given")
    bid.add_argument("--as-of", type=_day, metavar="DATE", help="day of the bid")
    bid.add_argument("--page", metavar="OUT.html", help="write the page to open in a browser")
    bid.add_argument("--settings", metavar="FILE", help="inspection settings of your own")
    _add_json(bid)


def _costs(commands: _Commands) -> None:
    costs = _command(commands, "costs", "check cost settings and say what they say")
    costs.add_argument("file", metavar="FILE", nargs="?", help="cost settings, .toml")
    costs.add_argument("--example", action="store_true", help="give a commented example instead")
    costs.add_argument("-o", dest="out", metavar="OUT.toml", help="write the example to a file")
    _add_json(costs)


def _runlist(commands: _Commands) -> None:
    said = "price a catalogue of lots, with a bid for each and a plan for the day"
    lots = _command(commands, "runlist", said)
    lots.add_argument(
        "lots",
        metavar="LOTS",
        help="catalogue: .xlsx, .csv, .txt, a mail (.eml) or a PDF with text",
    )
    lots.add_argument("--costs", required=True, metavar="FILE", help="cost settings of the firm")
    lots.add_argument("--model", required=True, metavar="PATH", help="model made by 'fit'")
    lots.add_argument("-o", dest="out", metavar="OUT", help="write the list, .xlsx or .csv")
    lots.add_argument("--page", metavar="OUT.html", help="write one line a lot, to be printed")
    lots.add_argument("--sheets", metavar="OUT.html", help="write a bid sheet for each lot")
    lots.add_argument(
        "--lot", action="append", metavar="NUMBER", help="only this lot's sheet; may be repeated"
    )
    lots.add_argument(
        "--sort",
        choices=("margin", "margin per capital", "running order"),
        default="margin",
        help="order of the list (default margin)",
    )
    lots.add_argument("--budget", type=_exact, metavar="AMOUNT", help="money for the day")
    lots.add_argument(
        "--won",
        action="append",
        type=_won,
        default=[],
        metavar="LOT=PRICE",
        help="a lot bought already and its hammer price; plans the rest; may be repeated",
    )
    lots.add_argument(
        "--before", metavar="FILE", help="earlier catalogue: its notes are kept, changes are told"
    )
    lots.add_argument("--notes", metavar="FILE", help="run list whose notes column you filled")
    lots.add_argument("--as-of", type=_day, metavar="DATE", help="day of the bids")
    _add_map(lots)
    _add_json(lots)


def _backtest(commands: _Commands) -> None:
    test = _command(commands, "backtest", "price past sales from earlier ones and compare")
    _add_sales(test)
    _add_stretch(test)
    test.add_argument(
        "--undated-seed", type=int, default=0, metavar="SEED", help="order of an undated list"
    )
    test.add_argument(
        "--least-price",
        type=_amount,
        default=0.0,
        metavar="AMOUNT",
        help="leave out sales at this price and less",
    )
    _add_unsold(test)
    _add_assumptions(test)
    test.add_argument("--predictions", metavar="OUT.csv", help="write one line for each sale")
    _add_json(test)


def _replay(commands: _Commands) -> None:
    said = "bid on past auction lots again, and say what each loss limit would have won and brought"
    again = _command(commands, "replay", said)
    _add_sales(again)
    again.add_argument("--costs", required=True, metavar="FILE", help="cost settings of the firm")
    again.add_argument(
        "--truth", metavar="FILE", help="truth.json of an invented market: what each lot brought"
    )
    again.add_argument(
        "--inspected",
        action="store_true",
        help="judge each car by what is true of it, not by its listing (needs --truth)",
    )
    for option, what in (
        ("--loss-limits", "limits of the risk of loss (default 0.05 0.15 0.3)"),
        ("--plain-shares", "shares of the estimate that a plain rule bids (default 0.6 0.7 0.8)"),
    ):
        again.add_argument(option, type=_share, nargs="+", metavar="SHARE", help=what)
    _add_stretch(again)
    again.add_argument(
        "--seed", type=int, default=0, metavar="SEED", help="of intervals and of a truth's luck"
    )
    _add_unsold(again)
    _add_assumptions(again)
    again.add_argument("--page", metavar="OUT.html", help="write the page to open in a browser")
    _add_json(again)


def _add_stretch(parser: _Parser) -> None:
    span = parser.add_mutually_exclusive_group()
    span.add_argument(
        "--test-share", type=_share, metavar="SHARE", help="newest share to price (default 0.3)"
    )
    span.add_argument("--months", type=_count, metavar="N", help="price the last N months")
    parser.add_argument(
        "--refit",
        choices=("month", "fortnight", "never"),
        default="month",
        help="how often the market is learned anew (default month)",
    )


def _add_sales(parser: _Parser) -> None:
    parser.add_argument(
        "--sales",
        action="append",
        required=True,
        metavar="FILE",
        help="sales as CSV, TSV or XLSX; may be given several times",
    )
    _add_map(parser)
    _add_rates(parser)


def _add_map(parser: _Parser) -> None:
    parser.add_argument("--map", metavar="MAP.toml", help="column map; proposed if not given")


def _add_rates(parser: _Parser) -> None:
    parser.add_argument("--rates", metavar="FILE", help="currency rates by day")


def _add_assumptions(parser: _Parser) -> None:
    choice = parser.add_mutually_exclusive_group()
    choice.add_argument("--assumptions", metavar="FILE", help="starting assumptions of your own")
    choice.add_argument("--no-assumptions", action="store_true", help="start from no effect at all")


def _add_unsold(parser: _Parser) -> None:
    parser.add_argument(
        "--unsold",
        choices=("as bids", "left out", "as bounds"),
        default="as bids",
        help="what a highest bid on an unsold car tells (default: what the market bid)",
    )


def _add_json(parser: _Parser) -> None:
    parser.add_argument("--json", action="store_true", help="print JSON instead of text")


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"not a day (got: {text}); write it as 2025-09-30"
        ) from None


def _share(text: str) -> float:
    try:
        share = float(text)
    except ValueError:
        share = -1.0
    if not 0 < share < 1:
        raise argparse.ArgumentTypeError(f"not a share between 0 and 1 (got: {text})")
    return share


def _amount(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0 <= value < float("inf"):
        raise argparse.ArgumentTypeError(f"an amount of 0 or more is wanted (got: {text})")
    return value


def _exact(text: str) -> Decimal:
    try:
        value = Decimal(text)
    except InvalidOperation:
        value = Decimal(-1)
    if not value.is_finite() or not 0 < value <= 1_000_000_000 or value != round(value, 2):
        raise argparse.ArgumentTypeError(f"not an amount above 0, to the cent (got: {text})")
    return value


def _won(text: str) -> tuple[str, Decimal]:
    number, sign, price = text.rpartition("=")
    if not sign or not number.strip():
        raise argparse.ArgumentTypeError(f"write it as LOT=PRICE, such as 112=41000 (got: {text})")
    return number.strip(), _exact(price)


def _count(text: str) -> int:
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"not a whole number from 1 up (got: {text})")
    return int(text)
