"""A synthetic market as files: sales, truth, cars, sheets, costs, lists as people keep them."""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Mapping, Sequence
from datetime import timedelta
from pathlib import Path
from typing import Any

import pandas as pd

from valuation.files import write_in_one_step
from valuation.schema import BY_FIELD, BY_NAME
from valuation.synthetic.carfiles import CAR_FILES, car_toml, true_values
from valuation.synthetic.costs import costs_toml
from valuation.synthetic.dirty import dirty_list
from valuation.synthetic.lots import lot_files
from valuation.synthetic.market import SyntheticMarket
from valuation.synthetic.sheets import SHEETS, filled_sheet

__all__ = ["csv_bytes", "market_files", "sales_cells", "write_files"]


def market_files(market: SyntheticMarket) -> dict[str, bytes]:
    """Return every file of a market by its name, a slash between folder and file.

    Parameters
    ----------
    market : SyntheticMarket
        The market.

    Returns
    -------
    dict of str to bytes
        The same market gives the same bytes.
    """
    dirty, rejects = dirty_list(market.table)
    header, rows = sales_cells(market.table)
    files = {
        "sales.csv": csv_bytes(header, rows),
        "truth.json": _json_bytes(_truth(market)),
        "truth_sales.csv": _truth_rows(market),
        "sales_dirty.csv": dirty,
        "expected_rejects.csv": csv_bytes(("row", "code"), [[str(r), c] for r, c in rejects]),
    }
    files["costs.toml"] = costs_toml(market.settings.currency).encode()
    files |= lot_files(market)
    files |= {f"cars/{name}.toml": car_toml(name).encode() for name in CAR_FILES}
    files |= {f"sheets/{name}.xlsx": filled_sheet(name) for name in SHEETS}
    return files


def write_files(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write files into a folder; each is whole or not there at all.

    Parameters
    ----------
    folder : pathlib.Path
        Made if it is missing.
    files : mapping of str to bytes
        Content by name.
    """
    for name, content in files.items():
        write_in_one_step(folder / name, content, what="synthetic market")


def csv_bytes(header: Sequence[str], rows: Sequence[Sequence[str]]) -> bytes:
    """Return a UTF-8 file of comma-separated values with plain line feeds."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(rows)
    return out.getvalue().encode()


def sales_cells(table: pd.DataFrame) -> tuple[list[str], list[list[str]]]:
    """Return a contract table as header and cells, without columns in which nothing is stated.

    Parameters
    ----------
    table : pandas.DataFrame
        The contract's table.

    Returns
    -------
    header : list of str
        Names of the contract.
    rows : list of list of str
        Words of a set between "; ", a set stated to be empty as "none", not stated as "".
    """
    names = [n for n in (*BY_FIELD, *BY_NAME) if table[n].notna().any()]
    columns = [[_cell(value) for value in table[name].tolist()] for name in names]
    return names, [list(row) for row in zip(*columns, strict=True)]


def _cell(value: object) -> str:
    if value is None or value is pd.NaT or (isinstance(value, float) and math.isnan(value)):
        return ""
    if isinstance(value, tuple):
        return "; ".join(value) if value else "none"
    if isinstance(value, pd.Timestamp):
        return value.strftime("%Y-%m-%d")
    return f"{value:.12g}" if isinstance(value, float) else str(value)


def _truth(market: SyntheticMarket) -> dict[str, Any]:
    settings = market.settings
    return {
        "seed": market.seed,
        "settings": {
            name: str(value) if name in ("start", "end") else value
            for name in settings.__slots__
            if (value := getattr(settings, name)) is not None
        },
        **market.truth.to_dict(),
        "cars": _true_car_prices(market),
    }


def _true_car_prices(market: SyntheticMarket) -> dict[str, dict[str, Any]]:
    """Return the true hammer price, a month after the end, of each car this world could build."""
    day = market.settings.end + timedelta(days=31)
    years = {(s.make, s.model): (s.first, s.last) for s in market.truth.world.lines.specs}
    prices = {}
    for name in CAR_FILES:
        values = true_values(name)
        first, last = years.get((str(values.get("make")), str(values.get("model"))), (1, 0))
        if first <= values.get("year", 0) <= last:  # type: ignore[operator]
            log_price = market.true_log_price(values, day=day)
            prices[name] = {
                "day": str(day),
                "log_price": round(log_price, 5),
                "price": round(math.exp(log_price)),
            }
    return prices


def _json_bytes(content: Mapping[str, Any]) -> bytes:
    return (json.dumps(content, indent=1, ensure_ascii=False) + "\n").encode()


def _truth_rows(market: SyntheticMarket) -> bytes:
    truth = market.truth
    columns = (
        market.table["sale_id"].tolist(),
        [f"{x:.5f}" for x in truth.expected],
        [f"{x:.5f}" for x in truth.residual()],
        ["" if math.isnan(x) else f"{x:.12g}" for x in truth.sale["reserve_price"]],
    )
    header = ("sale_id", "expected_log_price", "noise", "secret_reserve")
    return csv_bytes(header, list(zip(*columns, strict=True)))
