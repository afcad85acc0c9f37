"""An invented firm: its cars follow the market's truth, and its files are read as they stand."""

from __future__ import annotations

import json
import math
import runpy
from collections import Counter
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from valuation.bidding.costs_file import read_costs
from valuation.evidence.ledger_cars import Entry, stock_cars
from valuation.importing.car_file import read_car
from valuation.importing.ledger import read_ledger_data
from valuation.importing.sales import read_sales
from valuation.results.ledger import StockCar
from valuation.study.segments import read_segments
from valuation.synthetic.files import write_files
from valuation.synthetic.yard import Yard, make_yard
from valuation.synthetic.yard_costs import YardCosts
from valuation.synthetic.yard_files import yard_files, yard_ledger

SCRIPT = Path(__file__).parents[3] / "data_synthetic" / "generate.py"


@pytest.fixture(scope="module")
def yard() -> Yard:
    return make_yard(seed=3, sales=1500, a_month=5)


@pytest.fixture(scope="module")
def files(yard: Yard) -> dict[str, bytes]:
    return yard_files(yard)


@pytest.fixture(scope="module")
def folder(files: dict[str, bytes], tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("yard")
    write_files(path, files)
    return path


def cars_of(ledger: bytes, as_of: date) -> dict[str, StockCar]:
    """Read a ledger as the evidence does, and say how it stood on a day."""
    read = read_ledger_data("ledger.xlsx", ledger, today=date(2025, 1, 1))
    assert read.set_aside == ()
    entries = [Entry(mark, event, 0) for mark, event in read.entries]
    return {car.mark.stock: car for car in stock_cars(entries, as_of=as_of)}


def test_the_same_seed_gives_the_same_bytes(files: dict[str, bytes]) -> None:
    assert yard_files(make_yard(seed=3, sales=1500, a_month=5)) == files
    other = yard_ledger(make_yard(seed=4, sales=1500, a_month=5))
    assert other != files["ledger.xlsx"]


def test_a_car_is_worth_what_the_market_says_and_what_is_its_own(yard: Yard) -> None:
    truth = yard.market.truth
    for car in yard.cars[::9]:
        for after in (0, 40, 400):
            day = car.bought + timedelta(days=after)
            expected = yard.market.true_log_price(
                car.values, day=day, channel="dealer", basis="price paid"
            )
            # Who restored a car that nobody restored is no silence.
            asked = 0.0 if "restorer" in car.values else truth.silent["restorer"]
            own = truth.of_car[car.row]
            assert car.log_value[after] == pytest.approx(expected - asked + own)


def test_work_raises_the_grade_and_costs_money(yard: Yard) -> None:
    found = yard.market.truth.state["condition_grade"]
    better = [car.condition - float(found[car.row]) for car in yard.cars]
    assert all(0 <= points <= 11 for points in better)
    assert sum(points > 3 for points in better) > 0.7 * len(better)
    assert all(car.outlay > car.paid >= car.price for car in yard.cars)
    assert all(car.bought < car.ready for car in yard.cars)


def test_no_car_and_no_month_is_bought_twice_over(yard: Yard) -> None:
    chassis = yard.market.table["chassis"]
    assert len({chassis[car.row] for car in yard.cars}) == len(yard.cars)
    months = Counter(f"{car.bought:%Y-%m}" for car in yard.cars)
    assert max(months.values()) == 5
    assert len(months) >= 20
    assert [c.bought for c in yard.cars] == sorted(c.bought for c in yard.cars)


def test_the_ledger_says_what_happened_and_nothing_after_its_last_day(yard: Yard) -> None:
    cars = cars_of(yard_ledger(yard), yard.until)
    assert set(cars) == {car.stock for car in yard.cars}
    states = Counter(car.state for car in cars.values())
    assert min(states["sold"], states["listed"]) > 5
    for car in yard.cars:
        told, done = cars[car.stock], yard.outcome(car.stock)
        asks = [(e.on, float(e.amount or 0)) for e in told.asking_prices]
        assert asks == [(d, a) for d, a in done.asks if d <= yard.until]
        assert told.in_stock == (done.sold > yard.until)
        if told.in_stock:
            continue
        assert told.sold is not None
        assert (told.sold.on, told.sold.amount) == (done.sold, Decimal(int(done.price)))
        assert (told.sold.channel == "live auction") == (done.by == "auction")
        assert bool(told.of("withdrawn")) == (done.by == "auction")
        fees = yard.costs.auction_fees(done.price) if done.given_up else 0.0
        assert float(told.costs[0][1]) == pytest.approx(car.outlay + fees, abs=0.01)


def test_an_earlier_ledger_is_the_beginning_of_the_later_one(yard: Yard) -> None:
    day = date(2023, 12, 31)
    early = cars_of(yard_ledger(yard, until=day), day)
    late = cars_of(yard_ledger(yard), day)
    assert {k: c.state for k, c in early.items()} == {k: c.state for k, c in late.items()}
    assert {c.stock for c in yard.in_stock(day)} == {k for k, c in early.items() if c.in_stock}


def test_every_car_has_a_file_that_says_what_it_is(yard: Yard, folder: Path) -> None:
    held = {car.stock for car in yard.in_stock(yard.until)}
    assert {p.stem for p in (folder / "cars").iterdir()} == held
    assert {p.stem for p in (folder / "cars_gone").iterdir()} == {
        car.stock for car in yard.cars if car.stock not in held
    }
    for car in yard.cars[::5]:
        where = folder / ("cars" if car.stock in held else "cars_gone") / f"{car.stock}.toml"
        read = read_car(where)
        assert dict(read.values) == dict(car.values)
        assert read.sale == {"channel": "dealer", "basis": "price paid"}
        asks = [a for d, a in yard.outcome(car.stock).asks if d <= yard.until]
        assert read.asking == (asks[-1] if asks else None)


def test_the_sales_are_those_of_the_market(yard: Yard, folder: Path) -> None:
    book = read_sales([folder / "sales.csv"])
    assert len(book.table) + len(book.set_aside) == len(yard.market.table)
    assert book.table["sale_date"].max().date() <= yard.until


def test_every_car_belongs_to_one_segment_of_the_file(yard: Yard, folder: Path) -> None:
    segments = read_segments(folder / "segments.toml")
    table = yard.market.table.loc[[car.row for car in yard.cars]].reset_index(drop=True)
    rows = {s.name: s.rows(table) for s in segments}
    for k, car in enumerate(yard.cars):
        assert [name for name, mask in rows.items() if mask[k]] == [car.segment]


def test_the_costs_are_those_of_the_settings_file(folder: Path) -> None:
    costs, mine = read_costs(folder / "costs.toml"), YardCosts()
    holding, selling = costs.holding, costs.selling
    assert (float(holding.finance), float(holding.insurance)) == (
        pytest.approx(100 * mine.finance),
        pytest.approx(100 * mine.insurance),
    )
    assert float(holding.storage) == mine.storage_a_month
    assert float(selling.card_fee.percent) == pytest.approx(100 * mine.card_fee)
    assert selling.card_fee.cap == Decimal(int(mine.card_fee_cap))
    assert float(selling.warranty.percent) == pytest.approx(100 * mine.warranty)
    assert float(selling.warranty.amount) == mine.warranty_amount
    assert (selling.tax.on, float(selling.tax.percent)) == ("margin", 100 * mine.tax)


def test_the_truth_tells_every_car(yard: Yard, files: dict[str, bytes]) -> None:
    truth = json.loads(files["truth.json"])
    assert (truth["format"], truth["last_day"]) == (1, "2024-12-31")
    assert truth["demand"]["segments"]["exotics"]["elasticity"] == 1.2
    for told, car in zip(truth["cars"], yard.cars, strict=True):
        done = yard.outcome(car.stock)
        assert (told["stock"], told["segment"]) == (car.stock, car.segment)
        assert told["outcome"]["sold"] == done.sold.isoformat()
        worth = math.exp(car.log_value[car.at(car.ready)])
        assert told["value_when_listed"] == pytest.approx(worth, abs=0.5)


def test_the_script_writes_the_firm(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    runpy.run_path(str(SCRIPT))["main"](["--seed", "3", "--yard", str(tmp_path)])
    written = sum(1 for p in tmp_path.rglob("*.*") if p.is_file())
    assert len(capsys.readouterr().out.splitlines()) == written
    truth = json.loads((tmp_path / "truth.json").read_text(encoding="utf-8"))
    assert len(truth["cars"]) > 240
