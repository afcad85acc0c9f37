"""Columns of sales or of one car, keyed and ready to encode."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.reading.evidence import unexpressed
from valuation.records import Car, SalesBook
from valuation.schema import ATTRIBUTES

__all__ = [
    "AGE_LIMIT",
    "LEVELLED",
    "OWN_WORDS",
    "SALE_FACTORS",
    "Bag",
    "Factor",
    "FeatureTable",
    "day_number",
    "family_and_line",
    "key",
    "table_of_book",
    "table_of_cars",
]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

AGE_LIMIT = 25.0
"""Under this age (years) a car is priced by its age at sale too; over it, by its vintage alone."""

SALE_FACTORS = ("channel", "venue", "region", "basis", "outcome", "reserve")
"""What is known about a sale beside the car."""

LEVELLED = {"year": 0, "engine_size": 1, "fuel_economy": 1, "annual_tax": 0}
"""Numbers that also set versions apart as categories, with the decimals that count."""

OWN_WORDS = "in words of its own"
"""Level of a gearbox that is described, but by no word of a known kind."""

_EPOCH = np.datetime64("1970-01-01", "D")


def key(text: object) -> str:
    """Return the form of a word under which it is counted: lower case, single blanks."""
    return " ".join(str(text).casefold().split())


def day_number(day: date) -> float:
    """Return a date as days since 1970-01-01."""
    return float((np.datetime64(day, "D") - _EPOCH).astype(int))


@dataclass(frozen=True)
class Factor:
    """A category: one code a row (-1 for not stated) into `levels`."""

    codes: Ints
    levels: tuple[str, ...]

    @classmethod
    def of(cls, values: Iterable[object]) -> Factor:
        """Factorise values; None, NaN and blanks are not stated."""
        column = np.array(list(values), dtype=object)
        if len(column) == 1:  # one car: factorising costs more than the rest of its features
            word = "" if pd.isna(column[0]) else key(column[0])
            return cls(np.array([0 if word else -1], dtype=np.intp), (word,) if word else ())
        raw, found = pd.factorize(column)
        keys = [key(v) for v in found]
        levels = sorted({k for k in keys if k})
        at = {k: i for i, k in enumerate(levels)}
        recode = np.array([at.get(k, -1) for k in keys] + [-1], dtype=np.intp)
        return cls(recode[raw], tuple(levels))

    def take(self, rows: Any) -> Factor:
        """Return the chosen rows."""
        return Factor(self.codes[rows], self.levels)

    def only(self, levels: frozenset[str]) -> Factor:
        """Return the factor with words outside the given levels as not stated."""
        if levels.issuperset(self.levels):
            return self
        keep = np.array([v in levels for v in self.levels] + [False])
        return Factor(np.where(keep[self.codes], self.codes, -1), self.levels)

    def filled(self, words: Sequence[str]) -> Factor:
        """Return the factor with the given words where it is not stated, empty for none."""
        at = {v: i for i, v in enumerate(self.levels)}
        codes, levels = self.codes.copy(), list(self.levels)
        for i in np.flatnonzero(codes < 0).tolist():
            word = words[i]
            if word:
                if word not in at:
                    at[word] = len(levels)
                    levels.append(word)
                codes[i] = at[word]
        return Factor(codes, tuple(levels))

    def word(self, row: int) -> str:
        """Return the level of one row, empty where not stated."""
        code = self.codes[row]
        return self.levels[code] if code >= 0 else ""

    def text(self) -> list[str]:
        """Return the level of each row, empty where not stated."""
        names = [*self.levels, ""]
        return [names[c] for c in self.codes]


@dataclass(frozen=True)
class Bag:
    """A set of words for each row, as pairs of row and code; `stated` marks rows with a set."""

    rows: Ints
    codes: Ints
    levels: tuple[str, ...]
    stated: NDArray[np.bool_]

    @classmethod
    def of(cls, sets: Sequence[Sequence[str] | None]) -> Bag:
        """Collect sets; None is not stated, the empty set is stated."""
        stated = np.array([s is not None for s in sets], dtype=bool)
        keyed = ((i, dict.fromkeys(key(w) for w in s)) for i, s in enumerate(sets) if s)
        pairs = [(i, w) for i, words in keyed for w in words if w]
        levels = sorted({w for _, w in pairs})
        at = {w: i for i, w in enumerate(levels)}
        rows = np.array([i for i, _ in pairs], dtype=np.intp)
        codes = np.array([at[w] for _, w in pairs], dtype=np.intp)
        return cls(rows, codes, tuple(levels), stated)

    def take(self, rows: Any) -> Bag:
        """Return the chosen rows."""
        chosen = np.arange(len(self.stated))[rows]
        order = np.argsort(self.rows, kind="stable")
        starts = np.searchsorted(self.rows[order], chosen, side="left")
        stops = np.searchsorted(self.rows[order], chosen, side="right")
        counts = stops - starts
        first = np.repeat(starts - np.append(0, np.cumsum(counts)[:-1]), counts)
        picked = order[first + np.arange(counts.sum())]
        return Bag(
            np.repeat(np.arange(len(chosen)), counts),
            self.codes[picked],
            self.levels,
            self.stated[chosen],
        )


@dataclass(frozen=True)
class FeatureTable:
    """Sales or cars in the form that encoders read.

    Parameters
    ----------
    n : int
        Number of rows.
    numbers : mapping of str to ndarray, shape (n,)
        Numbers of the contract, ``day`` (days since 1970-01-01) and ``age`` (years at sale);
        NaN for not stated.
    factors : mapping of str to Factor
        Categories of the contract, the sale factors, ``line`` (model line), ``family`` (make and
        model), ``era`` (decade), ``specification``, ``version of a year``, ``version`` and
        ``chassis``.
    bags : mapping of str to Bag
        Sets of the contract, ``statements`` (what a text says and no attribute expresses),
        ``wording``, ``engine wording`` and ``gearbox wording``.
    """

    n: int
    numbers: Mapping[str, Floats]
    factors: Mapping[str, Factor]
    bags: Mapping[str, Bag]

    def take(self, rows: Any) -> FeatureTable:
        """Return the chosen rows (mask or positions)."""
        numbers = {k: v[rows] for k, v in self.numbers.items()}
        return FeatureTable(
            len(numbers["day"]),
            numbers,
            {k: f.take(rows) for k, f in self.factors.items()},
            {k: b.take(rows) for k, b in self.bags.items()},
        )

    def without(self, levels: Mapping[str, frozenset[str]]) -> FeatureTable:
        """Return the same rows with words that are not among the given levels as not stated."""
        fresh = {k: self.factors[k].only(v) for k, v in levels.items()}
        return replace(self, factors={**self.factors, **fresh})

    def filled(
        self, numbers: Mapping[str, Floats], factors: Mapping[str, Sequence[str]]
    ) -> FeatureTable:
        """Return the same rows with what is not stated taken from the given values.

        Parameters
        ----------
        numbers : mapping of str to ndarray, shape (n,)
            Stand-ins for numbers, NaN for none.
        factors : mapping of str to sequence of str
            Stand-ins for categories, empty for none.
        """
        fresh = {
            k: np.where(np.isnan(self.numbers[k]), v, self.numbers[k]) for k, v in numbers.items()
        }
        all_numbers = {**self.numbers, **fresh}
        all_factors = {**self.factors, **{k: self.factors[k].filled(v) for k, v in factors.items()}}
        all_factors |= _derived(self.n, all_numbers, all_factors)
        return replace(self, numbers=all_numbers, factors=all_factors)

    def at(self, day: float) -> FeatureTable:
        """Return the same rows on another day (days since 1970-01-01, NaN for undated)."""
        days = np.full(self.n, day)
        numbers = {**self.numbers, "day": days, "age": _age(days, self.numbers["year"])}
        return replace(self, numbers=numbers)


def _age(day: Floats, year: Floats) -> Floats:
    """Age at sale in years, at least zero."""
    return np.maximum(1970.0 + day / 365.25 - year, 0.0)


def table_of_book(book: SalesBook, words: Mapping[str, Sequence[Sequence[str]]]) -> FeatureTable:
    """Build the feature table of a sales book.

    Parameters
    ----------
    book : SalesBook
        Sales.
    words : mapping of str to sequence of sequences of str
        For ``wording``, ``engine wording`` and ``gearbox wording`` the words of each sale.

    Returns
    -------
    FeatureTable
        One row a sale.
    """
    t = book.table
    days = t["sale_date"].to_numpy().astype("datetime64[D]")
    day = np.where(np.isnat(days), np.nan, (days - _EPOCH).astype(float))
    columns: dict[str, Any] = {a.name: t[a.name].to_numpy() for a in ATTRIBUTES}
    columns |= {f: t[f].to_numpy() for f in (*SALE_FACTORS, "chassis")}
    columns["statements"] = t["statements"].tolist() if "statements" in t else [None] * len(t)
    return _build(len(t), day, columns, words)


def table_of_cars(
    cars: Sequence[Car], day: float, words: Mapping[str, Sequence[Sequence[str]]]
) -> FeatureTable:
    """Build the feature table of cars to be valued on a day.

    Parameters
    ----------
    cars : sequence of Car
        The cars.
    day : float
        Days since 1970-01-01, NaN for an undated market.
    words : mapping of str to sequence of sequences of str
        As for :func:`table_of_book`, for these cars.

    Returns
    -------
    FeatureTable
        One row a car.
    """
    columns: dict[str, Any] = {}
    for a in ATTRIBUTES:
        values = [car.values.get(a.name) for car in cars]  # noqa: PD011 (a mapping, not a frame)
        if a.kind == "number":
            numbers = [v if isinstance(v, float | int) else np.nan for v in values]
            columns[a.name] = np.array(numbers)
        else:
            columns[a.name] = values
    for f in SALE_FACTORS:
        columns[f] = [car.sale.get(f) for car in cars]
    columns["chassis"] = [car.chassis or None for car in cars]
    columns["statements"] = [unexpressed(c.said, c.values) if c.said else None for c in cars]
    return _build(len(cars), np.full(len(cars), day), columns, words)


def _build(
    n: int, day: Floats, columns: Mapping[str, Any], words: Mapping[str, Sequence[Sequence[str]]]
) -> FeatureTable:
    numbers: dict[str, Floats] = {"day": day}
    factors: dict[str, Factor] = {}
    bags: dict[str, Bag] = {}
    for a in ATTRIBUTES:
        if a.kind == "number":
            numbers[a.name] = np.asarray(columns[a.name], dtype=np.float64)
        elif a.kind == "category":
            factors[a.name] = Factor.of(columns[a.name])
        else:
            bags[a.name] = Bag.of(list(columns[a.name]))
    for f in (*SALE_FACTORS, "chassis"):
        factors[f] = Factor.of(columns[f])
    numbers["mileage"] = _believed(numbers["mileage"], factors["mileage_status"])
    bags["statements"] = Bag.of(columns["statements"])
    numbers["age"] = _age(day, numbers["year"])
    for name, sets in words.items():
        bags[name] = Bag.of(sets)
    if "gearbox wording" in bags:
        factors["transmission"] = _named(factors["transmission"], bags["gearbox wording"])
    factors |= _identity(n, factors, [w[:1] for w in words.get("wording", [()] * n)])
    factors["version"] = Factor.of([" ".join(sorted(w)) for w in words.get("wording", [])])
    factors |= _derived(n, numbers, factors)
    return FeatureTable(n, numbers, factors, bags)


_MILEAGE = next(a.typical for a in ATTRIBUTES if a.name == "mileage")
_DOUBTED = frozenset({"unknown", "exempt"})


def _believed(mileage: Floats, status: Factor) -> Floats:
    """Return the mileage that buyers believe: of an unknown one the reading counts for nothing."""
    doubted = np.array([v in _DOUBTED for v in status.levels] + [False])[status.codes]
    return np.where(doubted & ~np.isnan(mileage), _MILEAGE, mileage)


def _identity(
    n: int, factors: Mapping[str, Factor], first: Sequence[Sequence[str]]
) -> dict[str, Factor]:
    """Return family (make and model) and model line (with the generation).

    A car without a model is grouped by its make and the first word of its title.
    """
    make, model, generation = (factors[k].text() for k in ("make", "model", "generation"))
    words = [family_and_line(make[i], model[i], generation[i], first[i]) for i in range(n)]
    return {"family": Factor.of(f for f, _ in words), "line": Factor.of(m for _, m in words)}


def family_and_line(
    make: str, model: str, generation: str, first: Sequence[str]
) -> tuple[str, str]:
    """Return the levels of ``family`` and ``line`` of one car.

    Parameters
    ----------
    make, model, generation : str
        As :func:`key` leaves them, empty for not stated.
    first : sequence of str
        The first word of the title, or nothing.
    """
    second = model or (f"({first[0]})" if len(first) else "")
    family = f"{make} | {second}"
    return key(family), key(f"{family} | {generation}" if generation else family)


def _named(factor: Factor, bag: Bag) -> Factor:
    """Return a factor in which rows that state it in words of no known kind are not silent."""
    spoken = np.zeros(len(factor.codes), dtype=bool)
    spoken[bag.rows] = True
    unknown = (factor.codes < 0) & spoken
    if not unknown.any():
        return factor
    return factor.filled([OWN_WORDS if u else "" for u in unknown])


def _derived(
    n: int, numbers: Mapping[str, Floats], factors: Mapping[str, Factor]
) -> dict[str, Factor]:
    """Return the categories that follow from other columns."""
    specification = _specification(n, numbers, factors)
    year, mpg = numbers["year"], numbers["fuel_economy"]
    return {
        "specification": specification,
        "version of a year": Factor.of(
            [
                f"{year[i]:.0f} {word} {mpg[i]:.0f}" if word else None
                for i, word in enumerate(specification.text())
            ]
        ),
        "era": _levels_of(np.floor(numbers["year"] / 10) * 10, 0),
        **{f"{name} level": _levels_of(numbers[name], d) for name, d in LEVELLED.items()},
    }


def _levels_of(x: Floats, digits: int) -> Factor:
    """Return a number as a category of its rounded values."""
    rounded, codes = np.unique(np.round(x, digits), return_inverse=True)
    known = rounded[~np.isnan(rounded)]
    codes = np.where(np.isnan(x), -1, codes)
    return Factor(codes.astype(np.intp), tuple(f"{v:.{digits}f}" for v in known))


def _specification(n: int, numbers: Mapping[str, Floats], factors: Mapping[str, Factor]) -> Factor:
    """Return engine, fuel and gearbox as one word: what lists without a variant go by."""
    size = numbers["engine_size"]
    fuel, gearbox = factors["fuel"].text(), factors["transmission"].text()
    known = ~np.isnan(size)
    return Factor.of(
        [f"{size[i]:.1f} {fuel[i]} {gearbox[i]}" if known[i] else None for i in range(n)]
    )
