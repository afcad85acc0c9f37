"""A list as people keep it: odd notations, slips, doubles, and what must be set aside."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import pandas as pd

__all__ = ["HEADER", "dirty_list"]

HEADER = (
    "Losnummer",
    "Datum",
    "Marke",
    "Modell",
    "Variante",
    "Baujahr",
    "Karosserie",
    "Motor",
    "Getriebe",
    "Laufleistung",
    "Farbe",
    "Zustandsnote",
    "Fahrgestellnummer",
    "Preis",
    "Ergebnis",
    "Auktionshaus",
    "Bemerkung",
)
"""Columns of the list; two blank ones trail behind."""

_SALES = 104
_TRAILING = 2
_LINES = (
    "Torvane GT",
    "Gorlimar Lariander",
    "Ystrix Quill",
    "Obrastel Canzon",
    "Pellandro Zanzarin",
)
_Row = dict[str, str]

_COLOURS = {
    "red": "rot",
    "green": "dunkelgrün",
    "silver": "silber",
    "blue": "blau",
    "black": "schwarz",
    "white": "weiß",
    "cream": "elfenbein",
    "yellow": "gelb",
    "orange": "orange",
    "grey": "grau",
    "beige": "beige",
    "brown": "braun",
}
_BODIES = {
    "sedan": "Stufenheck",
    "coupe": "Coupé",
    "convertible": "Cabriolet",
    "roadster": "Roadster",
    "wagon": "Kombi",
    "hatchback": "Schrägheck",
    "limousine": "Limousine",
}


_REMARKS = (
    "",
    "Rechnungen vorhanden, Lack vor Jahren erneuert",
    "schöner Zustand, läuft gut",
    "",
    "Boden rostig, für Bastler",
    "Papiere fehlen, Käufer ist verständigt",
    "",
)


@dataclass
class _Sheet:
    """Rows of the list in their order, with what is wrong about some of them."""

    rows: list[list[str]] = field(default_factory=list)
    rejects: list[tuple[int, str]] = field(default_factory=list)

    def add(self, cells: list[str], code: str = "") -> None:
        """Append a row; the header is row 1 as a spreadsheet counts it."""
        self.rows.append(cells)
        if code:
            self.rejects.append((len(self.rows) + 1, code))


def dirty_list(table: pd.DataFrame) -> tuple[bytes, list[tuple[int, str]]]:
    """Return a list of some of a market's auction lots as a small firm would keep it.

    Parameters
    ----------
    table : pandas.DataFrame
        The contract's table of the market.

    Returns
    -------
    content : bytes
        Windows-1252 text, cells between semicolons, lines ending as Windows ends them.
    rejects : list of (int, str)
        Row number as a spreadsheet counts it and code of the fault, for every row that an import
        has to set aside.
    """
    lots = _lots(table)
    sheet = _Sheet()
    accidents = _accidents()
    for i, lot in enumerate(lots):
        row = _written(i, lot)
        if i in accidents:
            accidents[i](sheet, row)
        else:
            sheet.add(_cells(row))
    lines = [";".join([*HEADER, *[""] * _TRAILING])]
    lines += [";".join(row) for row in sheet.rows]
    return ("\r\n".join(lines) + "\r\n").encode("cp1252"), sheet.rejects


def _lots(table: pd.DataFrame) -> list[Mapping[str, object]]:
    """Choose auction lots of the few model lines the firm deals in, each car once."""
    wanted = (
        (table["make"] + " " + table["model"]).isin(_LINES)
        & table["channel"].isin(["live auction", "online auction"])
        & (table["basis"] == "hammer price")
        & table["outcome"].isin(["sold", "not sold"])
        & table["chassis"].notna()
        & table["venue"].notna()
    )
    lots = table[wanted].drop_duplicates("chassis").iloc[-_SALES:]
    return [dict(zip(lots.columns, values, strict=True)) for values in lots.itertuples(index=False)]


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""


def _number(value: object) -> float | None:
    return value if isinstance(value, float) and value == value else None


def _written(i: int, lot: Mapping[str, object]) -> _Row:
    """Write one lot down, each row in another hand."""
    variant = _text(lot["variant"])
    return {
        "Losnummer": str(101 + i),
        "Datum": _date(i, lot["sale_date"]),
        "Marke": _text(lot["make"]).upper() if i % 9 == 4 else _text(lot["make"]),
        "Modell": _text(lot["model"]),
        "Variante": "" if variant == "Standard" else variant,
        "Baujahr": _year(i, int(_number(lot["year"]) or 0)),
        "Karosserie": _BODIES.get(_text(lot["body"]), ""),
        "Motor": _engine(i, lot),
        "Getriebe": _gearbox(i, lot),
        "Laufleistung": _mileage(i, lot),
        "Farbe": _COLOURS.get(_text(lot["colour"]), ""),
        "Zustandsnote": _grade(lot),
        "Fahrgestellnummer": _text(lot["chassis"]),
        "Preis": _price(i, lot),
        "Ergebnis": "verkauft" if lot["outcome"] == "sold" else "nicht verkauft",
        "Auktionshaus": _text(lot["venue"]),
        "Bemerkung": _REMARKS[i % len(_REMARKS)],
    }


def _date(i: int, value: object) -> str:
    day = pd.Timestamp(value)  # type: ignore[arg-type]
    if i % 11 == 7:
        return day.strftime("%Y-%m-%d")
    if i % 17 == 5:  # a spreadsheet's own day number
        return str((day - pd.Timestamp("1899-12-30")).days)
    return day.strftime("%d/%m/%Y" if i % 3 == 1 else "%d.%m.%Y")


def _year(i: int, year: int) -> str:
    ways = {
        3: f"{year}½",
        8: f"c.{year}",
        13: f"'{year % 100:02d}",
        17: f"{year}/{(year + 1) % 100:02d}",
    }
    return ways.get(i % 20, str(year))


def _engine(i: int, lot: Mapping[str, object]) -> str:
    size = _number(lot["engine_size"])
    if size is None:
        return "n/a" if i % 2 else ""
    layout = _text(lot["engine_layout"]).replace("inline-", "I")
    ways = (
        f"{size:.1f}L",
        f"{size:.1f}".replace(".", ","),
        f"{size * 61.0237:.0f}ci",
        f"{size:.1f}L {layout}".strip(),
        f"{size * 1000:.0f} ccm",
    )
    return ways[i % len(ways)]


def _gearbox(i: int, lot: Mapping[str, object]) -> str:
    kind, gears = _text(lot["transmission"]), _number(lot["gears"])
    if kind == "manual":
        full = f"{gears:.0f}-spd" if gears else "M/T"
        return (full, "M/T", "manuell", full)[i % 4]
    return {"automatic": ("A/T", "Automatik")[i % 2]}.get(kind, "")


def _mileage(i: int, lot: Mapping[str, object]) -> str:
    miles = _number(lot["mileage"])
    if i % 12 == 6:
        return "TMU"
    if i % 26 == 10:
        return "00012 (exempt)"
    if miles is None:
        return ""
    km = f"{miles * 1.609344:,.0f}".replace(",", ".")
    return (f"{km} km", f"{miles:.0f} mi", f"{km} km", km + " km")[i % 4]


def _grade(lot: Mapping[str, object]) -> str:
    grade = _number(lot["condition_grade"])
    return "" if grade is None else f"{grade:.0f}"


def _price(i: int, lot: Mapping[str, object]) -> str:
    price = _number(lot["price"]) or 0.0
    european = f"{price:,.0f}".replace(",", ".")
    if lot["outcome"] != "sold":
        return f"bid to {price / 1000:g}k"
    return (f"{european},00 €", f"€ {european}", f"EUR {price:,.0f}", f"{european} EUR")[i % 4]


def _cells(row: _Row) -> list[str]:
    return [*(row[name] for name in HEADER), *[""] * _TRAILING]


_Accident = Callable[[_Sheet, _Row], None]


def _instead(code: str, **changes: str) -> _Accident:
    """Write the row with other cells; `code` says why it can't be used, if so."""

    def happen(sheet: _Sheet, row: _Row) -> None:
        sheet.add(_cells({**row, **changes}), code)

    return happen


def _twice(sheet: _Sheet, row: _Row) -> None:
    sheet.add(_cells(row))
    sheet.add(_cells(row), "duplicate")


def _summed(sheet: _Sheet, row: _Row) -> None:
    sheet.add(_cells(row))
    sum_row = dict.fromkeys(HEADER, "") | {"Losnummer": "Zwischensumme", "Preis": "1.284.500,00 €"}
    sheet.add(_cells(sum_row), "subtotal row")


def _headed_again(sheet: _Sheet, row: _Row) -> None:
    sheet.add([*HEADER, *[""] * _TRAILING], "repeated header")
    sheet.add(_cells(row))


def _split(sheet: _Sheet, row: _Row) -> None:
    """Let a cell hold the separator, so that the row has more cells than the header."""
    remark = "Halle 2; Tor 5; links; Schlüssel beim Wärter"
    sheet.add([*(row[name] for name in HEADER[:-1]), *remark.split(";")], "too many cells")


def _offered_twice(sheet: _Sheet, row: _Row) -> None:
    """Offer one chassis twice within weeks: unsold first, then sold."""
    row = row | {"Ergebnis": "nicht verkauft", "Preis": "bid to 31k", "Datum": "04.05.2024"}
    sheet.add(_cells(row), "re-offer")
    again = {"Losnummer": "977", "Datum": "08.06.2024", "Preis": "33.500 €", "Ergebnis": "verkauft"}
    sheet.add(_cells(row | again))


def _accidents() -> dict[int, _Accident]:
    """Return what happens to which lot of the list."""
    return {
        5: _instead("token price", Preis="1"),
        9: _instead("impossible year", Baujahr="2060"),
        14: _instead("", Laufleistung="999999"),
        18: _instead("price out of scale", Preis="14.850.000,00 €"),
        22: _twice,
        27: _summed,
        31: _instead("no price", Preis=""),
        36: _instead("no date", Datum=""),
        41: _instead("no make", Marke="", Modell=""),
        45: _instead("no rate", Preis="24.500 CHF"),
        46: _instead("no rate", Preis="61.000 CHF"),
        50: _offered_twice,
        55: _headed_again,
        60: _instead("unreadable date", Datum="nach der Ernte"),
        64: _instead("unreadable price", Preis="VHB"),
        69: _instead("no year", Baujahr=""),
        73: _split,
        78: _instead("no price", Preis="n/s", Ergebnis="nicht verkauft"),
        83: _twice,
        88: _summed,
        92: _instead("unreadable year", Baujahr="Vorkrieg"),
        97: _instead("", Preis="41.250,00 €", Datum="03.04.2024"),
    }
