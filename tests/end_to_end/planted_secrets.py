"""An invented market with the firm's own business in it, which no customer may be told.

Everything that may not be told is planted where it could come from: the firm's purchase of the
car as an ordinary sale, with its chassis number, without it, and known to the stock ledger alone;
purchases of other cars; a former customer's price; costs, notes, quotes and names in the car file;
chassis numbers in the titles of other sales; markup and formulas.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from commands import Commands

from valuation.importing.car_file import write_car
from valuation.reading.text import compact
from valuation.records import Car, OpenFact, Work
from valuation.schema import ATTRIBUTES
from valuation.synthetic.files import csv_bytes, sales_cells
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

SPENT, LOW, HIGH, SELLER_ASKS, ASKING = 914_913, 812_341, 817_879, 744_449, 97_431
STORAGE = 771_391
SALES, LIST, PUBLISHED = 260, "list.model", "workspace/published"
"""Amounts of the firm's own, too large to stand on a sheet by chance; what it asks may be told."""

WORDS = (
    "Quillfeather", "zz_private", "secret_list", "Drumlow", "barn of a widow", "haggled",
    "inkstain", "HYPERLINK", "alert(7)",
)  # fmt: skip
"""Names, notes, quotes, paths and words that no customer reads."""

BUSINESS = ("walk-away", "our purchase", "margin", "we paid", "our cost")
"""Words of the firm's own sheets."""

MARKUP = "<script>alert(7)</script>"
"""In titles, which no customer reads."""

VARIANT = "<script>alert(8)</script>"
"""Of other cars: a sheet tells it, but as words."""
FORMULA = '=HYPERLINK("http://example.invalid","x")'


@dataclass(frozen=True)
class Planted:
    """A market with secrets in it.

    Parameters
    ----------
    folder : Path
        Sales, cars, ledger and models, under a name that is private too.
    paid : mapping of str to float
        What the firm paid for each of its cars.
    ledger : tuple of float
        What the ledger knows it paid for cars, these and others.
    own : str
        Chassis number of the car that is known by it.
    others : tuple of str
        Those of all other cars.
    sold : float
        What a former customer paid.
    """

    folder: Path
    paid: Mapping[str, float]
    ledger: tuple[float, ...]
    own: str
    others: tuple[str, ...]
    sold: float

    def of(self, car: str, model: str) -> dict[str, Any]:
        """Return what may not be told to a customer of a car."""
        paid = self.paid[car]
        worked_out = [paid + SPENT, ASKING - paid, ASKING - paid - SPENT]
        known = () if model == LIST else self.ledger
        return {
            "amounts": [paid, *known, SPENT, LOW, HIGH, SELLER_ASKS, *worked_out],
            "numbers": self.others,
            "words": (*WORDS, *BUSINESS),
        }


def car_of(row: Mapping[str, Any], **more: Any) -> Car:
    values = {
        a.name: float(row[a.name]) if a.kind == "number" else row[a.name]
        for a in ATTRIBUTES
        if row[a.name] is not None and row[a.name] == row[a.name]
    }
    values.pop("documents", None)
    values.pop("engine_originality", None)
    return Car(values, chassis=row["chassis"], **more)


PRIVATE = {
    "title": f"Bought from Quillfeather {MARKUP} {FORMULA}",
    "description": "From the barn of a widow. We haggled. Inkstain on the seat.",
    "label": "Quillfeather's car",
    "asking": float(SELLER_ASKS),
    "sale": {"channel": "live auction", "venue": "zz_private rooms"},
    "work": (
        Work("Respray by Drumlow", Decimal(LOW), Decimal(HIGH), attribute="condition_grade",
             value=88.0),
    ),
    "stops": ("Quillfeather wants to be paid in notes",),
    "open": (
        OpenFact("engine_originality", ("numbers-matching", "correct type"),
                 claim="numbers-matching", contradiction="Drumlow says haggled",
                 where="inkstain", how="ask Quillfeather"),
    ),
}  # fmt: skip


def plant_secrets(commands: Commands, folder: Path) -> Planted:
    """Make a market with the firm's secrets in it, and fit and publish models of it."""
    table = make_market(MarketSettings(sales=SALES, lines=2), seed=7).table
    numbers = [c for c in table["chassis"].dropna().unique() if len(compact(c)) >= 7]
    own, *alike = _alike(table)
    cars = {"chassis": own, "facts": alike[0], "ledger": alike[1]}
    bought, sold = alike[2:5], alike[5]
    for k, i in enumerate((own, *alike[:6])):
        table.loc[i, "price"] = np.floor(table.loc[i, "price"] / 1000) * 1000 + 777 - k * 101
    for name, i in cars.items():
        write_car(car_of(table.loc[i].to_dict(), **PRIVATE), folder / f"{name}.toml")
    _write_ledger(folder, table, cars, bought, sold)
    others = tuple(sorted(set(numbers) - {str(table.loc[own, "chassis"])}))
    _spoil(table, cars, alike[6:])
    (folder / "secret_list.csv").write_bytes(csv_bytes(*sales_cells(table)))
    _fit(commands, folder)
    price = table["price"].astype(float)
    return Planted(
        folder,
        {name: price[i] for name, i in cars.items()},
        tuple(price[[own, cars["ledger"], *bought]]),
        str(table.loc[own, "chassis"]),
        others,
        price[sold],
    )


def _alike(table: pd.DataFrame) -> list[int]:
    """Return sold cars of one model that name their chassis, a car first, the likest to it next."""
    named = table["chassis"].notna() & (table["outcome"] == "sold")
    named &= table["chassis"].map(lambda c: len(compact(c or "")) >= 7)
    line = table.loc[named, "model"].mode()[0]
    rows = table[named & (table["model"] == line)].iloc[-60:]
    own = rows.iloc[30]
    told = ["variant", "body", "transmission", "engine_originality"]
    far = (rows["year"] - own["year"]).abs() / 3 + (rows[told] != own[told]).sum(axis=1)
    return [int(i) for i in far.drop(own.name).sort_values(kind="stable").index.insert(0, own.name)]


def _spoil(table: pd.DataFrame, cars: Mapping[str, int], others: list[int]) -> None:
    """Write chassis numbers into titles, take them from rows, put markup and formulas in."""
    pairs = enumerate(zip(table["title"], table["chassis"], strict=True))
    told = [
        f"{t or ''}, no. {' '.join(c) if k % 2 else c.replace('-', '/')}" if c else t
        for k, (t, c) in pairs
    ]
    table["title"] = pd.Series(told, dtype=object)
    table.loc[[cars["facts"], cars["ledger"]], "chassis"] = None
    for name in ("mileage", "colour", "interior_colour", "body", "variant", "title"):
        table.loc[cars["ledger"], name] = np.nan if name == "mileage" else None
    number = table.loc[others[0], "chassis"]
    for i in others[4:12]:
        table.loc[i, "title"] = f"{table.loc[i, 'title']} {MARKUP} {FORMULA}"
        table.loc[i, "variant"] = f"{VARIANT} {number}"


def _write_ledger(
    folder: Path, table: pd.DataFrame, cars: Mapping[str, int], bought: list[int], sold: int
) -> None:
    """Write a ledger: the cars on offer, others that were bought, and one that was sold."""
    lines = ["date;stock;event;amount;currency;what;from or to;chassis;make;model;year"]
    for name, i in [*cars.items(), *((f"other {i}", i) for i in bought), ("former", sold)]:
        row = table.loc[i]
        if name == "facts":
            continue
        event = "sold" if name == "former" else "bought"
        head = f"{row['sale_date']:%Y-%m-%d};{name};"
        car = f"{row['chassis']};{row['make']};{row['model']};{row['year']:.0f}"
        lines.append(f"{head}{event};{row['price']:.0f};EUR;;private;{car}")
        lines.append(f"{head}spent;{SPENT};EUR;Quillfeather upholstery;;;;;")
    (folder / "ledger.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def _fit(commands: Commands, folder: Path) -> None:
    """Fit a model of the list alone, and publish one of a workspace that has the ledger."""
    place = ("--workspace", folder / "workspace")
    (folder / "workspace").mkdir()
    (folder / "workspace" / "settings.toml").write_text("[study]\nmonths = 2\n", encoding="utf-8")
    for words in (
        ("fit", "--sales", folder / "secret_list.csv", "--model", folder / LIST),
        ("import", folder / "secret_list.csv", *place),
        ("ledger", "import", folder / "ledger.csv", *place),
        ("refresh", *place),
    ):
        done = commands.run(words, timeout=300, lean=True)
        assert done.returncode == 0, done.stderr
