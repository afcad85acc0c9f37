"""``valuation check``: say what of a sale file can be used, and why the rest can't."""

from __future__ import annotations

from argparse import Namespace

from valuation.cli.inputs import map_of, rates_of
from valuation.cli.output import print_json
from valuation.importing.map_file import write_map
from valuation.importing.report import check_report, write_rejects
from valuation.importing.sales import propose_map, read_sales

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Read the file, write what was asked for, print the report."""
    source = propose_map(arguments.file, map_of(arguments))
    book = read_sales(arguments.file, source_map=source, rates=rates_of(arguments))
    if arguments.write_map:
        write_map(source, arguments.write_map)
    if arguments.rejects:
        write_rejects(book, arguments.rejects)
    report = check_report(book, source)
    if arguments.json:
        print_json(report.to_dict())
        return
    print(report.summary())
    for said, path in (("Map", arguments.write_map), ("Rows set aside", arguments.rejects)):
        if path:
            print(f"{said}: {path}")
