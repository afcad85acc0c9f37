"""Segments of the market, as the firm cuts it: names and what belongs to each."""

from __future__ import annotations

import math
import tomllib
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.errors import SettingsError
from valuation.features.columns import key
from valuation.importing.car_value import Wrong, all_wrong

__all__ = [
    "ALL_CARS",
    "LEAST_SALES",
    "Segment",
    "make_segments",
    "overlaps_of",
    "read_segments",
    "segments_of",
]

Mask = NDArray[np.bool_]

ALL_CARS = "All cars"
"""Name of the segment of every sale, which nobody gets without asking."""

LEAST_SALES = 30
"""Fewest sales of a make that gets a segment of its own where no segments are given."""

_LISTS = ("makes", "models", "bodies", "channels")
_PRICED = ("price", "prices", "price_band", "price_range", "from_price", "to_price")


@dataclass(frozen=True, slots=True)
class Segment:
    """A part of the market.

    A sale belongs to it if its make or its model is named (any where neither is), and its year,
    body and channel are (any where none is).

    Parameters
    ----------
    name : str
        As the firm calls it.
    makes : tuple of str
        Makes.
    models : tuple of str
        Models with their make, such as ``Torvane GT``.
    years : tuple of (float, float), optional
        First and last year of the cars.
    bodies, channels : tuple of str
        Bodies, and channels of sale.
    """

    name: str
    makes: tuple[str, ...] = ()
    models: tuple[str, ...] = ()
    years: tuple[float, float] | None = None
    bodies: tuple[str, ...] = ()
    channels: tuple[str, ...] = ()

    def rows(self, frame: pd.DataFrame) -> Mask:
        """Mark the sales that belong to it.

        Parameters
        ----------
        frame : pandas.DataFrame
            Sales in the contract's columns.

        Returns
        -------
        ndarray of bool, shape (n_sales,)
            True for its sales; what a sale does not state it does not fulfil.
        """
        keep = np.ones(len(frame), dtype=bool)
        if self.makes or self.models:
            make, model = (_keys(frame[name]) for name in ("make", "model"))
            both = (make + " " + model).where((make != "") & (model != ""), "")
            keep &= (make.isin(_keyed(self.makes)) | both.isin(_keyed(self.models))).to_numpy()
        for names, column in ((self.bodies, "body"), (self.channels, "channel")):
            if names:
                keep &= _keys(frame[column]).isin(_keyed(names)).to_numpy()
        if self.years is not None:
            keep &= frame["year"].between(*self.years).to_numpy()
        return keep

    @property
    def words(self) -> str:
        """What belongs to it, in words."""
        cars = [*self.makes, *self.models]
        parts = [", ".join(cars)] if cars else []
        if self.years is not None:
            parts.append(f"built {self.years[0]:.0f} to {self.years[1]:.0f}")
        parts += [" or ".join(names) for names in (self.bodies, self.channels) if names]
        return "; ".join(parts) or "every sale of the evidence"


def _keyed(names: Sequence[str]) -> set[str]:
    return {key(name) for name in names}


def _keys(column: pd.Series[Any]) -> pd.Series[str]:
    found = {v: key(v) for v in column.dropna().unique()}
    return column.map(found).fillna("").astype(str)


def read_segments(path: str | Path) -> tuple[Segment, ...]:
    """Read segments from a TOML file with a table ``[segments."NAME"]`` for each.

    Parameters
    ----------
    path : path-like
        The file; other tables in it are left alone, so it can be the settings of the firm.

    Returns
    -------
    tuple of Segment
        In the order of the file.

    Raises
    ------
    SettingsError
        If it can't be read, or holds wrong entries; all of them are named.
    """
    path = Path(path)
    try:
        raw = tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except OSError as error:
        raise SettingsError(
            path.name,
            "the segments can't be read",
            got=error.strerror or str(error),
            remedy="Check the path",
        ) from error
    except (ValueError, RecursionError) as error:
        raise SettingsError(
            path.name, "this is not valid TOML", got=str(error), remedy="Mend the line named"
        ) from error
    return segments_of(raw.get("segments", {}), where=path.name)


def segments_of(mapping: Mapping[str, Any], *, where: str = "segments") -> tuple[Segment, ...]:
    """Return the segments of a settings table.

    Parameters
    ----------
    mapping : mapping of str to mapping
        For each name any of ``makes``, ``models``, ``years``, ``bodies`` and ``channels``.
    where : str
        Name for messages.

    Returns
    -------
    tuple of Segment
        In the order of the mapping.

    Raises
    ------
    SettingsError
        If there is none, or entries are wrong; all of them are named.
    """
    if not isinstance(mapping, Mapping) or not mapping:
        raise SettingsError(
            where,
            "no segment is named",
            got="nothing" if isinstance(mapping, Mapping) else repr(mapping),
            remedy='Write a table such as [segments."Open two-seaters"] with bodies = ["roadster"]',
        )
    faults: list[Wrong] = []
    made = tuple(_segment(str(name), entry, faults) for name, entry in mapping.items())
    seen: set[str] = set()
    for segment in made:
        if key(segment.name) in seen:
            faults.append(Wrong(f'segments."{segment.name}"', "it twice", "named once"))
        seen.add(key(segment.name))
    if faults:
        what, remedy = all_wrong(faults)
        raise SettingsError(where, what, remedy=remedy)
    return made


def _segment(name: str, entry: Any, faults: list[Wrong]) -> Segment:
    at = f'segments."{name}"'
    if not key(name):
        faults.append(Wrong(at, "no name", "a name of at least one letter"))
    if not isinstance(entry, Mapping) or not entry:
        allowed = "a table with any of makes, models, years, bodies, channels"
        faults.append(Wrong(at, repr(entry), allowed))
        return Segment(name)
    for word in entry:
        if word in _PRICED:
            said = "left out: a segment cut by price would pick the very thing that is measured"
            faults.append(Wrong(f"{at}, {word}", repr(entry[word]), said))
        elif word not in (*_LISTS, "years"):
            allowed = "one of makes, models, years, bodies, channels"
            faults.append(Wrong(f"{at}, {word}", repr(entry[word]), allowed))
    words = {n: _words(entry[n], f"{at}, {n}", faults) for n in _LISTS if n in entry}
    faults += [
        Wrong(f"{at}, models", model, 'a make and a model, such as "Torvane GT"')
        for model in words.get("models", ())
        if len(key(model).split()) < 2
    ]
    years = _years(entry["years"], f"{at}, years", faults) if "years" in entry else None
    return Segment(name, years=years, **words)


def _words(value: Any, at: str, faults: list[Wrong]) -> tuple[str, ...]:
    listed = [value] if isinstance(value, str) else value
    if (
        not isinstance(listed, list | tuple)
        or not listed
        or not all(isinstance(v, str) and v.strip() for v in listed)
    ):
        faults.append(Wrong(at, repr(value), 'a list of words, such as ["Torvane"]'))
        return ()
    return tuple(dict.fromkeys(v.strip() for v in listed))


def _years(value: Any, at: str, faults: list[Wrong]) -> tuple[float, float] | None:
    plain = isinstance(value, list | tuple) and len(value) == 2
    if plain and all(isinstance(v, int | float) and not isinstance(v, bool) for v in value):
        first, last = float(value[0]), float(value[1])
        if math.isfinite(first) and math.isfinite(last) and first <= last:
            return first, last
    faults.append(Wrong(at, repr(value), "the first and the last year, such as [1946, 1965]"))
    return None


def make_segments(frame: pd.DataFrame, *, least: int = LEAST_SALES) -> tuple[Segment, ...]:
    """Return a segment for each make with enough sales, the most frequent first.

    Parameters
    ----------
    frame : pandas.DataFrame
        Sales in the contract's columns.
    least : int
        Fewest sales.

    Returns
    -------
    tuple of Segment
        Named as the make is written most often; empty if no make has enough sales.
    """
    spelt: dict[str, Counter[str]] = {}
    for make in frame["make"].dropna():
        spelt.setdefault(key(make), Counter())[str(make)] += 1
    enough = [(m, sum(written.values())) for m, written in spelt.items()]
    chosen = sorted((-n, m) for m, n in enough if n >= least)
    names = [min(spelt[m].items(), key=lambda said: (-said[1], said[0]))[0] for _, m in chosen]
    return tuple(Segment(name, makes=(name,)) for name in names)


def overlaps_of(names: Sequence[str], rows: Sequence[Mask]) -> tuple[str, ...]:
    """Say which segments share sales, in sentences.

    Parameters
    ----------
    names : sequence of str
        Segments.
    rows : sequence of ndarray of bool, shape (n_sales,)
        The sales of each.
    """
    said = []
    for i, one in enumerate(names):
        for j in range(i + 1, len(names)):
            shared = int((rows[i] & rows[j]).sum())
            if shared:
                count = "1 sale belongs" if shared == 1 else f"{shared:,} sales belong"
                said.append(f"{count} to both {one} and {names[j]}.")
    return tuple(said)
