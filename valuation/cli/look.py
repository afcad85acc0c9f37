"""``valuation look``: the sales of a model that should be looked at, and what hangs on each."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from valuation.cli.output import print_json
from valuation.report.look_section import look_page
from valuation.report.write import write_page
from valuation.store.modelfile import load_model
from valuation.study.look import sales_to_look_at

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Load the model, go through its sales, print the list or write its page."""
    looked = sales_to_look_at(load_model(Path(arguments.model)), most=arguments.most)
    page = write_page(look_page(looked), arguments.page) if arguments.page else None
    if arguments.json:
        print_json(looked.to_dict())
        return
    print(looked.summary())
    if page is not None:
        print(f"Page to open: {page}")
