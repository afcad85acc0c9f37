"""``valuation price``: price cars and explain the prices."""

from __future__ import annotations

from argparse import Namespace

from valuation.appraisal.appraise import appraise_all
from valuation.appraisal.named_variant import with_named_variant
from valuation.cli.inputs import car_of, inspection_settings_of
from valuation.cli.output import print_json
from valuation.errors import SettingsError
from valuation.report.valuation_page import render_valuation
from valuation.report.write import write_page
from valuation.store.modelfile import load_model

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Load the model, read the cars, price them, print the answers or their JSON."""
    if arguments.page and len(arguments.cars) > 1:
        raise SettingsError(
            "--page",
            "one page shows one car",
            got=f"{len(arguments.cars)} cars",
            remedy="Price each car whose page you want by itself",
        )
    market = load_model(arguments.model)
    inspection = inspection_settings_of(arguments)
    cars = [
        with_named_variant(market, car_of(path, market.makes, inspection))
        for path in arguments.cars
    ]
    valuations = appraise_all(market, cars, as_of=arguments.as_of)
    one = valuations[0] if len(valuations) == 1 else None
    page = write_page(render_valuation(one), arguments.page) if one and arguments.page else None
    if arguments.json:
        print_json(one.to_dict() if one else {"valuations": [v.to_dict() for v in valuations]})
        return
    print("\n\n".join(v.summary() for v in valuations))
    if page:
        print(f"Page to open: {page}")
