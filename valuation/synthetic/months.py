"""An invented market as a firm gets it: years of history, then month after month of files."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, Literal

import numpy as np
import pandas as pd

from valuation.synthetic.files import csv_bytes, sales_cells
from valuation.synthetic.levels import as_days
from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.month_lists import dealer_list, house_list
from valuation.synthetic.poison import chased, doubled, in_other_currency
from valuation.synthetic.settings import MarketSettings
from valuation.synthetic.stock import stock_ledger
from valuation.synthetic.world import SEGMENTS

__all__ = ["MonthPlan", "MonthlyFiles", "monthly_files"]

Poison = Literal["", "wrong currency", "no rate", "doubled prices", "sales chasing"]

FIRST = date(2023, 1, 1)
MONTHS = 24
JUMP = 14
"""The month, counted from 0, on whose first day the whole market falls."""

POISONED: dict[int, Poison] = {
    5: "wrong currency",
    9: "no rate",
    12: "doubled prices",
    18: "sales chasing",
}
"""Months whose files must not move a model as they are; the right file comes a month later."""

_TWO_LISTS = frozenset({*range(1, MONTHS, 3), 9, JUMP, JUMP + 1, JUMP + 2})
_FAULTY = frozenset(range(0, MONTHS, 4))
_PER_EURO = 7.46
_CHASED_SHARE = 0.7
_AUCTIONS = ("live auction", "online auction")


@dataclass(frozen=True, slots=True)
class MonthPlan:
    """What must become of the files of one month.

    Parameters
    ----------
    month : str
        As ``2024-03``.
    files : mapping of str to str
        Name of each file to what must become of it: ``in use`` or ``held``.
    set_aside : mapping of str to mapping of str to int
        Of each file, how many rows can't be used, by the code of the reason.  Offers that came
        back within weeks are set aside besides.
    poison : {"", "wrong currency", "no rate", "doubled prices", "sales chasing"}
        What is wrong with its files.
    jump : bool
        Whether the whole market moved on its first day.
    publish : bool
        Whether its evidence is enough for a new model.
    levels : mapping of str to float
        True log market level of each segment, mean over the days of the month, zero on the first
        day of the history.
    """

    month: str
    files: Mapping[str, str]
    set_aside: Mapping[str, Mapping[str, int]]
    poison: Poison
    jump: bool
    publish: bool
    levels: Mapping[str, float]

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        return {
            "month": self.month,
            "files": dict(self.files),
            "set_aside": {name: dict(codes) for name, codes in self.set_aside.items()},
            "poison": self.poison,
            "jump": self.jump,
            "publish": self.publish,
            "levels": {name: round(level, 5) for name, level in self.levels.items()},
        }


@dataclass(frozen=True)
class MonthlyFiles:
    """Files of a market month by month, and what must become of them.

    Parameters
    ----------
    market : SyntheticMarket
        The market with its truth.
    history : bytes
        The sales before the first month.
    months : mapping of str to mapping of str to bytes
        The files of each month by name.  Those of the month of sales chasing hold true prices
        until :meth:`chasing` puts estimates in.
    plans : tuple of MonthPlan
        One a month, in order.
    ledger : bytes
        Stock ledger of a firm that buys at its auctions and sells as a dealer, a workbook.
    """

    market: SyntheticMarket
    history: bytes
    months: Mapping[str, Mapping[str, bytes]]
    plans: tuple[MonthPlan, ...]
    ledger: bytes = field(repr=False)

    def sales_of(self, month: str) -> pd.DataFrame:
        """Return the true sales of a month such as ``2024-03``."""
        table = self.market.table
        rows = (table["sale_date"].dt.strftime("%Y-%m") == month).to_numpy()
        found: pd.DataFrame = table[rows].reset_index(drop=True)
        return found

    def chasing(self, month: str, estimates: Mapping[str, float]) -> dict[str, bytes]:
        """Return the files of a month in which somebody wrote estimates down as prices.

        Parameters
        ----------
        month : str
            Such as ``2024-07``.
        estimates : mapping of str to float
            What the published model says of its sales, by ``sale_id``.
        """
        table = chased(
            self.sales_of(month), estimates, share=_CHASED_SHARE, seed=self.market.seed + 1
        )
        return {"sales.csv": house_list(table)[0]}

    def truth(self) -> bytes:
        """Return what must become of each month, and true levels, as JSON."""
        lines = self.market.truth.lines_table()
        segments = {
            s: sorted(f"{r.make} {r.model}" for r in lines[lines["segment"] == s].itertuples())
            for s in SEGMENTS
            if s in set(lines["segment"])
        }
        content = {
            "format": 1,
            "seed": self.market.seed,
            "segments": segments,
            "months": [plan.to_dict() for plan in self.plans],
        }
        return (json.dumps(content, indent=1, ensure_ascii=False) + "\n").encode()

    def files(self) -> dict[str, bytes]:
        """Return every file by its name, a slash between folder and file."""
        out = {"history.csv": self.history, "truth.json": self.truth()}
        out |= {"ledger/stock.xlsx": self.ledger}
        for month, files in self.months.items():
            out |= {f"{month}/{name}": content for name, content in files.items()}
        return out


def monthly_files(*, seed: int, sales: int = 2000, lines: int = 6) -> MonthlyFiles:
    """Make a market and write it down month by month.

    Parameters
    ----------
    seed : int
        The same seed gives the same bytes.
    sales : int
        Records of five years; the last two come month by month.
    lines : int
        Model lines.

    Returns
    -------
    MonthlyFiles
        With four months whose files can't be taken as they are, and one in which the market falls.
    """
    jump = _first_day(JUMP)
    asked = MarketSettings(
        sales=sales,
        lines=lines,
        start=date(FIRST.year - 3, 1, 1),
        end=date(FIRST.year + 1, 12, 31),
        regime_shift=jump,
        regime_size=-0.22,
    )
    market = make_market(asked, seed=seed)
    before = market.table["sale_date"] < pd.Timestamp(FIRST)
    made = MonthlyFiles(
        market,
        csv_bytes(*sales_cells(market.table[before.to_numpy()])),
        {},
        (),
        stock_ledger(market, since=FIRST, seed=seed),
    )
    months: dict[str, dict[str, bytes]] = {}
    plans = []
    for i in range(MONTHS):
        files, plan = _month(made, i)
        months[plan.month] = files
        plans.append(plan)
    return replace(made, months=months, plans=tuple(plans))


def _first_day(i: int) -> date:
    return date(FIRST.year + i // 12, i % 12 + 1, 1)


def _name(i: int) -> str:
    return f"{_first_day(i):%Y-%m}"


def _month(made: MonthlyFiles, i: int) -> tuple[dict[str, bytes], MonthPlan]:
    """Return the files of the month and what must become of them."""
    poison = POISONED.get(i, "")
    files = _lists(made.sales_of(_name(i)), i, poison)
    late = POISONED.get(i - 1, "")
    if late:
        files |= _put_right(made.sales_of(_name(i - 1)), i - 1, late)
    held = poison not in ("", "no rate")
    fates = dict.fromkeys(files, "held" if held else "in use")
    plan = MonthPlan(
        _name(i),
        fates,
        {name: aside for name, (_, aside) in files.items() if aside},
        poison,
        i == JUMP,
        publish=not held,
        levels=_levels(made.market, i),
    )
    return {name: content for name, (content, _) in files.items()}, plan


_Files = dict[str, tuple[bytes, dict[str, int]]]


def _lists(table: pd.DataFrame, i: int, poison: Poison) -> _Files:
    if poison == "wrong currency":
        table = in_other_currency(table, per_unit=_PER_EURO)
    if poison == "doubled prices":
        table = doubled(table)
    if i not in _TWO_LISTS:
        return {"sales.csv": house_list(table, faulty=i in _FAULTY)}
    house, dealers = _apart(table)
    aside: dict[str, int] = {}
    if poison == "no rate":
        dealers = in_other_currency(dealers, per_unit=_PER_EURO, named="DKK")
        aside = {"no rate": len(dealers)}
    return {
        "auctions.csv": house_list(house, faulty=i in _FAULTY),
        "dealers.csv": (dealer_list(dealers), aside),
    }


def _put_right(table: pd.DataFrame, i: int, poison: Poison) -> _Files:
    """Return the file that takes the place of the one that was wrong."""
    if poison == "no rate":
        return {f"dealers_{_name(i)}.csv": (dealer_list(_apart(table)[1]), {})}
    return {f"sales_{_name(i)}.csv": house_list(table)}


def _apart(table: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    auction = table["channel"].isin(_AUCTIONS).to_numpy()
    return table[auction].reset_index(drop=True), table[~auction].reset_index(drop=True)


def _levels(market: SyntheticMarket, i: int) -> dict[str, float]:
    days = np.arange(as_days(_first_day(i)), as_days(_first_day(i + 1)))
    levels = market.truth.world.levels
    return {
        name: float(levels.at(np.full(len(days), k), days).mean())
        for k, name in enumerate(SEGMENTS)
    }
