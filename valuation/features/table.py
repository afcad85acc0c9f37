"""Columns of sales or of one car, keyed and ready to encode."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np
from numpy.typing import NDArray

from valuation.features.columns import Bag, Factor, key
from valuation.reading.evidence import unexpressed
from valuation.records import Car, SalesBook, Value
from valuation.schema import ATTRIBUTES, BY_NAME

__all__ = [
    "AGE_LIMIT",
    "FOLLOWED",
    "FOLLOWS_FROM",
    "LEVELLED",
    "OWN_WORDS",
    "SALE_FACTORS",
    "FeatureTable",
    "day_number",
    "family_and_line",
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

FOLLOWS_FROM: dict[str, tuple[str, ...]] = {
    "specification": ("engine_size", "fuel", "transmission"),
    "version of a year": ("year", "engine_size", "fuel", "transmission", "fuel_economy"),
    "era": ("year",),
    **{f"{name} level": (name,) for name in LEVELLED},
}
"""Categories that spell out numbers and other categories, with what they follow from."""

_SPELLED_OUT = frozenset(name for names in FOLLOWS_FROM.values() for name in names)

FOLLOWED = _SPELLED_OUT | {"make", "model", "generation", "variant", "mileage_status"}
"""Attributes from which other columns of the table follow."""

OWN_WORDS = "in words of its own"
"""Level of a gearbox that is described, but by no word of a known kind."""

_EPOCH = np.datetime64("1970-01-01", "D")


def day_number(day: date) -> float:
    """Return a date as days since 1970-01-01."""
    return float((np.datetime64(day, "D") - _EPOCH).astype(int))


@dataclass(frozen=True)
class FeatureTable:
    """Sales or cars in the form that encoders read.

    Parameters
    ----------
    n : int
        Number of rows.
    numbers : mapping of str to ndarray, shape (n,)
        Numbers of the contract, ``day`` (days since 1970-01-01) and ``age`` (years at sale);
        NaN for not stated.  ``on record`` is 1 for a sale that was made, 0 for a car to be valued:
        what the sales of some days share because they are a selection is nothing of the latter.
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
        if not _SPELLED_OUT.isdisjoint({*numbers, *factors}):
            all_factors |= _derived(self.n, all_numbers, all_factors)
        return replace(self, numbers=all_numbers, factors=all_factors)

    def stating(self, name: str, values: Sequence[Value], codes: Ints) -> FeatureTable:
        """Return the same rows with one attribute stated anew, as if cars had been read so.

        Parameters
        ----------
        name : str
            Attribute of the contract, none of :data:`FOLLOWED`.
        values : sequence of Value
            Distinct values.
        codes : ndarray of int, shape (n,)
            Which of them each row states.
        """
        kind = BY_NAME[name].kind
        if kind == "category":
            return replace(self, factors={**self.factors, name: Factor.of(values).take(codes)})
        if kind == "set":
            sets = [v if isinstance(v, tuple) else None for v in values]
            return replace(self, bags={**self.bags, name: Bag.of(sets).take(codes)})
        x = np.array([v if isinstance(v, float | int) else np.nan for v in values])[codes]
        if name == "mileage":
            x = _believed(x, self.factors["mileage_status"])
        return replace(self, numbers={**self.numbers, name: x})

    def stated(self, names: Sequence[str]) -> NDArray[np.bool_]:
        """Tell which attributes of the contract each row states.

        Parameters
        ----------
        names : sequence of str
            Of lines of an explanation; one that is no attribute of the contract counts as stated.

        Returns
        -------
        ndarray of bool, shape (n, n_names)
        """
        out = np.ones((self.n, len(names)), dtype=bool)
        for i, name in enumerate(names):
            kind = BY_NAME[name].kind if name in BY_NAME else ""
            if kind == "number":
                out[:, i] = ~np.isnan(self.numbers[name])
            elif kind == "category":
                out[:, i] = self.factors[name].codes >= 0
            elif kind == "set":
                out[:, i] = self.bags[name].stated
        return out

    def at(self, day: float) -> FeatureTable:
        """Return the same rows, to be valued on a day (days since 1970-01-01, NaN for undated)."""
        days = np.full(self.n, day)
        numbers = {**self.numbers, "day": days, "age": _age(days, self.numbers["year"])}
        return replace(self, numbers=numbers).to_come()

    def to_come(self) -> FeatureTable:
        """Return the same rows as cars to be valued, no sales on record."""
        return replace(self, numbers={**self.numbers, "on record": np.zeros(self.n)})


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
        values = [car.values.get(a.name) for car in cars]
        if a.kind == "number":
            numbers = [v if isinstance(v, float | int) else np.nan for v in values]
            columns[a.name] = np.array(numbers)
        else:
            columns[a.name] = values
    for f in SALE_FACTORS:
        columns[f] = [car.sale.get(f) for car in cars]
    columns["chassis"] = [car.chassis or None for car in cars]
    columns["statements"] = [unexpressed(c.said, c.values) if c.said else None for c in cars]
    return _build(len(cars), np.full(len(cars), day), columns, words).to_come()


def _build(
    n: int, day: Floats, columns: Mapping[str, Any], words: Mapping[str, Sequence[Sequence[str]]]
) -> FeatureTable:
    numbers: dict[str, Floats] = {"day": day, "on record": np.ones(n)}
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
