"""Hand-made market indices and changes between models of invented cars."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from valuation.results.change import AttributeChange, CarChange, Cause, LineChange, ModelChange
from valuation.results.index import (
    DaysToSell,
    IndexMonth,
    MarketIndex,
    SegmentIndex,
    SellThrough,
    YearChange,
)

LEVELS = (100.0, 101.5, 103.0, 102.0, 104.0, 106.0, 107.0, 106.5, 108.0, 110.0, 111.0, 112.0, 113.0)


def month(place: int, level: float, **changes: Any) -> IndexMonth:
    """Return a month of 2024 and after; its band widens with its place."""
    made = IndexMonth(
        month=f"{2024 + place // 12}-{place % 12 + 1:02d}",
        level=level,
        lower80=level - 0.8 * place,
        upper80=level + 0.8 * place,
        lower95=level - 1.2 * place,
        upper95=level + 1.2 * place,
        sales=3 if place % 4 == 1 else 9,
        thin=place % 4 == 1,
        held=False,
    )
    return replace(made, **changes)


def segment(name: str = "Torvane", **changes: Any) -> SegmentIndex:
    """Return thirteen months and one that is held."""
    months = [month(i, level) for i, level in enumerate(LEVELS)]
    lots = SellThrough(21, 28, 0.566, 0.873, "quarter")
    months[-1] = replace(
        months[-1], sell_through=lots, days_to_sell=DaysToSell(6, 41, 30, 66, "month")
    )
    months.append(month(13, 113.0, sales=0, thin=False, held=True))
    made = SegmentIndex(
        name=name,
        belongs=name,
        sales=105,
        yearly=0.05,
        months=tuple(months),
        year=YearChange("2024-01", "2025-01", 0.13, 0.03, 0.24),
    )
    return replace(made, **changes)


def index(**changes: Any) -> MarketIndex:
    """Return two segments of which the second moved by nothing one can tell."""
    calm = YearChange("2024-01", "2025-01", 0.01, -0.08, 0.11)
    bare = tuple(replace(m, sell_through=None, days_to_sell=None) for m in segment().months)
    still = segment(
        '=HYPERLINK("x")',
        belongs="Ystrix, Torvane GT; built 1950 to 1965",
        months=bare,
        year=calm,
        notes=("No share sold: lots that did not sell are not recorded, or too few lots are.",),
    )
    made = MarketIndex(
        base="2024-01",
        as_of=date(2025, 1, 31),
        last_sale=date(2025, 1, 28),
        estimand="market bid",
        segments=(segment(), still),
        notes=("12 sales belong to both Torvane and another.",),
    )
    return replace(made, **changes)


def revised() -> MarketIndex:
    """Return the same index set against an earlier one that ended in November."""
    first, second = index().segments
    months = tuple(
        replace(m, revised_by=0.1 * i - 0.5, was_held=m.month > "2024-11")
        for i, m in enumerate(first.months)
    )
    return index(segments=(replace(first, months=months), second), against=date(2024, 11, 30))


CAUSE = Cause(
    kind="new",
    title="1966 Torvane GT Coupe, <b>4-speed</b>",
    sale_key="1f3a9c0d2b11:17",
    sale_id="L-12",
    file="december.csv",
    row=17,
    sale_date=date(2025, 1, 14),
    price=61_000.0,
    expected=48_000.0,
    percent=1.31,
    amount=620.0,
)
DOWN = replace(
    CAUSE, kind="corrected", title="1963 Torvane GT", sale_key="", price=30_000.0, percent=-0.4,
    amount=-190.0, row=9,
)  # fmt: skip
LINES = (
    LineChange("start", "Typical Torvane GT (41 sales)", "", 44_000, 44_900),
    LineChange("body", "Body", "coupe", -1_200, -1_350),
    *(LineChange(f"thing{i}", f"Thing {i}", "some", 100, 100 + i) for i in range(7)),
    LineChange("closest sales", "Closest sales", "brought more", 300, 180),
    LineChange("correction", "Forecast correction", "", -90, 0),
)
CAR = CarChange(
    car="Typical Torvane GT",
    typical=True,
    old=43_710,
    new=44_451,
    lines=LINES,
    from_sales=430,
    closest_sales=-120,
    rest=431,
    up=(CAUSE,),
    down=(DOWN,),
    sales=31,
)
EFFECTS = (
    AttributeChange(
        "transmission", "Transmission", "automatic against manual", -8.0, -11.0, -5.0,
        -3.0, -6.0, 0.1, 120,
    ),
    AttributeChange(
        "body", "Body", "roadster against coupe", 21.0, 15.0, 27.0, 22.5, 16.5, 28.5, 88
    ),
    AttributeChange(
        "colour", "Colour", "orange against red", None, None, None, -2.0, -9.0, 6.0, 11
    ),
)  # fmt: skip


def change(**changes: Any) -> ModelChange:
    """Return a change with everything in it."""
    made = ModelChange(
        old_as_of=date(2024, 11, 30),
        new_as_of=date(2025, 1, 31),
        currency="EUR",
        old_sales=1_400,
        new_sales=1_430,
        came=31,
        went=1,
        corrected=2,
        attributes=EFFECTS,
        cars=(CAR, replace(CAR, car="The red one", typical=False, up=(), down=())),
        index=revised(),
        notes=("What the sales did is exact.",),
    )
    return replace(made, **changes)
