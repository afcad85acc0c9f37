"""``valuation export``: write the evidence as Parquet files, one per year of sale."""

from __future__ import annotations

from argparse import Namespace

from valuation.cli.inputs import workspace_of_arguments
from valuation.cli.output import print_json
from valuation.evidence.parquet import evidence_to_parquet

__all__ = ["run"]

FORMAT = 1


def run(arguments: Namespace) -> None:
    """Write the files and say which they are."""
    written = evidence_to_parquet(workspace_of_arguments(arguments), arguments.folder)
    if arguments.json:
        print_json({"format": FORMAT, "files": [str(path) for path in written]})
        return
    for path in written:
        print(f"wrote {path}")
