"""Hand-made reviews of the stock of an invented firm."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from valuation.results.stock_chance import SaleChance
from valuation.results.stock_parts import CarWorth, Drift, StockWorth, WayOut
from valuation.results.stock_review import ReviewedCar, StockReview

DAY = date(2025, 1, 31)
BEFORE = date(2024, 12, 31)
BOUGHT = date(2024, 6, 3)

WAYS = (
    WayOut("hold", 48_450, SaleChance(0.25, 0.15, 0.35), 100.0, 1_144.0, -1_461.0, -2_300.0,
           -700.0, -9_200.0),
    WayOut("new ask", 44_600, SaleChance(0.38, 0.28, 0.49), 81.0, 930.0, -1_935.0, -2_600.0,
           -1_200.0, -8_644.0),
    WayOut("auction", None, None, 28.0, 319.0, -4_205.0, None, None, -9_422.0),
)  # fmt: skip

OLD = ReviewedCar(
    "S-101", "1968 Torvane GT", "Torvane", "car file", "listed", Decimal(48_450),
    CarWorth(DAY, 41_400.0, 34_100.0, 50_300.0, 0.8, "today's model"),
    CarWorth(BOUGHT, 43_200.0, 36_000.0, 51_800.0, 0.8, "bid sheet of 1 Jun 2024"),
    Drift(BEFORE, -1.2, -3.1), 242, 215, Decimal("35500.00"), Decimal("1650.50"),
    Decimal("2210.35"), True, WAYS,
)  # fmt: skip

YOUNG = ReviewedCar(
    "S-114", "1972 Pellandro Grillante", "Pellandro",
    "the ledger alone: make, model and year", "listed", Decimal(26_900),
    CarWorth(DAY, 24_300.0, 19_900.0, 29_800.0, 0.8, "today's model"),
    CarWorth(BEFORE, 24_100.0, 19_700.0, 29_500.0, 0.8,
             "today's model, moved back by the level of the market"),
    Drift(BEFORE, 0.8, None), 31, 12, Decimal("19000.00"), Decimal("800.00"),
    Decimal("198.20"), False,
)  # fmt: skip

UNKNOWN = ReviewedCar(
    "=S-120", "1955 Quorrel Archdeacon", "Quorrel", "the ledger alone: make, model and year",
    "in stock", None, None, None, None, 4, None, None, None, None, False,
    notes=("It is not on offer (in stock).",),
)  # fmt: skip

BARE_OLD = ReviewedCar(
    "S-090", "1961 Skarnholt Grankott", "Skarnholt", "car file", "listed", Decimal(9_900),
    None, None, None, 300, 260, Decimal("7000.00"), Decimal("0.00"), Decimal("512.00"), True,
    notes=("It has no range: past forecasts are too few.",),
)  # fmt: skip


def review() -> StockReview:
    """Return a stock with a car of each kind."""
    worth = StockWorth(
        2, 66_900.0, 57_300.0, 77_200.0, 7_800.0, 7_100.0, 56_950.5, 2_408.55, 0.084,
        (("they have no range", 1), ("the ledger states no purchase", 1)),
    )  # fmt: skip
    return StockReview(
        "EUR", DAY, "dealer", BEFORE, True, (BARE_OLD, OLD, YOUNG, UNKNOWN), worth,
        "40 own sales and the starting assumption", True, 90, 150, 3.0,
        "Money tied up earned 0.50 a day for every 1,000 in the 41 cars sold so far.",
        ("Of 2 of 4 cars nothing is known but make, model and year.",),
    )  # fmt: skip


def empty() -> StockReview:
    """Return a stock without a car."""
    return StockReview(
        "EUR", DAY, "dealer", BEFORE, False, (), None,
        "starting assumption alone: no own sale, 20 are needed", False, 90, 150, 3.0,
        "What your money earns elsewhere is not known.",
    )  # fmt: skip
