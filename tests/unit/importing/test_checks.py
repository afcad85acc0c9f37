from __future__ import annotations

import pandas as pd
import pytest

from valuation.importing.checks import check_rows, check_scale, is_token_price
from valuation.importing.faults import REMEDIES, FaultList
from valuation.records import empty_table


def sales(n: int, **columns: object) -> pd.DataFrame:
    table = empty_table(n)
    table["price"] = [20_000.0 + 100 * i for i in range(n)]
    table["year"] = [1960.0 + i % 10 for i in range(n)]
    table["make"] = pd.Series(["Kora"] * n, dtype=object)
    table["model"] = pd.Series(["GT"] * n, dtype=object)
    table["sale_date"] = pd.Series(["2024-05-06"] * n, dtype="datetime64[s]")
    for name, values in columns.items():
        table[name] = pd.Series(values, dtype=table[name].dtype)
    return table


def codes(faults: FaultList) -> dict[int, list[str]]:
    return {row: [f.code for f in found] for row, found in sorted(faults.by_row.items())}


@pytest.mark.parametrize(
    ("price", "currency", "dated", "token"),
    [
        (1, "EUR", True, True),
        (49.9, "EUR", True, True),
        (50, "EUR", True, False),
        (450, "JPY", True, True),
        (12_345, "EUR", False, True),
        (12_345, "EUR", True, False),
        (11_111, "EUR", False, True),
        (11_111, "EUR", True, False),
        (9_999_999, "EUR", False, True),
        (99_999, "EUR", False, False),
        (0, "EUR", False, False),
        (float("nan"), "EUR", False, False),
    ],
)
def test_token_prices(price: float, currency: str, dated: bool, token: bool) -> None:
    assert is_token_price(price, currency, dated=dated) is token


def test_clean_rows_have_no_faults() -> None:
    faults = FaultList()
    check_rows(sales(5), faults, dated=True, currency="EUR")
    assert codes(faults) == {}


def test_every_fault_of_a_row_is_named() -> None:
    table = sales(
        5,
        price=[float("nan"), -5, 1, 20_000, 20_000],
        year=[float("nan"), 1967, 1967, 1880, 2027],
        make=[None, "Kora", "Kora", "Kora", "Kora"],
        sale_date=[None, "2024-05-06", "2024-05-06", "2024-05-06", "2025-05-06"],
    )
    faults = FaultList()
    check_rows(table, faults, dated=True, currency="EUR")
    assert codes(faults) == {
        0: ["no price", "no year", "no make", "no date"],
        1: ["price not above zero"],
        2: ["token price"],
        3: ["impossible year"],
        4: ["impossible year"],
    }


def test_the_year_after_the_last_sale_is_possible() -> None:
    faults = FaultList()
    check_rows(sales(2, year=[2025, 2026]), faults, dated=True, currency="EUR")
    assert codes(faults) == {1: ["impossible year"]}


def test_without_dates_only_a_year_far_beyond_the_bulk_is_impossible() -> None:
    years = [1967.0] * 300 + [1990.0, 2024.0, 2060.0]
    table = sales(303, year=years, sale_date=[None] * 303)
    faults = FaultList()
    check_rows(table, faults, dated=False, currency="EUR")
    assert codes(faults) == {302: ["impossible year"]}


def test_a_lost_decimal_sign_is_out_of_scale() -> None:
    table = sales(12)
    table.loc[3, "price"] = 2_030_000.0
    table.loc[7, "price"] = 207.0
    faults = FaultList()
    check_scale(table, faults)
    assert codes(faults) == {3: ["price out of scale"], 7: ["price out of scale"]}
    assert faults.by_row[3][0].got == "2030000, where 20,500 is usual"
    assert faults.by_row[3][0].remedy == REMEDIES["price out of scale"]


def test_old_cars_are_compared_with_old_ones() -> None:
    """Prices fall by a factor of 200 with age: dear new cars do not make old ones mistakes."""
    n = 60
    table = sales(
        n,
        year=[1960.0 + i for i in range(n)],
        price=[100 * 1.094**i for i in range(n)],
    )
    faults = FaultList()
    check_scale(table, faults)
    assert codes(faults) == {}


def test_a_rare_model_among_ordinary_ones_is_no_mistake() -> None:
    n = 40
    prices = [3_000.0 * 1.08**i for i in range(n)]
    table = sales(n, price=prices, model=["Saloon"] * (n - 1) + [None])
    table.loc[n - 1, "price"] = 600_000.0
    faults = FaultList()
    check_scale(table, faults)
    assert codes(faults) == {}


def test_too_few_rows_to_judge() -> None:
    table = sales(5)
    table.loc[0, "price"] = 9_000_000.0
    faults = FaultList()
    check_scale(table, faults)
    assert codes(faults) == {}


def test_a_row_that_is_no_sale_gets_no_other_fault() -> None:
    faults = FaultList()
    faults.no_sale(0, "subtotal row", "Total")
    faults.add(0, "no year")
    faults.add(1, "no year", "Year", "x")
    faults.add(1, "no year")
    assert codes(faults) == {0: ["subtotal row"], 1: ["no year"]}
    assert faults.keep(3).tolist() == [False, False, True]
