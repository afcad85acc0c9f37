"""``valuation price``: price one car and explain the price."""

from __future__ import annotations

from argparse import Namespace

from valuation.appraisal.appraise import appraise
from valuation.cli.output import print_json
from valuation.importing.car_file import read_car
from valuation.report.valuation_page import render_valuation
from valuation.report.write import write_page
from valuation.store.modelfile import load_model

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Load the model, read the car, price it, print the answer or its JSON."""
    market = load_model(arguments.model)
    car = read_car(arguments.car, known_makes=market.makes)
    valuation = appraise(market, car, as_of=arguments.as_of)
    page = write_page(render_valuation(valuation), arguments.page) if arguments.page else None
    if arguments.json:
        print_json(valuation.to_dict())
        return
    print(valuation.summary())
    if page:
        print(f"Page to open: {page}")
