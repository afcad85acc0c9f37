"""``valuation ledger``: read the stock ledger in, list its cars, show one, make an empty one."""

from __future__ import annotations

from argparse import Namespace
from datetime import UTC, date, datetime

from valuation.cli.inputs import who_of, workspace_of_arguments
from valuation.cli.output import print_json
from valuation.errors import LedgerFileError
from valuation.evidence.book import evidence_book
from valuation.evidence.known_sales import own_sales
from valuation.evidence.ledger_in import import_ledger, ledger_of
from valuation.evidence.opening import reading
from valuation.importing.ledger_template import write_ledger_template
from valuation.reading.text import compact
from valuation.results.ledger import Ledger, StockCar

__all__ = ["run"]


def run(arguments: Namespace) -> None:
    """Do the step that was asked for."""
    steps = {"import": _import, "list": _list, "show": _show, "template": _template}
    steps[arguments.step](arguments)


def _import(arguments: Namespace) -> None:
    workspace = workspace_of_arguments(arguments, make=True)
    done = import_ledger(
        workspace,
        arguments.files,
        currency=arguments.currency,
        who=who_of(arguments),
        now=datetime.now(UTC).astimezone(),
    )
    if arguments.json:
        print_json(done.to_dict())
    else:
        print(done.summary())
    if done.refused:
        raise LedgerFileError(
            "ledger import",
            "not every file could be read in",
            got=", ".join(f.file for f in done.refused),
            remedy="Each reason stands with its file",
        )


def _day(arguments: Namespace) -> date:
    asked: date | None = arguments.as_of
    return asked or datetime.now(UTC).astimezone().date()


def _list(arguments: Namespace) -> None:
    with reading(workspace_of_arguments(arguments)) as con:
        ledger = ledger_of(con, as_of=_day(arguments))
    cars = tuple(c for c in ledger.cars if c.in_stock or not arguments.in_stock)
    shown = Ledger(cars, ledger.as_of)
    if arguments.json:
        print_json(shown.to_dict())
    else:
        print(shown.summary())


def _show(arguments: Namespace) -> None:
    with reading(workspace_of_arguments(arguments)) as con:
        ledger = ledger_of(con, as_of=_day(arguments))
        cars = _named(ledger, arguments.car)
        own = own_sales(evidence_book(con), cars)
    if arguments.json:
        links = [{"event": o.event, "sale_key": o.sale_key, "stock": o.stock} for o in own]
        one = cars[0].to_dict() if len(cars) == 1 else {"cars": [c.to_dict() for c in cars]}
        print_json(one | {"in_evidence": links})
        return
    print("\n\n".join(c.summary() for c in cars))
    for o in own:
        print(f"  in the evidence: {o.event}, sale {o.sale_key}")


def _named(ledger: Ledger, asked: str) -> list[StockCar]:
    """Return the cars with a stock number, else those with a chassis number."""
    wanted = compact(asked)
    found = [c for c in ledger.cars if wanted and compact(c.mark.stock) == wanted]
    found = found or [c for c in ledger.cars if wanted and compact(c.mark.chassis) == wanted]
    if not found:
        raise LedgerFileError(
            "ledger show",
            "no car of the ledger has this stock number or chassis number",
            got=asked,
            remedy="See them all with: valuation ledger list",
        )
    return found


def _template(arguments: Namespace) -> None:
    write_ledger_template(arguments.out)
    print(f"Empty ledger: {arguments.out}")
