"""What recommended asking prices earn on invented firms, beside the firm's habit and a plain rule.

The chance to sell, what customers beat a price down by and what money earns elsewhere are learned
from the first year of a firm's ledger; the cars first offered in the second year are then played
with each rule, each car with the same luck.
"""

from __future__ import annotations

import argparse
import math
import tempfile
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Literal

import numpy as np

from valuation.bidding.costs_file import read_costs
from valuation.results.ledger import CarMark, StockCar, StockEvent
from valuation.running.runner import Runner
from valuation.stocking.asking import Asking, OnOffer, try_asks
from valuation.stocking.asking_choice import choose
from valuation.stocking.asking_money import money_elsewhere, paid_below
from valuation.stocking.chance import fit_chance
from valuation.stocking.settings import default_stock_settings
from valuation.stocking.spells import OfferedCar, spells_of
from valuation.synthetic.costs import costs_toml
from valuation.synthetic.yard import Yard, make_yard
from valuation.synthetic.yard_cars import YardCar
from valuation.synthetic.yard_outcomes import Played
from valuation.synthetic.yard_play import AUCTION, KnownCar, Policy, estimate_plus

LEARNED = date(2023, 12, 31)
"""Last day that is known when prices are decided."""

OFF = np.linspace(-0.15, 0.15, 5)
"""How far a value may lie from the firm's idea: bands alone depend on it."""

HAMMER = -0.14
"""Log of what the rooms bring against the firm's idea; about what the channels differ by."""

RECOMMENDED, HIGHEST_NET, HABIT, PLUS_TEN = "recommended", "highest net", "habit", "plus 10 %"

_CODE = "EUR"


def ledger_car(yard: Yard, car: YardCar, until: date = LEARNED) -> StockCar:
    """Return a car as the ledger tells it; what comes after a day is read by nobody."""
    out = yard.outcome(car.stock)
    events = [_event("bought", car.bought, car.paid)]
    events += [_event("spent", car.bought + timedelta(d), a, what=w) for d, w, a in car.spent]
    events += [_event("asking price", day, ask) for day, ask in out.asks]
    if out.given_up:
        events.append(StockEvent("withdrawn", out.given_up))
    sold = _event("sold", out.sold, out.price)
    events.append(replace(sold, party="auction house") if out.given_up else sold)
    return StockCar(CarMark(stock=car.stock), tuple(events), until)


def _event(kind: str, on: date, amount: float, what: str = "") -> StockEvent:
    return StockEvent(kind, on, Decimal(str(round(amount, 2))), _CODE, what)


def offered(yard: Yard, until: date = LEARNED) -> list[OfferedCar]:
    """Return the firm's cars with its own idea of their values."""

    def idea(car: YardCar) -> Callable[[date], float]:
        return lambda day: float(car.log_idea[car.at(day)])

    return [
        OfferedCar(ledger_car(yard, c, until), c.segment, c.condition, idea(c)) for c in yard.cars
    ]


def firm_of(yard: Yard) -> Asking:
    """Learn what the firm knows at the end of its first year."""
    settings = default_stock_settings()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "costs.toml")
        path.write_text(costs_toml(_CODE), encoding="utf-8")
        costs = read_costs(path)
    cars = offered(yard)
    spells = spells_of(cars, currency=_CODE, as_of=LEARNED)
    least, stock = settings.least_sales, [c.stock for c in cars]
    return Asking(
        fit_chance(spells, settings),
        costs,
        settings.asking,
        settings.auction,
        paid_below(cars, costs, as_of=LEARNED, least=least),
        money_elsewhere(stock, costs, settings.auction, as_of=LEARNED, least=least),
    )


def recommended(firm: Asking, rule: str, *, every: int) -> Policy:
    """Return the policy of the recommended price, decided again after so many days."""

    def asked(known: KnownCar) -> float | Literal["auction"]:
        if known.ask is not None and (known.listed_days % every or not every):
            return known.ask
        value = math.log(known.estimate)
        car = OnOffer(
            known.segment, known.condition, known.day, known.listed_days,
            (known.day - known.bought).days, value, OFF, value + HAMMER + OFF,
            round(100 * known.paid), round(100 * known.outlay), asked_until(known),
        )  # fmt: skip
        if known.listed_days >= firm.settings.horizon_days:
            return AUCTION
        tried = try_asks(car, firm, target_days=firm.settings.target_days)
        choice = choose(tried, car.outlay, firm.elsewhere, target=None)
        place = choice.best_net if rule == HIGHEST_NET else choice.recommended
        return float(tried.asks[place]) / 100

    return asked


def asked_until(known: KnownCar) -> tuple[tuple[int, float], ...]:
    """Return what was asked of a car so far: days, and log asking price over the estimate."""
    ends = [day for day, _ in known.asks[1:]] + [known.day]
    value = math.log(known.estimate)
    spans = zip(known.asks, ends, strict=False)
    return tuple(((end - day).days, math.log(ask) - value) for (day, ask), end in spans)


def play(seed: int, every: int) -> dict[str, Played]:
    """Play every rule on the cars of one firm that were first offered in its second year."""
    yard = make_yard(seed=seed)
    late = [c.stock for c in yard.cars if c.ready > LEARNED]
    firm = firm_of(yard)
    return {
        RECOMMENDED: yard.play(recommended(firm, RECOMMENDED, every=every), stocks=late),
        HIGHEST_NET: yard.play(recommended(firm, HIGHEST_NET, every=every), stocks=late),
        HABIT: yard.habitual(stocks=late),
        PLUS_TEN: yard.play(estimate_plus(0.1), stocks=late),
    }


def table(played: dict[int, dict[str, Played]]) -> str:
    """Return a line for each firm, and in how many of them each rule earned more than the habit."""
    rules = list(next(iter(played.values())))
    heads = [f"{r}, {what}" for r in rules for what in ("a day", "a car", "days")]
    lines = [f"| firm | cars | {' | '.join(heads)} |", f"|---|---:|{'---:|' * len(heads)}"]
    for seed, by_rule in played.items():
        cells = [_figures(p) for p in by_rule.values()]
        lines.append(f"| {seed} | {len(by_rule[HABIT].outcomes)} | {' | '.join(cells)} |")
    days, cars = [], []
    for rule in rules:
        all_cars = Played(tuple(o for by in played.values() for o in by[rule].outcomes))
        days.append(
            f"{all_cars.net_a_day:.2f} | {all_cars.net_a_car:,.0f} | {all_cars.days_held:.0f}"
        )
        pairs = [(by[rule], by[HABIT]) for by in played.values()]
        wins = sum(a.net_a_day > b.net_a_day for a, b in pairs)
        more = sum(a.net_a_car > b.net_a_car for a, b in pairs)
        cars.append(f"{wins} | {more} | ")
    count = sum(len(by[HABIT].outcomes) for by in played.values())
    lines.append(f"| all | {count} | {' | '.join(days)} |")
    lines.append(f"| firms that earned more than by habit | | {' | '.join(cars)} |")
    return "\n".join(lines)


def _figures(p: Played) -> str:
    return f"{p.net_a_day:.2f} | {p.net_a_car:,.0f} | {p.days_held:.0f}"


def main() -> None:
    """Play the rules and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, nargs="+", default=[1, 2, 3])
    parser.add_argument("--every", type=int, default=28, help="days between decisions")
    parser.add_argument("--workers", type=int, default=1)
    words = parser.parse_args()
    with Runner(workers=words.workers) as run:
        found = list(run.each(_play, words.seeds, common=words.every, what="playing"))
    print(table(dict(zip(words.seeds, found, strict=True))))


def _play(every: int, seed: int) -> dict[str, Played]:
    return play(seed, every)


if __name__ == "__main__":
    main()
