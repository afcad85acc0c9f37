"""Lists of sales as a house and as dealers send them, with the rows that can't be used."""

from __future__ import annotations

import csv
import io

import pandas as pd

from valuation.synthetic.files import csv_bytes, sales_cells

__all__ = ["dealer_list", "house_list"]

_DEALER_COLUMNS = {
    "sale_id": "Objektnummer",
    "sale_date": "Verkaufsdatum",
    "make": "Hersteller",
    "model": "Modell",
    "variant": "Ausstattung",
    "year": "Baujahr",
    "body": "Karosserie",
    "engine_size": "Hubraum",
    "transmission": "Getriebe",
    "mileage": "Miles",
    "condition_grade": "Zustandsnote",
    "price": "Preis",
    "basis": "Preisart",
    "outcome": "Ergebnis",
    "channel": "Kanal",
    "venue": "Seller",
    "region": "Standort",
    "chassis": "Fahrgestellnummer",
    "title": "Titel",
    "currency": "Währung",
}
"""What dealers call columns; the others they name as everyone does."""

_SIGNS = {"EUR": "€", "CHF": "CHF", "GBP": "£"}


def house_list(table: pd.DataFrame, *, faulty: bool = False) -> tuple[bytes, dict[str, int]]:
    """Write sales as a house that follows the template.

    Parameters
    ----------
    table : pandas.DataFrame
        The contract's table.
    faulty : bool
        Whether rows stand in it that can't be used: one without a price, one without a make, and
        a sum at the end.

    Returns
    -------
    content : bytes
        Comma-separated values.
    set_aside : dict of str to int
        How many rows an import has to set aside, by the code of the reason.
    """
    header, rows = sales_cells(table)
    aside: dict[str, int] = {}
    if faulty:
        price, make = header.index("price"), header.index("make")
        for i, (column, code) in ((0, (price, "no price")), (1, (make, "no make"))):
            row = list(rows[i])
            row[column] = ""
            row[header.index("sale_id")] += "-B"
            for name in ("title", "model"):
                if code == "no make" and name in header:
                    row[header.index(name)] = ""
            rows.append(row)
            aside[code] = 1
        total = [""] * len(header)
        total[header.index("sale_id")] = "Total"
        total[price] = f"{table['price'].sum():.0f}"
        rows.append(total)
        aside["subtotal row"] = 1
    return csv_bytes(header, rows), aside


def dealer_list(table: pd.DataFrame) -> bytes:
    """Write sales as dealers who name columns their own way, amounts as they are spoken.

    Parameters
    ----------
    table : pandas.DataFrame
        The contract's table.

    Returns
    -------
    bytes
        Cells between semicolons, dates by day, month and year, prices with dots and a sign.
    """
    header, rows = sales_cells(table)
    out = io.StringIO()
    writer = csv.writer(out, delimiter=";", lineterminator="\r\n")
    writer.writerow([_DEALER_COLUMNS.get(name, name) for name in header])
    for row in rows:
        cells = dict(zip(header, row, strict=True))
        writer.writerow([_spoken(name, cell, cells["currency"]) for name, cell in cells.items()])
    return out.getvalue().encode("utf-8-sig")


def _spoken(name: str, cell: str, currency: str) -> str:
    if name == "sale_date" and cell:
        year, month, day = cell.split("-")
        return f"{day}.{month}.{year}"
    if name == "price":
        amount = f"{float(cell):,.0f}".replace(",", ".")
        return f"{amount} {_SIGNS.get(currency, currency)}"
    return cell.replace(".", ",") if name == "engine_size" else cell
