"""Reasons why a row is set aside, and what to do about each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from valuation.importing.raw import RawTable
from valuation.records import Fault, SetAside

__all__ = ["REMEDIES", "FaultList"]

REMEDIES: dict[str, str] = {
    "subtotal row": "Nothing to do: it is no sale",
    "repeated header": "Nothing to do: it is no sale",
    "too many cells": "Put the cell that holds the separator between quotation marks",
    "no price": "Fill in the price, or leave the row out",
    "unreadable price": "Write one amount in figures",
    "price not above zero": "Fill in the price, or leave the row out",
    "token price": "Fill in the real price, or leave the row out",
    "price out of scale": "Look for a lost decimal sign or digits too many",
    "no year": "Fill in the model year",
    "unreadable year": "Write the year with four digits",
    "impossible year": "Correct the year",
    "no make": "Fill in the make, or a title that names it",
    "no date": "Fill in the day of the sale",
    "unreadable date": "Write the date as 2025-06-14",
    "ambiguous date": 'Say in the map whether dates are "day first" or "month first"',
    "unknown currency": "Write the three-letter code of the currency",
    "no rate": "Give a rate table with this currency",
    "rate too old": "Add a rate of the 31 days before the sale to the rate table",
    "duplicate": "Nothing to do: the same row counts once",
    "re-offer": "Nothing to do: the later event counts",
    "out of range": "Correct the figure",
}
"""What to do, by code of the fault."""


@dataclass
class FaultList:
    """Faults of the rows of one or more files, by position.

    Parameters
    ----------
    by_row : dict of int to list of Fault
        What has been found so far.
    closed : set of int
        Rows that are no sales at all.
    """

    by_row: dict[int, list[Fault]] = field(default_factory=dict)
    closed: set[int] = field(default_factory=set)

    def no_sale(self, row: int, code: str, got: str) -> None:
        """Note that a row is no sale at all; nothing else is said about it from then on."""
        self.by_row[row] = [Fault(code, "", got, REMEDIES[code])]
        self.closed.add(row)

    def add(self, row: int, code: str, column: str = "", got: str = "", remedy: str = "") -> None:
        """Note a fault of one row; the remedy comes from the code unless another is given."""
        if row in self.closed:
            return
        fault = Fault(code, column, got, remedy or REMEDIES[code])
        known = self.by_row.setdefault(row, [])
        if all(f.code != code for f in known):
            known.append(fault)

    def add_where(
        self,
        mask: Sequence[bool] | NDArray[np.bool_],
        code: str,
        column: str = "",
        got: Sequence[object] | None = None,
    ) -> None:
        """Note the same fault for every row where `mask` holds."""
        for i in np.flatnonzero(np.asarray(mask, dtype=bool)):
            self.add(int(i), code, column, "" if got is None else str(got[int(i)]))

    def withdraw(self, mask: NDArray[np.bool_], code: str) -> None:
        """Take back one kind of fault where something else has answered it."""
        for i in [int(i) for i in np.flatnonzero(mask) if int(i) in self.by_row]:
            rest = [f for f in self.by_row[i] if f.code != code]
            if rest:
                self.by_row[i] = rest
            else:
                del self.by_row[i]

    def keep(self, n: int) -> NDArray[np.bool_]:
        """Return a mask of the rows, out of `n`, that have no fault."""
        keep = np.ones(n, dtype=bool)
        keep[list(self.by_row)] = False
        return keep

    def set_aside(self, raw: RawTable, offset: int, positions: Iterable[int]) -> list[SetAside]:
        """Return the rows of `raw` that have faults, with their cells as they came.

        Parameters
        ----------
        raw : RawTable
            The file.
        offset : int
            Position of its first row among all rows.
        positions : iterable of int
            Positions of the rows within the file.
        """
        names = [str(c) for c in raw.cells.columns]
        out, rows = [], raw.cells.to_numpy()
        for i in positions:
            cells = dict(zip(names, map(str, rows[i]), strict=True))
            faults = tuple(self.by_row[offset + i])
            out.append(SetAside(raw.name, raw.rows[i], faults, cells))
        return out
