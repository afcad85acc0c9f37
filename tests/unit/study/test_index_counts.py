"""Lots sold and days to sell beside the level of a segment."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import numpy as np
import pandas as pd
import pytest
from statsmodels.stats.proportion import proportion_confint

from valuation.records import empty_table
from valuation.results.ledger import CarMark, StockCar, StockEvent
from valuation.study.index_counts import (
    days_of_sales,
    days_to_sell_by_month,
    ledger_days,
    sell_through_by_month,
)


def lots(months: dict[str, tuple[int, int]]) -> pd.DataFrame:
    """Return so many sold and unsold auction lots of each month."""
    rows = [
        {"sale_date": f"{month}-10", "channel": "live auction", "outcome": outcome}
        for month, (sold, left) in months.items()
        for outcome in ["sold"] * sold + ["not sold"] * left
    ]
    frame = pd.DataFrame(rows)
    return frame.assign(sale_date=pd.to_datetime(frame["sale_date"]).astype("datetime64[s]"))


def test_a_month_with_enough_lots_speaks_for_itself() -> None:
    found = sell_through_by_month(lots({"2024-05": (9, 3)}), ["2024-05"])["2024-05"]
    assert (found.sold, found.offered, found.share, found.over) == (9, 12, 0.75, "month")
    low, high = proportion_confint(9, 12, method="wilson")
    assert (found.low, found.high) == pytest.approx((low, high), abs=1e-9)


def test_a_thin_month_takes_its_quarter_and_a_thin_quarter_its_year() -> None:
    frame = lots({"2024-01": (2, 1), "2024-04": (5, 2), "2024-06": (6, 1), "2024-11": (1, 1)})
    found = sell_through_by_month(frame, ["2024-01", "2024-05", "2024-06", "2024-12", "2023-12"])
    said = {m: (s.sold, s.offered, s.over) for m, s in found.items()}
    assert said == {
        "2024-01": (14, 19, "year"),
        "2024-05": (11, 14, "quarter"),
        "2024-06": (11, 14, "quarter"),
        "2024-12": (14, 19, "year"),
    }


def test_only_lots_at_auction_count_and_lists_of_sales_alone_tell_nothing() -> None:
    frame = lots({"2024-05": (12, 4)})
    frame.loc[frame["outcome"] == "not sold", "channel"] = "dealer"
    assert sell_through_by_month(frame, ["2024-05"]) == {}
    frame = lots({"2024-05": (12, 4)}).assign(outcome="offered")
    assert sell_through_by_month(frame, ["2024-05"]) == {}


def test_days_to_sell_are_those_of_the_cars_that_were_sold() -> None:
    frame = lots({"2024-05": (6, 2), "2024-08": (2, 0)})
    days = np.array([10.0, 20, 30, 40, 50, np.nan, 900, 900, 70, 80])
    found = days_to_sell_by_month(frame, days, ["2024-05", "2024-08", "2023-05"])
    may = found["2024-05"]
    assert (may.cars, may.low, may.median, may.high, may.over) == (5, 20.0, 30.0, 40.0, "month")
    assert (found["2024-08"].cars, found["2024-08"].over) == (7, "year")
    assert set(found) == {"2024-05", "2024-08"}


def test_the_key_of_a_sale_counts_before_its_number_and_that_before_the_chassis() -> None:
    frame = pd.DataFrame(
        {
            "sale_key": ["b:1", "b:2", "b:3", "b:4"],
            "sale_id": ["L1", "L2", None, None],
            "chassis": ["A 1", "A 1", "a  1", None],
        }
    )
    found = days_of_sales(frame, {"b:1": 5, "l2": 6, "A 1": 7})
    assert found[:3].tolist() == [5.0, 6.0, 7.0]
    assert np.isnan(found[3])


def stocked(name: str, chassis: str, listed: str, sold: str | None, row: int) -> StockCar:
    events = [StockEvent("listed", date.fromisoformat(listed), batch="l", row=row)]
    if sold:
        amount = Decimal(30_000)
        events.append(
            StockEvent("sold", date.fromisoformat(sold), amount, "EUR", batch="l", row=row + 1)
        )
    return StockCar(
        CarMark(stock=name, chassis=chassis, make="Torvane"), tuple(events), date(2025, 1, 1)
    )


def test_the_ledger_says_how_long_its_own_sales_took() -> None:
    frame = empty_table(2).assign(
        sale_key=["b:1", "b:2"],
        sale_date=pd.to_datetime(["2021-03-01", "2024-05-10"]).astype("datetime64[s]"),
        sale_id=["112", "S9"],
        chassis="TR4-1180-K",
        make="Torvane",
        price=[20_000.0, 30_000.0],
        outcome="sold",
    )
    cars = [
        stocked("H-1", "TR4-1180-K", "2024-04-01", "2024-05-10", 2),
        stocked("H-2", "OTHER-7", "2024-04-01", "2024-04-21", 6),
        stocked("H-3", "OTHER-8", "2024-04-01", None, 8),
    ]
    found = ledger_days(frame, "EUR", cars)
    # The sale of three years before is another's; the one only the ledger knows has its own key.
    assert found == {"b:2": 39.0, "l:3": 39.0, "l:7": 20.0}
    assert ledger_days(frame.drop(columns="sale_key"), "EUR", cars) == {}
    assert ledger_days(frame, "EUR", cars[2:]) == {}
