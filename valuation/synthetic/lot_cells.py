"""An invented catalogue as cells: what its columns hold, lot by lot."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from valuation.synthetic.lot_drawing import DrawnLots, sale_days
from valuation.synthetic.lot_words import entry_text

__all__ = ["COLUMNS", "Cells", "lot_cells"]

Cells = dict[str, str | int]
"""One lot: a cell by the name of its column."""

COLUMNS = (
    "Lot",
    "Day",
    "Auction house",
    "Year",
    "Make",
    "Model",
    "Version",
    "Title",
    "Body",
    "Engine",
    "Gearbox",
    "Chassis no.",
    "Odometer (miles)",
    "Colour",
    "Condition (0 to 100)",
    "Description",
    "Low estimate",
    "High estimate",
    "Currency",
    "Reserve",
    "My notes",
)
"""Names of the columns, in their order."""

_FIRST, _FIRST_SATURDAY = 101, 201
_NOTES = {
    12: "Seen last year at another yard, sounded well.",
    40: "Ask Wendel about the paint.",
    97: "Only with a look underneath.",
    163: "Good for the spring window.",
}


def _day_text(day: date) -> str:
    return f"{day:%A}, {day.day} {day:%B} {day.year}"


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""


def _whole(value: object) -> int | str:
    return round(value) if isinstance(value, float) and value == value else ""


def _engine(row: Mapping[str, Any]) -> str:
    size = row["engine_size"]
    litres = f"{size:.1f} litre" if size == size else ""
    return " ".join(x for x in (litres, _text(row["engine_layout"])) if x)


def _gearbox(row: Mapping[str, Any]) -> str:
    gears = f"{row['gears']:.0f}-speed" if row["gears"] == row["gears"] else ""
    return " ".join(x for x in (gears, _text(row["transmission"])) if x)


def _odometer(row: Mapping[str, Any]) -> str | int:
    doubt = {"unknown": "TMU", "exempt": "exempt"}.get(_text(row["mileage_status"]))
    return doubt or _whole(row["mileage"])


def _reserve(row: Mapping[str, Any]) -> str:
    return {"none": "no reserve", "yes": "reserve"}.get(_text(row["reserve"]), "")


def lot_cells(drawn: DrawnLots, on_friday: int, end: date, currency: str) -> list[Cells]:
    """Write the lots of a sale down as its house would.

    Parameters
    ----------
    drawn : DrawnLots
        The cars.
    on_friday : int
        How many of them are offered on the first of two days.
    end : datetime.date
        Last day of the market.
    currency : str
        ISO 4217 code of its estimates.

    Returns
    -------
    list of dict
        One a lot, under :data:`COLUMNS`.
    """
    days = [_day_text(day) for day in sale_days(end)]
    table = drawn.table
    rows = [
        dict(zip(table.columns, values, strict=True)) for values in table.itertuples(index=False)
    ]
    out = []
    for i, row in enumerate(rows):
        late = i >= on_friday
        cells: tuple[str | int, ...] = (
            str(_FIRST_SATURDAY + i - on_friday if late else _FIRST + i),
            days[late],
            "Harbour Rooms",
            _whole(row["year"]),
            _text(row["make"]),
            _text(row["model"]),
            _text(row["variant"]),
            _text(row["title"]),
            _text(row["body"]),
            _engine(row),
            _gearbox(row),
            _text(row["chassis"]),
            _odometer(row),
            _text(row["colour"]),
            _whole(row["condition_grade"]),
            entry_text(row),
            drawn.low[i],
            drawn.high[i],
            currency,
            _reserve(row),
            _NOTES.get(i, ""),
        )
        out.append(dict(zip(COLUMNS, cells, strict=True)))
    return out
