"""``valuation template``: write an empty sale file."""

from __future__ import annotations

from argparse import Namespace

from valuation.importing.template import write_template

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Write the file and say where it is."""
    write_template(arguments.out)
    print(f"Empty sale file: {arguments.out}")
