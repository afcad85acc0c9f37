"""An invented firm's two years as files: ledger, cars, sales, segments, costs, and the truth."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from valuation.records import Value
from valuation.schema import BY_NAME
from valuation.synthetic.carfiles import toml_value
from valuation.synthetic.costs import costs_toml
from valuation.synthetic.files import csv_bytes, sales_cells
from valuation.synthetic.stock import LedgerRow, ledger_workbook
from valuation.synthetic.yard import Yard
from valuation.synthetic.yard_cars import FIRM, YardCar
from valuation.synthetic.yard_outcomes import Outcome

__all__ = ["yard_files", "yard_ledger"]

_ORDER = ("bought", "spent", "withdrawn", "listed", "asking price", "sold")


def yard_files(yard: Yard) -> dict[str, bytes]:
    """Return every file of a firm by its name, a slash between folder and file.

    Parameters
    ----------
    yard : Yard
        The firm.

    Returns
    -------
    dict of str to bytes
        ``ledger.xlsx`` with every event up to the last day; ``sales.csv``, the market up to it;
        ``cars/STOCK.toml``, the cars in stock on it, and ``cars_gone/STOCK.toml``, those sold
        before; ``segments.toml``; ``costs.toml``; ``truth.json``.
    """
    held = {car.stock for car in yard.in_stock(yard.until)}
    files = {
        "ledger.xlsx": yard_ledger(yard),
        "sales.csv": csv_bytes(*sales_cells(yard.market.table)),
        "segments.toml": _segments(yard),
        "costs.toml": costs_toml(yard.market.settings.currency, firm=FIRM).encode(),
        "truth.json": _truth(yard),
    }
    for car in yard.cars:
        folder = "cars" if car.stock in held else "cars_gone"
        files[f"{folder}/{car.stock}.toml"] = _car_file(yard, car)
    return files


def yard_ledger(yard: Yard, *, until: date | None = None) -> bytes:
    """Return the firm's stock ledger as it stood at the end of a day.

    Parameters
    ----------
    yard : Yard
        The firm.
    until : datetime.date, optional
        Last day with an entry; by default that of the yard.

    Returns
    -------
    bytes
        A workbook with one row an event, as ``valuation ledger import`` reads it.
    """
    last = until or yard.until
    rows = [
        row
        for car, outcome in zip(yard.cars, yard.history.outcomes, strict=True)
        for row in _Entries(yard, car, outcome).rows()
        if row["date"] <= last
    ]
    rows.sort(key=lambda row: (row["date"], row["stock"], _ORDER.index(row["event"])))
    return ledger_workbook(rows)


@dataclass(frozen=True)
class _Entries:
    """What the ledger says of one car."""

    yard: Yard
    car: YardCar
    outcome: Outcome

    def rows(self) -> Iterator[LedgerRow]:
        """Yield the events of the car."""
        car = self.car
        yield from self._purchase()
        for after, what, amount in car.spent:
            yield self._paid(car.bought + timedelta(days=after), what, amount)
        yield self._row(car.ready, "listed", channel="dealer")
        for day, ask in self.outcome.asks:
            yield self._row(day, "asking price", amount=self._plain(ask))
        yield from self._end()

    def _purchase(self) -> Iterator[LedgerRow]:
        car = self.car
        lot = self.yard.market.table.loc[car.row]
        private = lot["channel"] == "private"
        yield self._row(
            car.bought,
            "bought",
            amount=self._plain(car.price),
            basis=lot["basis"],
            chassis=lot["chassis"],
            make=car.values["make"],
            model=car.values["model"],
            year=int(float(str(car.values["year"]))),
            channel=lot["channel"],
            venue=lot["venue"],
            **{"from or to": "private" if private else "auction house"},
        )
        if car.paid > car.price:
            more = "surcharge" if lot["basis"] != "hammer price" else "buyer's premium"
            yield self._paid(car.bought, more, round(car.paid - car.price, 2))

    def _end(self) -> Iterator[LedgerRow]:
        done = self.outcome
        end: dict[str, Any] = {"amount": self._plain(done.price)}
        if done.given_up is None:
            end |= {"channel": "dealer", "from or to": "private"}
        else:
            yield self._row(done.given_up, "withdrawn", what="sent to auction")
            fees = self.yard.costs.auction_fees(done.price)
            yield self._paid(done.sold, "commission", round(fees, 2))
            end |= {"channel": "live auction", "from or to": "auction house"}
        yield self._row(done.sold, "sold", **end)

    def _paid(self, on: date, what: str, amount: float) -> LedgerRow:
        return self._row(on, "spent", amount=self._plain(amount), what=what)

    def _row(self, on: date, event: str, **more: Any) -> LedgerRow:
        row = {"date": on, "stock": self.car.stock, "event": event, **more}
        if "amount" in more:
            row["currency"] = self.yard.market.settings.currency
        return {name: cell for name, cell in row.items() if cell is not None and cell == cell}

    @staticmethod
    def _plain(amount: float) -> int | float:
        return int(amount) if float(amount).is_integer() else amount


def _car_file(yard: Yard, car: YardCar) -> bytes:
    """Return one car as the firm shows it, with its asking price if it has one."""
    table = yard.market.table
    title = table.loc[car.row, "title"]
    lines = [
        f"# {car.stock}, a car of {FIRM}, an invented firm.",
        f"title = {json.dumps(title, ensure_ascii=False)}",
        f"chassis = {json.dumps(table.loc[car.row, 'chassis'], ensure_ascii=False)}",
    ]
    lines += [f"{n} = {toml_value(_cell(v))}" for n, v in car.values.items() if n in BY_NAME]
    asks = [ask for day, ask in yard.outcome(car.stock).asks if day <= yard.until]
    if asks:
        lines.append(f"asking = {asks[-1]:.0f}")
    lines += ["", "[sale]", 'channel = "dealer"', 'basis = "price paid"']
    return ("\n".join(lines) + "\n").encode()


def _cell(value: Value) -> str | float | list[str]:
    if isinstance(value, tuple):
        return list(value)
    if isinstance(value, str):
        return value
    return int(value) if float(value).is_integer() else float(value)


def _segments(yard: Yard) -> bytes:
    """Return the segments of the market as a settings table."""
    lines = ["# The segments of this invented market: which model lines belong to each."]
    for name, models in yard.segments().items():
        lines += ["", f'[segments."{name}"]', f"models = {toml_value(list(models))}"]
    return ("\n".join(lines) + "\n").encode()


def _truth(yard: Yard) -> bytes:
    content = {
        "format": 1,
        "seed": yard.seed,
        "first_day": yard.since.isoformat(),
        "last_day": yard.until.isoformat(),
        "demand": yard.demand.to_dict(),
        "costs": yard.costs.to_dict(),
        "cars": [_truth_of(car, yard.outcome(car.stock)) for car in yard.cars],
    }
    return (json.dumps(content, indent=1, ensure_ascii=False) + "\n").encode()


def _truth_of(car: YardCar, outcome: Outcome) -> Mapping[str, Any]:
    listed = car.at(car.ready)
    return {
        "stock": car.stock,
        "segment": car.segment,
        "bought": car.bought.isoformat(),
        "listed": car.ready.isoformat(),
        "outlay": round(car.outlay, 2),
        "value_when_listed": round(math.exp(float(car.log_value[listed]))),
        "held_to_be_worth": round(math.exp(float(car.log_idea[listed]))),
        "unseen": round(car.eager, 5),
        "patience": round(car.patience, 5),
        "outcome": {k: v for k, v in outcome.to_dict().items() if k not in ("stock", "segment")},
    }
