"""What past lots brought when they were sold again."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from valuation.errors import SettingsError
from valuation.records import SalesBook
from valuation.study.replay_resale import LaterSales, TrueResales, read_truth
from valuation.synthetic.files import market_files
from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.settings import MarketSettings
from valuation.synthetic.world import REGIONS, VENUES

DEALER = {"channel": "dealer", "basis": "price paid"}


@pytest.fixture(scope="module")
def world() -> SyntheticMarket:
    """Return a market whose makers state everything: a record then tells the true car."""
    return make_market(MarketSettings(sales=400, lines=4, openness=30.0), seed=3)


def test_the_true_price_is_that_of_the_market(world: SyntheticMarket) -> None:
    truth = TrueResales(world, seed=1)
    on = date(2024, 3, 1)
    for i in (0, 57, 311):
        values = truth.inspected(world.table["sale_id"][i])
        wanted = world.true_log_price(
            values, day=on, channel="dealer", venue="Teasel Yard", region="North Shore",
            basis="price paid",
        )  # fmt: skip
        sale = {**DEALER, "venue": "Teasel Yard", "region": "North Shore"}
        assert truth.expected(i, on, sale) == pytest.approx(wanted, abs=1e-9)


def test_no_named_firm_is_the_mean_of_all(world: SyntheticMarket) -> None:
    truth, on = TrueResales(world, seed=1), date(2024, 3, 1)
    named = [
        truth.expected(5, on, {**DEALER, "venue": v.name, "region": r})
        for v in VENUES
        if v.channel == "dealer"
        for r in REGIONS
    ]
    assert truth.expected(5, on, DEALER) == pytest.approx(np.mean(named))
    # What is asked is not what is paid.
    asked = truth.expected(5, on, {**DEALER, "basis": "asking price"})
    assert asked == pytest.approx(truth.expected(5, on, DEALER))


def test_the_luck_is_as_large_as_the_market_s_and_stays_with_the_lot(
    world: SyntheticMarket,
) -> None:
    truth, on = TrueResales(world, seed=1), date(2024, 3, 1)
    ids = world.table["sale_id"].tolist()
    luck = np.array(
        [np.log(truth.of(s, on, DEALER)) - truth.expected(i, on, DEALER)
         for i, s in enumerate(ids)]
    )  # fmt: skip
    again = [np.log(TrueResales(world, seed=1).of(s, on, DEALER)) for s in ids[:5]]
    other = [np.log(TrueResales(world, seed=2).of(s, on, DEALER)) for s in ids[:5]]
    assert again == [np.log(truth.of(s, on, DEALER)) for s in ids[:5]]
    assert not np.allclose(again, other)
    # What the car itself brings more comes back at the resale, on top of a fresh luck.
    of_car = world.truth.of_car
    fresh = luck - of_car
    sd = world.settings.noise_sd * np.sqrt(1 - world.settings.car_share)
    expected = sd * np.sqrt(np.mean(world.truth.sale["thinness"] ** 2))
    assert np.std(fresh) == pytest.approx(expected, rel=0.2)
    assert abs(np.corrcoef(fresh, world.truth.residual())[0, 1]) < 0.15
    assert truth.of("no such sale", on, DEALER) is None
    assert truth.inspected("no such sale") == {}


def test_an_unknown_firm_is_named(world: SyntheticMarket) -> None:
    truth = TrueResales(world, seed=1)
    with pytest.raises(SettingsError) as caught:
        truth.of(str(world.table["sale_id"][0]), date(2024, 1, 1), {**DEALER, "venue": "Elsewhere"})
    said = str(caught.value)
    assert said.startswith("replay: the invented market has no such venue (got: Elsewhere). Sell")
    assert "Heron Lane Cars" in said


def test_a_market_is_made_again_from_its_truth(world: SyntheticMarket, tmp_path: Path) -> None:
    path = tmp_path / "truth.json"
    path.write_bytes(market_files(world)["truth.json"])
    found = read_truth(path, world.book(), seed=4)
    pd.testing.assert_frame_equal(found.market.table, world.table)
    assert found.seed == 4


def test_another_book_is_refused(world: SyntheticMarket, tmp_path: Path) -> None:
    path = tmp_path / "truth.json"
    path.write_bytes(market_files(world)["truth.json"])
    table = world.table.assign(price=world.table["price"] + (np.arange(len(world.table)) == 7))
    with pytest.raises(SettingsError) as caught:
        read_truth(path, SalesBook(table, "EUR", True))
    first = world.table.iloc[7]
    assert str(caught.value) == (
        "truth.json: the sales are not those of this invented market (got: sale "
        f"{first['sale_id']} at {first['price'] + 1:,.2f}, 1 in all). Name the truth.json that "
        "was written with them."
    )


@pytest.mark.parametrize("text", ["{", "[]", '{"seed": 1}', '{"seed": 1, "settings": {"x": 2}}'])
def test_what_is_no_truth_is_refused(text: str, world: SyntheticMarket, tmp_path: Path) -> None:
    path = tmp_path / "t.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError, match=r"t\.json: this is not the truth of an invented"):
        read_truth(path, world.book())
    with pytest.raises(SettingsError, match="not the truth"):
        read_truth(tmp_path / "none.json", world.book())


def test_the_next_sale_of_a_chassis_counts(world: SyntheticMarket) -> None:
    table = world.table.iloc[:5].copy()
    table["chassis"] = ["A", "A", "B", "A", None]
    table["outcome"] = ["sold", "not sold", "sold", "sold", "sold"]
    table["channel"] = "online auction"
    table["basis"] = "hammer price"
    table["sale_date"] = pd.to_datetime([f"2024-0{m}-01" for m in (1, 2, 3, 4, 5)]).astype(
        "datetime64[s]"
    )
    ids = table["sale_id"].tolist()
    later = LaterSales(SalesBook(table, "EUR", True))
    on = date(2024, 6, 1)
    assert later.of(ids[0], on, DEALER) == table["price"].iloc[3]
    assert [later.of(s, on, DEALER) for s in ids[1:]] == [None] * 4
    assert later.says(ids) == (
        "A resale is the next sale of the same chassis in the book, as it is recorded (1 hammer "
        "price, online auction); costs are taken at their middle."
    )
    assert "(there is none)" in later.says(ids[1:])
