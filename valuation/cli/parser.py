"""The words that the command understands."""

from __future__ import annotations

import argparse

from valuation.cli.parser_compare import add_compare
from valuation.cli.parser_evidence import add_evidence_commands
from valuation.cli.parser_ledger import add_log
from valuation.cli.parser_month import add_month_commands
from valuation.cli.parser_parts import (
    Commands,
    add_assumptions,
    add_json,
    add_map,
    add_rates,
    add_sales,
    add_stretch,
    add_unsold,
    add_workers,
    amount,
    command,
    day,
    exact,
    share,
    won,
)
from valuation.cli.parser_selling import add_justify
from valuation.cli.parser_stock import add_ask
from valuation.cli.parser_what_if import add_what_if

__all__ = ["build_parser"]

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
    add_justify(commands)
    add_compare(commands)
    add_what_if(commands)
    add_ask(commands)
    add_evidence_commands(commands)
    add_month_commands(commands)
    return parser


def _demo(commands: Commands) -> None:
    demo = command(commands, "demo", "fit a synthetic market, price one car and write its page")
    demo.add_argument("--out", metavar="DIR", default="demo_output", help="folder for the page")
    demo.add_argument("--sales", metavar="FILE", help="sales to use instead of the synthetic ones")


def _check(commands: Commands) -> None:
    check = command(commands, "check", "read a sale file and say what can be used and what not")
    check.add_argument("file", metavar="FILE", help="sales as CSV, TSV or XLSX")
    add_map(check)
    check.add_argument("--write-map", metavar="MAP.toml", help="write the column map that was used")
    check.add_argument("--rejects", metavar="OUT.csv", help="write the rows that were set aside")
    add_rates(check)
    add_json(check)


def _template(commands: Commands) -> None:
    template = command(commands, "template", "write an empty sale file to fill in")
    template.add_argument("out", metavar="OUT", help="file to write, .xlsx or .csv")


def _read_listing(commands: Commands) -> None:
    said = "read an advert or a catalogue entry and say what it states about the car"
    listing = command(commands, "read-listing", said)
    listing.add_argument(
        "listing", metavar="TEXT|FILE", help="the words in quotes, a text file, or - for input"
    )
    listing.add_argument(
        "-o",
        dest="out",
        metavar="CAR.toml",
        help="write a car file with every statement to correct",
    )
    add_json(listing)


def _inspect(commands: Commands) -> None:
    said = "read a filled inspection sheet into a car file, or make an empty sheet"
    inspect = command(commands, "inspect", said)
    inspect.add_argument("sheet", metavar="SHEET", nargs="?", help="filled sheet, .xlsx or .toml")
    inspect.add_argument("-o", dest="out", metavar="CAR.toml", help="write the car to be priced")
    inspect.add_argument("--blank", metavar="OUT", help="make an empty sheet, .xlsx or .toml")
    inspect.add_argument("--settings", metavar="FILE", help="inspection settings of your own")
    add_json(inspect)


def _fit(commands: Commands) -> None:
    fit = command(commands, "fit", "learn a market from sales and save it as a model")
    add_sales(fit)
    fit.add_argument("--model", required=True, metavar="PATH", help="where to save the model")
    fit.add_argument("--as-of", type=day, metavar="DATE", help="use sales up to this day")
    add_unsold(fit)
    add_assumptions(fit)
    add_workers(fit)
    add_json(fit)


def _price(commands: Commands) -> None:
    price = command(commands, "price", "price cars and explain the prices")
    price.add_argument(
        "cars", metavar="CAR", nargs="+", help="a car file or a filled inspection sheet, or several"
    )
    price.add_argument(
        "--model", required=True, metavar="PATH", help="model of 'fit', or a published folder"
    )
    price.add_argument("--as-of", type=day, metavar="DATE", help="day to price for")
    price.add_argument("--page", metavar="OUT.html", help="write the page; as a PDF if so named")
    price.add_argument("--settings", metavar="FILE", help="inspection settings of your own")
    add_log(price, own_figure=True)
    add_json(price)


def _bid(commands: Commands) -> None:
    bid = command(commands, "bid", "the walk-away bid for one car, and why")
    bid.add_argument("car", metavar="CAR", nargs="?", help="a car file or a filled sheet")
    bid.add_argument("--costs", required=True, metavar="FILE", help="cost settings of the firm")
    bid.add_argument("--model", metavar="PATH", help="model of 'fit', or a published folder")
    bid.add_argument(
        "--resale-points", metavar="FILE", help="stated resale amounts instead of a model"
    )
    bid.add_argument("--way", metavar="NAME", help="way of buying; that of the venue if not given")
    bid.add_argument("--as-of", type=day, metavar="DATE", help="day of the bid")
    bid.add_argument("--page", metavar="OUT.html", help="write the page; as a PDF if so named")
    bid.add_argument("--settings", metavar="FILE", help="inspection settings of your own")
    add_log(bid, own_figure=True)
    add_json(bid)


def _costs(commands: Commands) -> None:
    costs = command(commands, "costs", "check cost settings and say what they say")
    costs.add_argument("file", metavar="FILE", nargs="?", help="cost settings, .toml")
    costs.add_argument("--example", action="store_true", help="give a commented example instead")
    costs.add_argument("-o", dest="out", metavar="OUT.toml", help="write the example to a file")
    add_json(costs)


def _runlist(commands: Commands) -> None:
    said = "price a catalogue of lots, with a bid for each and a plan for the day"
    lots = command(commands, "runlist", said)
    lots.add_argument(
        "lots",
        metavar="LOTS",
        help="catalogue: .xlsx, .csv, .txt, a mail (.eml) or a PDF with text",
    )
    lots.add_argument("--costs", required=True, metavar="FILE", help="cost settings of the firm")
    lots.add_argument(
        "--model", required=True, metavar="PATH", help="model of 'fit', or a published folder"
    )
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
    lots.add_argument("--budget", type=exact, metavar="AMOUNT", help="money for the day")
    lots.add_argument(
        "--won",
        action="append",
        type=won,
        default=[],
        metavar="LOT=PRICE",
        help="a lot bought already and its hammer price; plans the rest; may be repeated",
    )
    lots.add_argument(
        "--before", metavar="FILE", help="earlier catalogue: its notes are kept, changes are told"
    )
    lots.add_argument("--notes", metavar="FILE", help="run list whose notes column you filled")
    lots.add_argument("--as-of", type=day, metavar="DATE", help="day of the bids")
    add_map(lots)
    add_workers(lots)
    add_log(lots, own_figure=False)
    add_json(lots)


def _backtest(commands: Commands) -> None:
    test = command(commands, "backtest", "price past sales from earlier ones and compare")
    add_sales(test)
    add_stretch(test)
    test.add_argument(
        "--undated-seed", type=int, default=0, metavar="SEED", help="order of an undated list"
    )
    test.add_argument(
        "--least-price",
        type=amount,
        default=0.0,
        metavar="AMOUNT",
        help="leave out sales at this price and less",
    )
    add_unsold(test)
    add_assumptions(test)
    add_workers(test)
    test.add_argument("--predictions", metavar="OUT.csv", help="write one line for each sale")
    add_json(test)


def _replay(commands: Commands) -> None:
    said = "bid on past auction lots again, and say what each loss limit would have won and brought"
    again = command(commands, "replay", said)
    add_sales(again)
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
        again.add_argument(option, type=share, nargs="+", metavar="SHARE", help=what)
    add_stretch(again)
    again.add_argument(
        "--seed", type=int, default=0, metavar="SEED", help="of intervals and of a truth's luck"
    )
    add_unsold(again)
    add_assumptions(again)
    add_workers(again)
    again.add_argument("--page", metavar="OUT.html", help="write the page; as a PDF if so named")
    add_json(again)
