"""Faults planted in invented sales: what a list of sales to look at has to find again."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from valuation.appraisal.data import market_data
from valuation.appraisal.market import MarketModel
from valuation.appraisal.outlook import outlook
from valuation.importing.repeats import chassis_key
from valuation.records import SalesBook

__all__ = ["FACTORS", "STORIES", "Planted", "batched", "chased", "part_times", "plant_factors",
           "plant_source", "plant_stories", "times"]  # fmt: skip

FACTORS = (2.0, 0.5, 10.0, 0.1, 100.0, 0.01)
STORIES = ("year", "engine size", "mileage", "engine originality", "price")


@dataclass
class Planted:
    """A table with faults, and where they are: by kind the keys of the sales."""

    table: pd.DataFrame
    where: dict[str, list[str]] = field(default_factory=dict)

    def book(self, currency: str = "EUR") -> SalesBook:
        return SalesBook(self.table, currency, True, rows=len(self.table))

    def note(self, kind: str, rows: list[int]) -> None:
        keys = self.table["sale_key"].to_numpy()
        self.where.setdefault(kind, []).extend(str(keys[i]) for i in rows)


def batched(table: pd.DataFrame, *, months: int = 6) -> Planted:
    """Give every sale a batch, one for so many months, and a key."""
    days = table["sale_date"].dt
    number = ((days.year - days.year.min()) * 12 + days.month - 1) // months
    batch = [f"b{n:011d}" for n in number]
    keys = [f"{b}:{r}" for b, r in zip(batch, table["row"], strict=True)]
    return Planted(table.assign(batch=batch, sale_key=keys).reset_index(drop=True))


def plant_factors(planted: Planted, each: int, rng: np.random.Generator) -> None:
    """Spoil some prices by each factor."""
    free = rng.permutation(len(planted.table))
    price = planted.table["price"].to_numpy(copy=True)
    for k, factor in enumerate(FACTORS):
        rows = free[k * each : (k + 1) * each].tolist()
        price[rows] *= factor
        planted.note(f"price times {factor:g}", rows)
    planted.table["price"] = price


def plant_stories(planted: Planted, each: int, rng: np.random.Generator) -> None:
    """Let the later sale of a chassis tell another story than the one before it."""
    table = planted.table
    pairs = _pairs(table)
    order = [pairs[i] for i in rng.permutation(len(pairs))]
    used: set[int] = set()
    for story in STORIES:
        done = 0
        for a, b in order:
            if done == each:
                break
            if {a, b} & used or not _tell(table, story, a, b, rng):
                continue
            used |= {a, b}
            planted.note(f"two stories: {story}", [b])
            done += 1


def _pairs(table: pd.DataFrame) -> list[tuple[int, int]]:
    seen: dict[str, int] = {}
    out = []
    for i, (number, make) in enumerate(zip(table["chassis"], table["make"], strict=True)):
        key = chassis_key(number, make)
        if key and key in seen:
            out.append((seen[key], i))
        if key:
            seen[key] = i
    return out


def _tell(table: pd.DataFrame, story: str, a: int, b: int, rng: np.random.Generator) -> bool:
    """Change the later of two sales; False where it can't be told of this car."""
    if story == "year":
        table.loc[b, "year"] += float(rng.choice([-6, -4, -3, 3, 4]))
        return True
    if story == "engine size" and table.loc[[a, b], "engine_size"].notna().all():
        table.loc[b, "engine_size"] = round(table.loc[b, "engine_size"] * 1.3, 1)
        return True
    if story == "mileage" and table.loc[[a, b], "mileage"].notna().all():
        table.loc[b, "mileage"] = round(table.loc[a, "mileage"] * float(rng.uniform(0.3, 0.8)))
        return True
    if story == "engine originality" and table.loc[a, "engine_originality"] is not None:
        if table.loc[b, "engine_originality"] is None:
            return False
        table.loc[a, "engine_originality"] = "later replacement"
        table.loc[b, "engine_originality"] = "numbers-matching"
        return True
    apart = (table.loc[b, "sale_date"] - table.loc[a, "sale_date"]).days
    if story == "price" and 60 < apart < 400:
        table.loc[b, "price"] *= float(rng.choice([0.4, 2.5]))
        return True
    return False


def plant_source(
    planted: Planted, factor: float, *, batch: str = "", venue: str = "", kind: str
) -> list[int]:
    """Spoil all prices of a batch, of a venue, or of a venue in a batch."""
    table = planted.table
    chosen = np.ones(len(table), dtype=bool)
    if batch:
        chosen &= (table["batch"] == batch).to_numpy()
    if venue:
        chosen &= (table["venue"] == venue).to_numpy(dtype=bool)
    rows = np.flatnonzero(chosen).tolist()
    price = table["price"].to_numpy(copy=True)
    price[rows] *= factor
    table["price"] = price
    planted.note(kind, rows)
    return rows


def times(table: pd.DataFrame, factor: float) -> pd.DataFrame:
    """Return a batch all of whose prices are off by a factor."""
    return table.assign(price=table["price"] * factor)


def part_times(
    table: pd.DataFrame, factor: float, share: float, rng: np.random.Generator
) -> pd.DataFrame:
    """Return a batch of which a share, drawn at random, is off by a factor."""
    wrong = rng.random(len(table)) < share
    return table.assign(price=np.where(wrong, factor, 1.0) * table["price"])


def chased(
    market: MarketModel,
    table: pd.DataFrame,
    share: float,
    noise: float,
    rng: np.random.Generator,
) -> pd.DataFrame:
    """Return a batch in which a share of the prices are our own estimates with some noise."""
    data = market_data(SalesBook(table, market.currency, True), unsold="as bids", least=0)
    forecast = market.fitted.forecast(data.table)
    central = [
        outlook(market.fitted, market.calibration, forecast, day=day, row=i).central
        for i, day in enumerate(data.day.tolist())
    ]
    ours = np.exp(np.array(central) + noise * rng.standard_normal(len(central)))
    mine = rng.random(len(central)) < share
    return data.frame.assign(price=np.where(mine, ours.round(), data.frame["price"]))
