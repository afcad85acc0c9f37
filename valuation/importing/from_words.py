"""What the words of a listing say and columns do not: filled attributes, and statements kept."""

from __future__ import annotations

import numpy as np
import pandas as pd

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


def _fill(table: pd.DataFrame, found: list[Evidence], name: str, notes: list[str]) -> None:
    filled = []
    for column in _FILLED:
        values = np.empty(len(found), dtype=object)
        for i, evidence in enumerate(found):
            values[i] = evidence.values.get(column)  # noqa: PD011
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
    once: dict[str, tuple[tuple[Statement, ...], Evidence]] = {}
    for text in texts:
        if text not in once:
            said = read_statements(text) if text else ()
            once[text] = (said, attributes_of(said) if said else Evidence())
    _fill(table, [once[t][1] for t in texts], name, notes)
    stated = {c: table[c].notna().to_numpy() for c in _FILLED}
    kept = np.empty(len(texts), dtype=object)
    for i, text in enumerate(texts):
        said = once[text][0]
        if said:
            kept[i] = unexpressed(said, {c for c in _FILLED if stated[c][i]})
        else:
            kept[i] = () if text else None
    table["statements"] = pd.Series(kept, index=table.index, dtype=object)
    return table
