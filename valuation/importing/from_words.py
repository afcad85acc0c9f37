"""What the words of a listing say and columns do not: filled attributes, and statements kept."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.reading.evidence import Evidence, attributes_of, unexpressed
from valuation.reading.statements import listing_text, read_statements
from valuation.schema.statements import Statement

__all__ = ["complete_from_words"]

_FILLED = (
    "engine_originality",
    "documents",
    "restoration",
    "modifications",
    "re_engineered",
    "transmission_origin",
    "genuineness",
    "mileage_status",
    "title_status",
    "history",
    "colour_origin",
)


def _texts(table: pd.DataFrame) -> list[str]:
    """Return title and description of each row as one text, empty where there is none."""
    titles, rest = table["title"].tolist(), table["description"].tolist()
    return [
        listing_text(*(t if isinstance(t, str) else "" for t in pair))
        for pair in zip(titles, rest, strict=True)
    ]


def _fill(
    table: pd.DataFrame, found: list[Evidence], of: NDArray[np.intp], name: str, notes: list[str]
) -> None:
    """Fill what no column states; row i rests on ``found[of[i]]``."""
    filled = []
    for column in _FILLED:
        told = np.empty(len(found), dtype=object)
        for i, evidence in enumerate(found):
            told[i] = evidence.values.get(column)  # noqa: PD011
        values = told[of]
        gap = table[column].isna().to_numpy() & ~pd.isna(values)
        if gap.any():
            old = table[column].to_numpy(dtype=object, copy=True)
            old[gap] = values[gap]
            table[column] = pd.Series(old, index=table.index, dtype=object)
            filled.append(f"{column.replace('_', ' ')} of {int(gap.sum())}")
    if filled:
        notes.append(f"{name}: filled from the words of listings: {', '.join(filled)}.")


def complete_from_words(table: pd.DataFrame, name: str, notes: list[str]) -> pd.DataFrame:
    """Fill attributes that no column states from title and description, and keep the rest.

    Parameters
    ----------
    table : pandas.DataFrame
        Sales of one file.
    name : str
        Name of the file, for notes.
    notes : list of str
        What was filled is appended.

    Returns
    -------
    pandas.DataFrame
        The same rows with ``statements``: for rows with a text the sorted texts of statements
        (``faults: rust``, ``not faults: rust``, ``perhaps faults: rust``) that no attribute of
        the row expresses, else None.
    """
    texts = _texts(table)
    if not any(texts):
        return table
    table = table.copy()
    of, different = pd.factorize(np.array(texts, dtype=object))
    said, of_text = _by_what_is_said([read_statements(t) if t else () for t in different])
    _fill(table, [attributes_of(s) if s else Evidence() for s in said], of_text[of], name, notes)
    kept = _kept(table, said, of_text[of])
    kept[[not text for text in texts]] = None
    table["statements"] = pd.Series(kept, index=table.index, dtype=object)
    return table


def _by_what_is_said(
    said: Sequence[tuple[Statement, ...]],
) -> tuple[list[tuple[Statement, ...]], NDArray[np.intp]]:
    """Return what texts say, whatever the words, each once; and which of it each text says."""
    places: dict[tuple[tuple[str, str, str], ...], int] = {}
    different: list[tuple[Statement, ...]] = []
    of = np.empty(len(said), dtype=np.intp)
    for i, statements in enumerate(said):
        key = tuple((s.topic, s.value, s.strength) for s in statements)
        of[i] = places.setdefault(key, len(different))
        if of[i] == len(different):
            different.append(statements)
    return different, of


def _kept(
    table: pd.DataFrame, said: Sequence[tuple[Statement, ...]], of: NDArray[np.intp]
) -> NDArray[Any]:
    """Return for each row the statements that none of its attributes expresses."""
    stated = np.column_stack([table[c].notna().to_numpy() for c in _FILLED])
    once: dict[tuple[int, bytes], tuple[str, ...]] = {}
    kept = np.empty(len(of), dtype=object)
    for i, (place, own) in enumerate(zip(of.tolist(), stated, strict=True)):
        key = (place, own.tobytes())
        if key not in once:
            names = {c for c, has in zip(_FILLED, own, strict=True) if has}
            once[key] = unexpressed(said[place], names)
        kept[i] = once[key]
    return kept
