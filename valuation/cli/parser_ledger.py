"""The words of the commands about the firm's own cars: ledger, what was said, what came of it."""

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

__all__ = [
    "add_ledger",
    "add_log",
    "add_realised",
    "add_said",
    "add_who",
]


def add_who(parser: Parser) -> None:
    """Add who does it."""
    parser.add_argument("--by", metavar="NAME", help="who does it (default: the user's name)")


def add_log(parser: Parser, *, own_figure: bool) -> None:
    """Add the wish that what is said is kept, to be compared with the sale.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        Of a command that says something of cars.
    own_figure : bool
        Whether it says it of one car, so that a person can give a figure of their own.
    """
    group = parser.add_argument_group("keeping what was said")
    group.add_argument(
        "--log", action="store_true", help="keep what is said, to be compared with the sale"
    )
    group.add_argument(
        "--log-dir", metavar="DIR", help="folder to keep it in (default: said/ of the workspace)"
    )
    add_workspace(parser)
    add_who(parser)
    if not own_figure:
        return
    group.add_argument(
        "--stock", metavar="NUMBER", default="", help="your own number of the car, to find its sale"
    )
    group.add_argument("--as-lot", metavar="NUMBER", default="", help="lot as which it is offered")
    own = group.add_mutually_exclusive_group()
    own.add_argument(
        "--own-figure",
        type=exact,
        metavar="AMOUNT",
        help="what you yourself expect the car to bring, given before you see the answer",
    )
    own.add_argument(
        "--ask-own-figure",
        action="store_true",
        help="ask for that figure on the terminal before anything is worked out",
    )


def add_ledger(commands: Commands) -> None:
    """Add the stock ledger."""
    said = "the firm's own cars: read the stock ledger in, and show what is in it"
    ledger = command(commands, "ledger", said)
    steps = ledger.add_subparsers(dest="step", required=True, metavar="STEP")
    read = command(steps, "import", "read files of the stock ledger into the evidence")
    read.add_argument("files", metavar="FILE", nargs="+", help="ledger as .csv, .tsv or .xlsx")
    read.add_argument("--currency", metavar="CODE", default="", help="of amounts that name none")
    add_who(read)
    add_workspace(read)
    add_json(read)
    listed = command(steps, "list", "the cars of the ledger, one a line")
    listed.add_argument("--in-stock", action="store_true", help="only cars that are not sold")
    show = command(steps, "show", "one car of the ledger with every event")
    show.add_argument("car", metavar="STOCK", help="its stock number, or its chassis number")
    for parser in (listed, show):
        parser.add_argument("--as-of", type=day, metavar="DATE", help="day to count to")
        add_workspace(parser)
        add_json(parser)
    blank = command(steps, "template", "an empty ledger with every column explained")
    blank.add_argument("out", metavar="OUT.xlsx", help="where to write it")


def add_said(commands: Commands) -> None:
    """Add what was said of cars."""
    said = command(commands, "said", "what was said of cars: collect it, list it, override it")
    steps = said.add_subparsers(dest="step", required=True, metavar="STEP")
    collect = command(steps, "collect", "bring the files of what was said into the evidence")
    collect.add_argument(
        "--log-dir",
        metavar="DIR",
        action="append",
        default=[],
        help="further folder of such files; may be given several times",
    )
    listed = command(steps, "list", "what was said, the last first")
    listed.add_argument("--last", type=count, metavar="N", help="only the last N")
    over = command(steps, "override", "set a figure of your own in place of what was said")
    over.add_argument("id", metavar="ID", help="of what was said, as list and --log show it")
    over.add_argument("--figure", type=exact, required=True, metavar="AMOUNT", help="your figure")
    over.add_argument("--reason", required=True, metavar="TEXT", help="why")
    over.add_argument("--log-dir", metavar="DIR", help="folder of such files")
    for parser in (collect, listed, over):
        add_workspace(parser)
        add_json(parser)
    for parser in (collect, over):
        add_who(parser)


def add_realised(commands: Commands) -> None:
    """Add predicted against realised."""
    parser = command(commands, "realised", "what was said of cars beside what they brought")
    parser.add_argument("--page", metavar="OUT.html", help="write the page; as a PDF if so named")
    parser.add_argument(
        "--won-record",
        metavar="WON.csv",
        help="write what lots that were won were expected to bring and brought, for [winning]",
    )
    parser.add_argument(
        "--within-days",
        type=count,
        metavar="N",
        help="longest time from what was said to the sale (default: that of the settings, or 730)",
    )
    parser.add_argument(
        "--seed", type=int, default=0, metavar="SEED", help="of the intervals of paired differences"
    )
    parser.add_argument("--as-of", type=day, metavar="DATE", help="day to count to")
    add_who(parser)
    add_workspace(parser)
    add_json(parser)
