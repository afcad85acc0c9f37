"""Lines of small files of sales, for everything that reads them into the evidence."""

from __future__ import annotations

from datetime import UTC, datetime

HEADER = "sale_id,sale_date,price,currency,basis,outcome,venue,chassis,make,model,year,mileage"

NOW = datetime(2024, 7, 1, 9, 30, tzinfo=UTC)
LATER = datetime(2024, 7, 2, 17, 0, tzinfo=UTC)


def line(
    number: int,
    *,
    day: str = "2024-05-04",
    price: int = 41_000,
    chassis: str = "",
    mileage: str = "",
    model: str = "GT",
    venue: str = "Harbour Rooms",
    currency: str = "EUR",
) -> str:
    """Return one line of a file of sales."""
    return (
        f"L-{number},{day},{price},{currency},hammer price,sold,{venue},{chassis},"
        f"Torvane,{model},1968,{mileage}"
    )


MAY = (
    line(1, price=41_000, chassis="TR4-1180-K", mileage="61200"),
    line(2, price=28_500, day="2024-05-11", model="Quill"),
    line(3, price=35_250, day="2024-05-18", chassis="TR4-2291-K"),
    line(4, price=52_000, day="2024-05-25", mileage="12000"),
)
"""Four sales of May 2024."""

JUNE = (
    line(11, price=44_000, day="2024-06-08", chassis="TR4-3377-K"),
    line(12, price=31_000, day="2024-06-15", model="Quill"),
)
"""Two sales of June 2024."""


def file_of(*lines: str, header: str = HEADER) -> str:
    """Return the text of a file of sales."""
    return "\n".join([header, *lines]) + "\n"
