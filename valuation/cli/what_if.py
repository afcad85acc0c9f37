"""``valuation what-if``: what a car would be worth if some facts were otherwise."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Sequence
from decimal import Decimal

from valuation.appraisal.named_variant import with_named_variant
from valuation.cli.inputs import car_of, inspection_settings_of
from valuation.cli.output import print_json
from valuation.cli.own_car import stock_car_of
from valuation.errors import SettingsError
from valuation.report.what_if_page import what_if_page
from valuation.report.write import write_page
from valuation.selling.own_stock import known_by, purchase_of
from valuation.selling.questions import (
    Question,
    default_questions,
    questions_named,
    read_questions,
)
from valuation.selling.what_if import what_ifs
from valuation.selling.what_if_changes import read_change
from valuation.store.modelfile import load_model

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Load the model, read the car, ask the questions, print the answers or their JSON."""
    own = arguments.questions
    known = read_questions(own) if own else default_questions()
    if arguments.list_questions:
        _list(known, as_json=arguments.json)
        return
    _check(arguments)
    asked = _asked(arguments, known)
    cost = _cost(arguments)
    settings = inspection_settings_of(arguments)
    stock = stock_car_of(arguments) if arguments.stock else None
    market = load_model(arguments.model)
    car = with_named_variant(market, known_by(car_of(arguments.car, market.makes, settings), stock))
    answers = what_ifs(
        market,
        car,
        asked,
        as_of=arguments.as_of,
        channel=arguments.channel,
        settings=settings,
        cost=cost,
        purchase=purchase_of(stock, market.currency),
    )
    page = write_page(what_if_page(answers), arguments.page) if arguments.page else None
    if arguments.json:
        print_json(answers.to_dict())
        return
    print(answers.summary())
    if page:
        print(f"Page to open: {page}")


def _check(arguments: Namespace) -> None:
    """Tell what is needed to ask anything."""
    for value, name, remedy in (
        (arguments.car, "CAR", "Name a car file or a filled inspection sheet"),
        (arguments.model, "--model", "Name the model of 'fit', or a published folder"),
    ):
        if not value:
            raise SettingsError(name, "it is missing", got="nothing", remedy=remedy)


def _asked(arguments: Namespace, known: Sequence[Question]) -> list[Question]:
    """Return what is asked: the changes as one question, then those with names, else all."""
    changes = tuple(read_change(text) for text in arguments.changes)
    named = questions_named(known, arguments.ask)
    if not changes and not named:
        return list(known)
    return [*([Question("", "", changes)] if changes else []), *named]


def _cost(arguments: Namespace) -> tuple[Decimal, Decimal] | None:
    """Return the ends of the cost, None if none is given."""
    low, high = arguments.cost, arguments.cost_high
    if low is None and high is None:
        return None
    if low is None or (high is not None and high < low):
        raise SettingsError(
            "--cost-high",
            "it is the high end of a cost whose low end is --cost",
            got=f"{low or 'nothing'} to {high}",
            remedy="Give --cost N, and --cost-high a higher N",
        )
    return low, low if high is None else high


def _list(known: Sequence[Question], *, as_json: bool) -> None:
    """Say which questions there are."""
    if as_json:
        listed = [
            {"name": q.name, "ask": q.ask, "set": [str(c) for c in q.changes], "note": q.note}
            for q in known
        ]
        print_json({"format": 1, "questions": listed})
        return
    for q in known:
        print(f"{q.name}: {q.ask}")
        print(f"  {', '.join(str(c) for c in q.changes)}")
