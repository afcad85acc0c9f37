"""The words of the commands about evidence: files read in, batches, corrections, the ledger."""

from __future__ import annotations

from argparse import SUPPRESS
from collections.abc import Callable

from valuation.cli.parser_ledger import add_ledger, add_said
from valuation.cli.parser_parts import (
    Commands,
    Parser,
    add_json,
    add_map,
    add_rates,
    add_workspace,
    command,
)

__all__ = ["add_evidence_commands"]


def add_evidence_commands(commands: Commands) -> None:
    """Add the commands of this group, in the order in which the help lists them."""
    groups: tuple[Callable[[Commands], None], ...] = (
        _import,
        _batches,
        _sales,
        _export,
        _doctor,
        add_ledger,
        add_said,
    )
    for add in groups:
        add(commands)


def _add_by(parser: Parser) -> None:
    parser.add_argument("--by", metavar="NAME", help="who does it; your user name if not given")


def _add_decision(parser: Parser) -> None:
    parser.add_argument("--reason", required=True, metavar="TEXT", help="why")
    _add_by(parser)


def _import(commands: Commands) -> None:
    said = "read files of sales into the evidence, each once"
    read = command(commands, "import", said)
    read.add_argument(
        "files",
        metavar="FILE",
        nargs="*",
        help="sales as CSV, TSV, XLSX or Parquet, or a folder of Parquet files",
    )
    read.add_argument("--inbox", metavar="DIR", help="read in every file of this folder")
    add_map(read)
    add_rates(read)
    read.add_argument("--currency", metavar="CODE", help="currency of evidence that has none yet")
    _add_by(read)
    add_workspace(read)
    add_json(read)


def _batches(commands: Commands) -> None:
    said = "list the files that were read in, or decide about one"
    of = command(commands, "batches", said)
    acts = of.add_subparsers(dest="act", metavar="ACT")
    for name, what in (
        ("list", "list every batch (what happens without an ACT)"),
        ("show", "say how a file was read and what was set aside"),
        ("undo", "take a batch out of the evidence"),
        ("hold", "keep a batch out until somebody accepts it"),
        ("accept", "take a held batch into use"),
        ("restore", "take an undone batch into use again"),
    ):
        act = command(acts, name, what)
        if name != "list":
            act.add_argument("batch", metavar="ID", help="its name, or how it begins")
        if name not in ("list", "show"):
            _add_decision(act)
        # What stands before the ACT is not taken back by its absence behind it.
        act.argument_default = SUPPRESS
        add_workspace(act)
        add_json(act)
    add_workspace(of)
    add_json(of)


def _sales(commands: Commands) -> None:
    said = "say where a sale comes from, or correct it"
    of = command(commands, "sales", said)
    acts = of.add_subparsers(dest="act", required=True, metavar="ACT")
    for name, what in (
        ("show", "say where a sale comes from and what became of it"),
        ("set-aside", "let a sale count no more"),
        ("fix", "put values of a sale right"),
        ("restore", "let a sale count again as it came"),
    ):
        act = command(acts, name, what)
        act.add_argument("sale", metavar="KEY", help="batch and row, such as 1f60af764346:12")
        if name == "fix":
            act.add_argument(
                "values",
                metavar="ATTRIBUTE=VALUE",
                nargs="+",
                help="as in a car file; 'not stated' takes a value away",
            )
        if name != "show":
            _add_decision(act)
        add_workspace(act)
        add_json(act)


def _export(commands: Commands) -> None:
    said = "write the sales that count as Parquet files, one per year of sale"
    export = command(commands, "export", said)
    export.add_argument(
        "folder", metavar="DIR", help="where to; files of the same names are replaced"
    )
    add_workspace(export)
    add_json(export)


def _doctor(commands: Commands) -> None:
    said = "find out whether the evidence is whole, save what can be saved, make it again"
    doctor = command(commands, "doctor", said)
    doctor.add_argument("--save", metavar="DIR", help="write every table that can be read")
    doctor.add_argument(
        "--rebuild", action="store_true", help="make the evidence again from files and journal"
    )
    _add_by(doctor)
    add_workspace(doctor)
    add_json(doctor)
