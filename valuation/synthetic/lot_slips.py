"""What goes wrong in a catalogue, in fifteen ways, and the lots that are hard for other reasons."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from valuation.synthetic.lot_cells import COLUMNS, Cells

__all__ = ["SLIPS", "SPECIAL", "Slip", "Special"]

_KEPT = ("Lot", "Day", "Auction house")


@dataclass(frozen=True)
class Slip:
    """One way in which a lot is bad.

    Parameters
    ----------
    case : str
        What is wrong, in plain words.
    aside : str
        Codes of the faults for which a reader has to set it aside, empty if it has to read it.
    remark : str
        Part of what a reader has to remark about it, if it reads it.
    happen : callable
        Makes the lot bad; gets the lot and the one before it.
    """

    case: str
    aside: str
    remark: str
    happen: Callable[[Cells, Cells], Cells]


@dataclass(frozen=True)
class Special:
    """A lot that is hard without being wrong.

    Parameters
    ----------
    case : str
        What is special.
    remark : str
        Part of what a reader has to remark about it, empty for nothing.
    changes : dict
        Its own cells.
    """

    case: str
    remark: str
    changes: Cells


def _with(**changes: str | int) -> Callable[[Cells, Cells], Cells]:
    """Write the lot with other cells; underscores stand for spaces in their names."""
    renamed = {name.replace("_", " "): cell for name, cell in changes.items()}
    return lambda lot, before: {**lot, **renamed}


def _only(**cells: str | int) -> Callable[[Cells, Cells], Cells]:
    """Leave only number and day of the lot, and the cells that are given."""
    renamed = {name.replace("_", " "): cell for name, cell in cells.items()}
    return lambda lot, before: {**dict.fromkeys(COLUMNS, ""), **_kept(lot), **renamed}


def _kept(lot: Cells) -> Cells:
    return {name: lot[name] for name in _KEPT}


def _without_year(lot: Cells, before: Cells) -> Cells:
    return {**lot, "Year": "", "Title": f"{lot['Make']} {lot['Model']}, a fine example"}


def _reversed(lot: Cells, before: Cells) -> Cells:
    return {**lot, "Low estimate": lot["High estimate"], "High estimate": lot["Low estimate"]}


def _other_year(lot: Cells, before: Cells) -> Cells:
    title = f"{int(lot['Year']) - 3} {lot['Make']} {lot['Model']}"
    return {**lot, "Title": title}


def _in_dollars(lot: Cells, before: Cells) -> Cells:
    ends = ("Low estimate", "High estimate")
    return {**lot, **{name: f"USD {lot[name]:,}" for name in ends}, "Currency": ""}


def _same_number(lot: Cells, before: Cells) -> Cells:
    return {**lot, "Lot": before["Lot"]}


def _long_text(lot: Cells, before: Cells) -> Cells:
    tale = "The owner wrote down every journey and what was for lunch. "
    return {**lot, "Description": f"{lot['Description']} {tale * 400}".strip()}


_FORMULA = '=SUM(1,2)&" was the number of its owners"'

SLIPS: dict[int, Slip] = {
    5: Slip("no year", "no year", "", _without_year),
    18: Slip(
        "memorabilia",
        "no car",
        "",
        _only(Title="Petrol pump globe, 1950s", Low_estimate=300, High_estimate=500),
    ),
    26: Slip("estimate the wrong way round", "", "the wrong way round", _reversed),
    37: Slip(
        "a maker nobody knows",
        "",
        "not among the makes",
        _with(Make="Zephyrand", Model="Comet", Version="", Title="1961 Zephyrand Comet", Year=1961),
    ),
    49: Slip("title and column name two years", "", "Year: the column says", _other_year),
    55: Slip("the title begins like a formula", "", "begins like a formula", _with(Title=_FORMULA)),
    68: Slip("a text without end", "", "signs; the first", _long_text),
    83: Slip("an estimate in another currency", "", "Its estimate is in USD", _in_dollars),
    101: Slip("a lot number that stands twice", "", "stands for another car", _same_number),
    114: Slip(
        "a price in place of the estimate",
        "",
        "that is a price",
        _with(Low_estimate="sold for 31,000", High_estimate=""),
    ),
    127: Slip("nothing to read in the title", "no year; no make", "", _only(Title="T.B.C.")),
    139: Slip(
        "estimate on request",
        "",
        "on request",
        _with(Low_estimate="on request", High_estimate="on request"),
    ),
    152: Slip("the same row again", "duplicate", "", lambda lot, before: dict(before)),
    171: Slip("a year to come", "impossible year", "", _with(Year=2071, Title="")),
    188: Slip("withdrawn", "withdrawn", "", _only(Title="WITHDRAWN")),
}
"""What goes wrong, by the place of the lot in the catalogue, the first being 0."""

_LARIANDER: Cells = {
    "Make": "Gorlimar",
    "Model": "Lariander",
    "Version": "High Output",
    "Year": 1969,
    "Body": "coupe",
    "Engine": "5.3 litre V8",
    "Gearbox": "4-speed manual",
    "Condition (0 to 100)": 70,
}

SPECIAL: dict[int, Special] = {
    33: Special(
        "a tribute",
        "",
        _LARIANDER
        | {
            "Title": "1969 Gorlimar Lariander High Output Coupe tribute, 4-speed",
            "Description": "A tribute, not a genuine High Output. Bills on file. Clear title.",
            "Chassis no.": "652043",
        },
    ),
    62: Special(
        "contradicted in its own words",
        "Engine originality is left open",
        _LARIANDER
        | {
            "Version": "",
            "Title": "1969 Gorlimar Lariander Coupe, 4-speed",
            "Description": (
                "Matching-numbers engine. The engine is a later replacement. Bills on file."
            ),
            "Chassis no.": "652057",
        },
    ),
    90: Special(
        "a model never seen in the sales",
        "is not among those of the market",
        {
            "Make": "Torvane",
            "Model": "Farthingale",
            "Version": "",
            "Year": 1966,
            "Title": "1966 Torvane Farthingale Sedan",
            "Body": "sedan",
            "Engine": "3.2 litre",
            "Gearbox": "4-speed manual",
            "Chassis no.": "TO66-90871",
        },
    ),
}
"""Lots that are hard, by their place in the catalogue."""
