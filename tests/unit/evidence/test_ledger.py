"""The stock ledger in the evidence: cars from files that overlap, none twice, undone and back."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from said import PRICE

from valuation.evidence.batches import undo_batch
from valuation.evidence.book import evidence_book
from valuation.evidence.known_sales import OwnSale, own_sales
from valuation.evidence.ledger_cars import Entry, stock_cars
from valuation.evidence.ledger_in import (
    LedgerImport,
    import_ledger,
    ledger_of,
    ledger_rows_set_aside,
)
from valuation.evidence.opening import reading, writing
from valuation.evidence.rebuild import rebuild
from valuation.evidence.said_files import write_said
from valuation.evidence.said_in import collect_said, said_of
from valuation.evidence.sales_in import import_sales
from valuation.evidence.workspace import Workspace
from valuation.importing.ledger import read_ledger_data
from valuation.results.ledger import CarMark, Ledger, StockCar, StockEvent

NOW = datetime(2025, 1, 1, 9, tzinfo=UTC)
DAY = date(2025, 1, 1)
HEADER = "date,stock,event,amount,currency,what,chassis,make,model,year"
MAY = (
    "2024-03-14,H-1,bought,31500.50,EUR,,TR4-1180,Torvane,GT,1968",
    "2024-03-20,H-1,spent,450.25,EUR,transport,,,,",
    "2024-05-01,H-1,listed,,,,,,,",
    "2024-05-01,H-1,asking price,44900,EUR,,,,,",
)
JUNE = (*MAY, "2024-06-02,H-1,asking price,42500,EUR,,,,,", "2024-08-15,H-1,sold,41250,EUR,,,,,")


def ledger_file(folder: Path, name: str, lines: tuple[str, ...], header: str = HEADER) -> Path:
    path = folder / name
    path.write_text("\n".join([header, *lines]) + "\n", encoding="utf-8")
    return path


def read_in(workspace: Workspace, *files: Path, now: datetime = NOW) -> LedgerImport:
    return import_ledger(workspace, files, who="Ada", now=now)


def cars(workspace: Workspace) -> tuple[StockCar, ...]:
    with reading(workspace) as con:
        return ledger_of(con, as_of=DAY).cars


def put_together(*files: tuple[str, ...], header: str = HEADER, as_of: date = DAY) -> StockCar:
    """Return the one car of files that were read in one after the other."""
    entries = []
    for order, lines in enumerate(files):
        data = "\n".join([header, *lines]).encode()
        read = read_ledger_data("ledger.csv", data, today=DAY)
        entries += [Entry(mark, event, order) for mark, event in read.entries]
    (car,) = stock_cars(entries, as_of=as_of)
    return car


def test_a_car_has_its_days_costs_and_asking_prices(tmp_path: Path, workspace: Workspace) -> None:
    done = read_in(workspace, ledger_file(tmp_path, "ledger.csv", JUNE))
    assert done.files[0].outcome == "new"
    (car,) = cars(workspace)
    assert car.mark.name == "1968 Torvane GT"
    assert (car.state, car.in_stock, car.days_in_stock, car.days_to_sell) == (
        "sold",
        False,
        154,
        106,
    )
    assert car.costs == (("EUR", Decimal("31950.75")),)
    assert car.margin == Decimal("9299.25")
    assert [(e.on, e.amount) for e in car.asking_prices] == [
        (date(2024, 5, 1), Decimal(44900)),
        (date(2024, 6, 2), Decimal(42500)),
    ]
    batch = done.files[0].batch
    assert batch is not None
    assert {e.batch for e in car.events} == {batch.batch}
    assert car.to_dict()["costs"] == {"EUR": "31950.75"}
    assert "days to sell   106" in car.summary()


def test_as_of_an_earlier_day_later_events_have_not_happened() -> None:
    car = put_together(JUNE, as_of=date(2024, 5, 31))
    assert (car.state, car.days_in_stock, car.margin) == ("listed", 78, None)


def test_a_growing_ledger_counts_every_event_once() -> None:
    car = put_together(MAY, JUNE)
    assert car.costs == (("EUR", Decimal("31950.75")),)
    assert [e.event for e in car.events] == [
        "bought", "spent", "listed", "asking price", "asking price", "sold",
    ]  # fmt: skip
    assert car.remarks == ()


def test_what_a_later_file_puts_right_counts_and_is_told() -> None:
    car = put_together(MAY, tuple(line.replace("450.25", "480") for line in MAY))
    assert car.costs == (("EUR", Decimal("31980.50")),)
    assert car.remarks == (
        "Replaced by a later file: spent 450.25 EUR for transport on 2024-03-20.",
    )


def test_a_file_of_costs_alone_is_added_whenever_it_comes() -> None:
    car = put_together(("2024-04-02,H-1,spent,99.99,EUR,paint,,,,",), MAY, JUNE)
    assert car.costs == (("EUR", Decimal("32050.74")),)


def test_the_asking_price_of_a_later_list_has_no_day_of_its_own() -> None:
    header = "stock,bought date,bought price,listed date,asking price"
    may = ("H-1,2024-03-14,31500 EUR,2024-05-01,44900 EUR",)
    july = ("H-1,2024-03-14,31500 EUR,2024-05-01,42500 EUR",)
    car = put_together(may, july, header=header)
    assert [(e.on, e.amount) for e in car.asking_prices] == [
        (date(2024, 5, 1), Decimal(44900)),
        (None, Decimal(42500)),
    ]
    assert "day not stated" in car.asking_prices[1].words()


def test_the_same_file_again_adds_nothing_and_an_undone_one_comes_back(
    tmp_path: Path, workspace: Workspace
) -> None:
    path = ledger_file(tmp_path, "ledger.csv", (*MAY, "2024-03-20,H-1,spent,,EUR,paint,,,,"))
    first = read_in(workspace, path).files[0]
    again = read_in(workspace, path).files[0]
    assert (again.outcome, again.batch) == ("known", first.batch)
    assert first.batch is not None
    with writing(workspace, who="Ada", now=NOW) as con:
        undo_batch(con, first.batch.batch, reason="wrong file", who="Ada", now=NOW)
    assert cars(workspace) == ()
    back = read_in(workspace, path).files[0]
    assert back.outcome == "restored"
    assert [f.code for f in back.set_aside[0].faults] == ["no amount"]
    assert len(cars(workspace)) == 1


def test_rows_set_aside_are_kept_with_their_reasons(tmp_path: Path, workspace: Workspace) -> None:
    bad = ("never,H-1,bought,much,EUR,,,,,",)
    done = read_in(workspace, ledger_file(tmp_path, "ledger.csv", (*MAY, *bad)))
    batch = done.files[0].batch
    assert batch is not None
    assert (batch.rows, batch.accepted, batch.set_aside) == (5, 4, 1)
    with reading(workspace) as con:
        assert ledger_rows_set_aside(con, batch.batch) == done.files[0].set_aside
    assert "row 6: date: unreadable date (never). Write the day as 2025-06-14." in done.summary()


def test_a_file_that_is_no_ledger_hinders_no_other(tmp_path: Path, workspace: Workspace) -> None:
    wrong = ledger_file(tmp_path, "wrong.csv", ("1,2",), "a,b")
    done = read_in(workspace, wrong, tmp_path / "missing.csv", ledger_file(tmp_path, "l.csv", MAY))
    assert [f.outcome for f in done.files] == ["refused", "refused", "new"]
    assert [f.file for f in done.refused] == ["wrong.csv", "missing.csv"]
    assert done.to_dict()["files"][0]["fault"].startswith("wrong.csv: no columns of a stock ledger")


def test_the_file_itself_which_may_name_customers_is_not_kept(
    tmp_path: Path, workspace: Workspace
) -> None:
    told = "2024-08-15,H-1,sold,41250,EUR,for Ida Marrow,,,,"
    odd = "2024-08-16,H-1,Ida Marrow came,5,EUR,,,,,"
    done = read_in(workspace, ledger_file(tmp_path, "ledger.csv", (*MAY, told, odd)))
    assert "unknown event (Ida Marrow came)" in done.summary()
    kept = [p for p in workspace.root.rglob("*") if p.is_file()]
    assert kept
    assert not any(b"Marrow" in p.read_bytes() for p in kept)


def entry(
    event: str,
    day: str | None,
    amount: int | None = None,
    *,
    stock: str = "",
    chassis: str = "TR4-1180",
    order: int = 0,
    what: str = "",
) -> Entry:
    on = None if day is None else date.fromisoformat(day)
    exact = None if amount is None else Decimal(amount)
    mark = CarMark(stock, chassis, "Torvane", "GT", 1968)
    made = StockEvent(event, on, exact, "EUR" if amount else "", what, part="work")
    return Entry(mark, made, order)


def test_a_chassis_bought_again_after_its_sale_is_a_second_car() -> None:
    made = stock_cars(
        [
            entry("bought", "2022-01-01", 100),
            entry("sold", "2022-03-01", 120),
            entry("bought", "2023-05-01", 90),
            entry("spent", "2023-05-02", 5),
        ],
        as_of=DAY,
    )
    assert [(c.state, c.costs) for c in made] == [
        ("sold", (("EUR", Decimal(100)),)),
        ("in stock", (("EUR", Decimal(95)),)),
    ]


def test_an_event_without_a_stock_number_goes_to_the_car_that_was_there() -> None:
    made = stock_cars(
        [
            entry("bought", "2022-01-01", 100, stock="H-1"),
            entry("sold", "2022-03-01", 120, stock="H-1"),
            entry("bought", "2023-05-01", 90, stock="H-2"),
            entry("spent", "2022-02-01", 7),
            entry("spent", "2023-06-01", 5),
        ],
        as_of=DAY,
    )
    assert [(c.mark.stock, c.costs) for c in made] == [
        ("H-1", (("EUR", Decimal(107)),)),
        ("H-2", (("EUR", Decimal(95)),)),
    ]


def test_a_sale_stated_twice_counts_once_and_is_told() -> None:
    (car,) = stock_cars(
        [
            entry("bought", "2022-01-01", 100, stock="H-1"),
            entry("sold", "2022-03-01", 120, stock="H-1"),
            entry("sold", "2022-03-04", 125, stock="H-1", order=1),
        ],
        as_of=DAY,
    )
    assert car.sold is not None
    assert car.sold.amount == 125
    assert car.remarks == ("Stated twice, the last one counts; also: sold 120 EUR on 2022-03-01.",)


def test_a_margin_across_currencies_is_not_made_up() -> None:
    mark = CarMark("H-1")
    events = (
        StockEvent("bought", date(2024, 1, 1), Decimal(100), "USD"),
        StockEvent("sold", date(2024, 2, 1), Decimal(120), "EUR"),
    )
    car = StockCar(mark, events, DAY)
    assert car.margin is None
    assert car.costs == (("USD", Decimal(100)),)


def test_a_car_withdrawn_from_sale_is_still_in_stock() -> None:
    (car,) = stock_cars(
        [
            entry("bought", "2024-01-01", 100),
            entry("listed", "2024-02-01"),
            entry("withdrawn", "2024-03-01"),
        ],
        as_of=DAY,
    )
    assert (car.state, car.in_stock) == ("withdrawn", True)
    assert "1 of them in stock" in Ledger((car,), DAY).summary()


cents = st.integers(min_value=-(10**9), max_value=10**9)


@given(spent=st.lists(cents, max_size=20), bought=st.integers(1, 10**9), sold=st.integers(1, 10**9))
def test_costs_and_margin_are_exact(spent: list[int], bought: int, sold: int) -> None:
    day = date(2024, 1, 1)
    events = [StockEvent("bought", day, Decimal(bought) / 100, "EUR")]
    events += [
        StockEvent("spent", day, Decimal(c) / 100, "EUR", f"cost {i}", "work")
        for i, c in enumerate(spent)
    ]
    events.append(StockEvent("sold", day, Decimal(sold) / 100, "EUR"))
    (car,) = stock_cars([Entry(CarMark("H-1"), e, 0) for e in events], as_of=DAY)
    assert car.costs == (("EUR", Decimal(bought + sum(spent)) / 100),)
    assert car.margin == Decimal(sold - bought - sum(spent)) / 100


@given(order=st.permutations(range(6)))
def test_the_order_of_rows_in_a_file_does_not_matter(order: list[int]) -> None:
    rows = [
        entry("bought", "2024-01-01", 100),
        entry("spent", "2024-01-05", 7, what="paint"),
        entry("listed", "2024-02-01"),
        entry("asking price", "2024-02-01", 150),
        entry("asking price", "2024-03-01", 140),
        entry("sold", "2024-04-01", 135),
    ]
    (car,) = stock_cars([rows[i] for i in order], as_of=DAY)
    assert [e.event for e in car.events] == [r.event.event for r in rows]


SALES = "sale_id,sale_date,price,currency,basis,outcome,venue,chassis,make,model,year"


@pytest.mark.parametrize(("days", "linked"), [(0, True), (7, True), (8, False)])
def test_a_sale_of_the_firm_in_the_evidence_is_found_again(
    tmp_path: Path, workspace: Workspace, days: int, linked: bool
) -> None:
    lines = (
        "112,2024-03-14,31500,EUR,hammer price,sold,Harbour Rooms,TR4-1180,Torvane,GT,1968",
        f"S1,2024-08-{15 + days},41250,EUR,price paid,sold,Heron Lane,TR4-1180,Torvane,GT,1968",
        "S2,2024-08-15,39000,EUR,price paid,sold,Heron Lane,TR4-9999,Torvane,GT,1968",
    )
    sales = ledger_file(tmp_path, "sales.csv", lines, SALES)
    import_sales(workspace, [sales], who="Ada", now=NOW)
    read_in(workspace, ledger_file(tmp_path, "ledger.csv", JUNE))
    with reading(workspace) as con:
        book = evidence_book(con)
        found = own_sales(book, ledger_of(con, as_of=DAY).cars)
    keys = dict(zip(book.table["sale_id"], book.table["sale_key"], strict=True))
    sold = [OwnSale(keys["S1"], "sold", "H-1")] * linked
    assert found == (OwnSale(keys["112"], "bought", "H-1"), *sold)


def test_ledger_and_what_was_said_come_back_when_the_database_is_lost(
    tmp_path: Path, workspace: Workspace
) -> None:
    read_in(workspace, ledger_file(tmp_path, "ledger.csv", JUNE))
    write_said(workspace.said, PRICE)
    collect_said(workspace, who="Ada", now=NOW)
    before = cars(workspace)
    workspace.database.unlink()
    done = rebuild(workspace, who="Ada", now=NOW)
    assert done.lost == ()
    assert cars(workspace) == before
    with reading(workspace) as con:
        assert list(said_of(con).said.values()) == [PRICE]
