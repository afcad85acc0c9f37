"""``valuation changes``: what moved between two models, and the sales that moved it."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from valuation.cli.inputs import car_of, inspection_settings_of
from valuation.cli.output import print_json
from valuation.report.change_section import change_page
from valuation.report.write import write_page
from valuation.store.modelfile import load_model
from valuation.study.change import model_changes
from valuation.study.segments import read_segments

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Load both models and the panel, compare, print the answer or its JSON."""
    old, new = (load_model(Path(p)) for p in (arguments.old, arguments.new))
    inspection = inspection_settings_of(arguments)
    panel = [car_of(path, new.makes, inspection) for path in arguments.panel or ()]
    segments = read_segments(arguments.segments) if arguments.segments else None
    change = model_changes(old, new, panel=panel, segments=segments)
    page = write_page(change_page(change), arguments.page) if arguments.page else None
    if arguments.json:
        print_json(change.to_dict())
        return
    print(change.summary())
    if page:
        print(f"Page to open: {page}")
