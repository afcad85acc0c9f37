"""Which sale answers what was said: how it is found, in which time, and what is not compared."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path

import pandas as pd
import pytest
from said import BID, CAR, PRICE

from valuation.evidence.ledger_in import import_ledger
from valuation.evidence.margins import recorded_parts
from valuation.evidence.opening import reading
from valuation.evidence.pairs import (
    PairSettings,
    keep_pairs,
    pair_up,
    pairs_of,
    sales_spoken_of,
)
from valuation.evidence.said_files import log_override, said_id, write_said
from valuation.evidence.said_in import SaidStore, collect_said
from valuation.evidence.sales_in import import_sales
from valuation.evidence.workspace import Workspace
from valuation.records import SalesBook, empty_table
from valuation.results.ledger import CarMark, StockCar, StockEvent
from valuation.results.pair import Pair
from valuation.results.said import Override, Said

NOW = datetime(2025, 1, 1, tzinfo=UTC)
DAY = date(2025, 1, 1)
OTHER = replace(CAR, chassis="", venue="", lot="")


def book(*rows: dict[str, object]) -> SalesBook:
    """Return sales of the evidence; what is not named is as of the lot that was spoken of."""
    usual = {
        "sale_id": "112", "sale_date": "2024-03-14", "price": 31500.0, "basis": "hammer price",
        "outcome": "sold", "channel": "live auction", "venue": "Harbour Rooms",
        "chassis": "TR4-1180-K", "make": "Torvane", "model": "GT",
    }  # fmt: skip
    table = empty_table(len(rows))
    for name in usual:
        values = [(usual | row)[name] for row in rows]
        table[name] = pd.to_datetime(pd.Series(values)) if name == "sale_date" else values
    table["sale_key"] = [f"b:{i}" for i in range(len(rows))]
    return SalesBook(table, "EUR", True)


def car(
    *,
    bought: str | None = "2024-03-14",
    sold: str | None = "2024-08-15",
    stock: str = "H-1",
    chassis: str = "TR4-1180-K",
    lot: str = "112",
    channel: str = "live auction",
    more: Sequence[StockEvent] = (),
) -> StockCar:
    """Return a car of the firm, bought as that lot."""
    events = []
    if bought:
        events.append(
            StockEvent(
                "bought",
                date.fromisoformat(bought),
                Decimal(31500),
                "EUR",
                basis="hammer price",
                channel=channel,
                venue="Harbour Rooms" if lot else "",
                lot=lot,
                batch="l",
                row=2,
            )
        )
    events += more
    if sold:
        on = date.fromisoformat(sold)
        events.append(
            StockEvent("sold", on, Decimal(41250), "EUR", channel="dealer", batch="l", row=9)
        )
    return StockCar(CarMark(stock, chassis, "Torvane", "GT", 1968), tuple(events), DAY)


def spent(amount: str, what: str, part: str, currency: str = "EUR") -> StockEvent:
    return StockEvent("spent", date(2024, 4, 1), Decimal(amount), currency, what, part)


def pair(
    *said: Said,
    sales: SalesBook | None = None,
    cars: Sequence[StockCar] = (),
    overrides: Sequence[Override] = (),
    settings: PairSettings | None = None,
) -> tuple[Pair, ...]:
    by_id = {said_id(s): s for s in said}
    placed = {o.of: tuple(x for x in overrides if x.of == o.of) for o in overrides}
    store = SaidStore(by_id, placed)
    known = sales_spoken_of(store, sales or book(), cars)
    found = pair_up(store, known, cars, settings or PairSettings())
    assert found.said == len(said)
    assert found.waiting + sum(1 + p.earlier for p in found.pairs) == len(said)
    return found.pairs


def test_a_valuation_is_held_against_the_next_sale_of_its_chassis() -> None:
    (p,) = pair(PRICE, sales=book({"sale_date": "2024-02-01", "price": 1.0}, {}))
    assert (p.sale_key, p.source, p.matched_by) == ("b:1", "sales", "chassis")
    assert (p.price, p.days, p.inside, p.left_out) == (Decimal("31500.00"), 4, True, "")
    assert p.own_figure == 30000


@pytest.mark.parametrize(
    ("on", "found"),
    [
        ("2024-03-09", False),
        ("2024-03-10", True),
        ("2026-03-10", True),
        ("2026-03-11", False),
    ],
)
def test_a_sale_counts_from_the_day_it_was_said_for_as_long_as_is_set(on: str, found: bool) -> None:
    assert bool(pair(PRICE, sales=book({"sale_date": on}))) is found


@pytest.mark.parametrize(
    ("changed", "found"),
    [
        ({}, True),
        ({"sale_id": "113"}, False),
        ({"venue": "Tanglewater Hall"}, False),
        ({"sale_date": "2024-05-09"}, True),
        ({"sale_date": "2024-05-10"}, False),
        ({"chassis": "TR4-1180-K"}, True),
        ({"outcome": "not sold"}, False),
    ],
)
def test_without_a_chassis_venue_lot_and_day_tell(changed: dict[str, object], found: bool) -> None:
    said = replace(PRICE, car=replace(CAR, chassis=""))
    made = pair(said, sales=book({"chassis": None} | changed))
    assert [p.matched_by for p in made] == ["lot"] * found


def test_a_lot_number_never_overrules_another_chassis() -> None:
    assert pair(PRICE, sales=book({"chassis": "TR4-9999-K"})) == ()


def test_the_firms_own_number_tells_where_nothing_else_does() -> None:
    said = replace(PRICE, car=replace(OTHER, stock="h1"), channel="dealer", basis="price paid")
    (p,) = pair(said, cars=[car(bought="2024-01-05")])
    assert (p.source, p.matched_by, p.price, p.left_out) == (
        "ledger",
        "stock number",
        Decimal(41250),
        "",
    )


def test_a_sale_in_ledger_and_evidence_is_one_sale() -> None:
    sales = book({}, {"sale_id": "S1", "sale_date": "2024-08-13", "channel": "dealer"})
    later = replace(PRICE, said_at=datetime(2024, 7, 1, tzinfo=UTC), channel="dealer")
    first, second = pair(PRICE, later, sales=sales, cars=[car()])
    assert (first.source, first.sale_key) == ("sales", "b:0")
    assert (second.source, second.price, second.sold_on) == (
        "ledger",
        Decimal(41250),
        date(2024, 8, 15),
    )


def test_a_purchase_that_no_list_tells_of_answers_the_valuation_too() -> None:
    (p,) = pair(PRICE, cars=[car()])
    assert (p.source, p.price, p.basis) == ("ledger", Decimal(31500), "hammer price")


def test_the_last_thing_said_counts_and_the_others_are_kept() -> None:
    early = replace(PRICE, central=Decimal(29000), said_at=datetime(2024, 2, 1, tzinfo=UTC))
    too_late = replace(PRICE, said_at=datetime(2024, 3, 15, tzinfo=UTC))
    (p,) = pair(early, PRICE, too_late, sales=book({}))
    assert (p.central, p.earlier) == (Decimal(32000), 1)


def test_a_bid_is_held_against_the_firms_own_resale_only() -> None:
    assert pair(BID, sales=book({})) == ()
    (p,) = pair(BID, sales=book({}), cars=[car()])
    assert (p.of_resale, p.price, p.sold_on) == (True, Decimal(41250), date(2024, 8, 15))


@pytest.mark.parametrize(
    ("changed", "reason"),
    [
        ({"currency": "USD"}, "said in another currency"),
        ({"basis": "price paid"}, "said for another price basis"),
        ({"channel": "dealer"}, "said for another channel"),
        ({"central": None}, "no estimate was given"),
        ({"basis": "unknown", "channel": ""}, ""),
    ],
)
def test_what_is_not_of_the_same_kind_is_kept_and_not_compared(
    changed: dict[str, object], reason: str
) -> None:
    (p,) = pair(replace(PRICE, **changed), sales=book({}))
    assert p.left_out == reason


def test_an_override_counts_if_it_was_set_before_the_sale() -> None:
    of = said_id(PRICE)
    made = [
        Override(of, Decimal(30500), "rust", "Ada", datetime(2024, 3, 12, tzinfo=UTC)),
        Override(of, Decimal(31400), "less rust", "Ada", datetime(2024, 3, 13, tzinfo=UTC)),
        Override(of, Decimal(31500), "I knew", "Ada", datetime(2024, 3, 15, tzinfo=UTC)),
    ]
    (p,) = pair(PRICE, sales=book({}), overrides=made)
    assert (p.override, p.override_reason) == (Decimal(31400), "less rust")


COSTS = (
    spent("4950", "buyer's premium", "purchase"),
    spent("612.40", "service", "work"),
    spent("-12.40", "parts returned", "work"),
    spent("230", "card fee", "selling"),
)


def test_both_margins_hold_the_purchase_as_paid_and_the_costs_that_are_recorded() -> None:
    (p,) = pair(BID, cars=[car(more=COSTS)])
    assert p.margin is not None
    assert p.margin.parts == ("work", "selling")
    assert p.margin.purchase == Decimal(36450)
    # 42,350 less the purchase, less 925 of work and 230 of selling; holding is not recorded.
    assert p.margin.expected == Decimal("4745.00")
    assert p.margin.realised == Decimal("3970.00")


def test_a_part_recorded_of_any_car_counts_for_all() -> None:
    other = car(stock="H-2", chassis="OM74-1213", more=[spent("5", "storage", "holding")])
    assert recorded_parts([car(more=COSTS), other]) == ("work", "holding", "selling")
    (p,) = pair(BID, cars=[car(more=COSTS), other])
    assert p.margin is not None
    assert p.margin.expected == Decimal("3895.00")


@pytest.mark.parametrize(
    ("said", "own", "why"),
    [
        (BID, car(more=[spent("5", "work", "work", "USD")]), "amounts in several currencies"),
        (BID, car(bought="2024-03-01"), "it was bought before"),
        (replace(BID, bid=replace(BID.bid, account=())), car(), "a run list says no account"),
    ],
)
def test_where_there_is_no_margin_it_says_why(said: Said, own: StockCar, why: str) -> None:
    (p,) = pair(said, cars=[own])
    assert (p.margin, p.no_margin) == (None, why)


@pytest.mark.parametrize(
    ("own", "won"),
    [
        (car(), True),
        (car(lot="", channel="private"), False),
        (car(lot="", channel=""), True),
        (car(bought="2024-03-12"), False),
    ],
)
def test_only_lots_that_were_bid_on_and_won_teach_about_winning(own: StockCar, won: bool) -> None:
    (p,) = pair(BID, cars=[own])
    assert p.expected == (Decimal("43750.00") if won else None)


def test_pairs_are_kept_and_come_out_the_same_each_time(
    tmp_path: Path, workspace: Workspace
) -> None:
    write_said(workspace.said, PRICE)
    bid = write_said(workspace.said, BID)
    moment = BID.said_at + timedelta(minutes=5)
    log_override(workspace.said, bid, figure=Decimal(43000), reason="rare", by="Bo", now=moment)
    collect_said(workspace, who="Ada", now=NOW)
    sales = tmp_path / "sales.csv"
    sales.write_text(
        "sale_id,sale_date,price,currency,basis,outcome,channel,venue,chassis,make,model,year\n"
        "112,2024-03-14,31500,EUR,hammer price,sold,live auction,Harbour Rooms,TR4-1180-K,"
        "Torvane,GT,1968\n",
        encoding="utf-8",
    )
    import_sales(workspace, [sales], who="Ada", now=NOW)
    ledger = tmp_path / "ledger.csv"
    ledger.write_text(
        "date,stock,event,amount,currency,basis,what,channel,venue,lot,chassis,make,model,year\n"
        "2024-03-14,H-1,bought,31500,EUR,hammer price,,live auction,Harbour Rooms,112,TR4-1180-K,"
        "Torvane,GT,1968\n"
        "2024-04-02,H-1,spent,612.40,EUR,,paint,,,,,,,\n"
        "2024-08-15,H-1,sold,41250,EUR,,,dealer,,,,,,\n",
        encoding="utf-8",
    )
    import_ledger(workspace, [ledger], who="Ada", now=NOW)
    first = keep_pairs(workspace, as_of=DAY, who="Ada", now=NOW)
    again = keep_pairs(workspace, as_of=DAY, who="Ada", now=NOW)
    assert first == again
    price, resale = first.pairs
    assert (price.kind, price.price, resale.kind, resale.price) == (
        "price",
        Decimal("31500.00"),
        "bid",
        Decimal("41250.00"),
    )
    assert (resale.override, resale.override_reason) == (Decimal(43000), "rare")
    assert resale.margin is not None
    assert resale.margin.realised == Decimal("9137.60")
    with reading(workspace) as con:
        assert pairs_of(con) == first.pairs
        rows = con.execute("SELECT count(*), sum(price) FROM pairs").fetchall()
    assert rows == [(2, Decimal("72750.00"))]
