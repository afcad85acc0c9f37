"""Pairs of cars that differ in one thing, with the true difference and what the model makes of it.

The first car of a pair was kept out of the fit; what changes in the second is taken from sales of
the fit (another version, body, gearbox or year from the same model line, another condition,
mileage or place of sale from any), or drawn evenly among the words of an attribute that those
sales hold.  So every change is one that the market has seen, and none was chosen for its size.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from truth_markets import Trial
from truth_measures import Z90

from valuation.appraisal.contrast import contrast
from valuation.appraisal.fitting import Fitted
from valuation.records import Car, Value
from valuation.schema import BY_NAME
from valuation.synthetic.cars import State
from valuation.synthetic.effects import SETS
from valuation.synthetic.pricing import contributions
from valuation.synthetic.tabling import actual_words
from valuation.synthetic.world import CHANNELS, REGIONS, VENUES

__all__ = ["CARS", "Pair", "effect_counts", "heading", "pairs"]

Ints = NDArray[np.intp]
Row = dict[str, Any]

CARS = 12
"""Cars of a market to which every change is made."""

_IN_LINE = {
    "variant": ("variant",),
    "body": ("body",),
    "transmission": ("transmission", "gears"),
    "gears": ("gears",),
    "year": ("year",),
}
"""Changes taken from another sale of the same model line and generation, with what goes along."""

_NUMBERS = ("condition_grade", "originality_score", "mileage")
_WORDS = (
    "genuineness",
    "transmission_origin",
    "steering_side",
    "original_market",
    "colour",
    "interior_colour",
    "engine_originality",
    "restoration",
    "restorer",
    "re_engineered",
    "mileage_status",
    "colour_origin",
    "title_status",
)
_EMPTY_IS_SILENT = ("history", "equipment")


@dataclass(frozen=True)
class Pair:
    """Two cars that differ in one thing.

    Attributes
    ----------
    attribute : str
        What differs: an attribute of the contract, ``place`` (channel and venue) or ``region``.
    first, second : Car
        The cars with their sale.
    true : float
        True difference of the log price, second less first.
    """

    attribute: str
    first: Car
    second: Car
    true: float


def heading(values: dict[str, Value]) -> str:
    """Write a truthful heading, as the makers of the market write them."""
    version = "" if values["variant"] == "Standard" else f" {values['variant']}"
    word = values.get("genuineness")
    claim = f" {word}" if word in ("tribute", "replica") else ""
    manual = values["transmission"] == "manual"
    shift = f"{values['gears']:.0f}-speed" if manual else values["transmission"]
    name = f"{values['year']:.0f} {values['make']} {values['model']}{version}"
    return f"{name} {str(values['body']).title()}{claim}, {shift}"


class _Drawer:
    """Draws the second car of each pair."""

    def __init__(self, trial: Trial) -> None:
        truth, rows = trial.world.truth, trial.train
        self.table = trial.world.table
        self.state, self.sale = truth.state, truth.sale
        self.rows = rows
        self.lines = truth.world.lines
        self.rng = np.random.default_rng([trial.world.seed, 1])

    def row(self, i: int) -> Row:
        """Return state and sale of one record."""
        row = {k: v[i] for k, v in self.state.items()}
        return row | {k: self.sale[k][i] for k in ("day", "channel", "venue", "region")}

    def _donor(self, good: NDArray[np.bool_]) -> int | None:
        found = self.rows[good]
        return int(self.rng.choice(found)) if len(found) else None

    def in_line(self, row: Row, name: str) -> Row | None:
        """Take a value from another sale of the same model line and generation."""
        s = {k: v[self.rows] for k, v in self.state.items()}
        good = (s["line"] == row["line"]) & (s["generation"] == row["generation"])
        good &= s[name] != row[name]
        if name == "gears":
            good &= s["transmission"] == row["transmission"]
        donor = self._donor(good)
        if donor is None:
            return None
        new = row | {k: self.state[k][donor] for k in _IN_LINE[name]}
        return self._as_version(new) if name == "variant" else new

    def _as_version(self, row: Row) -> Row:
        """Give a car the engine of its version, and make it a real one."""
        line, variant = row["line"], row["variant"]
        size = self.lines.specs[line].size * self.lines.variant_size[line, variant]
        genuine = 0 if self.lines.variant_rare[line, variant] else -1
        return row | {"engine_size": np.round(size, 1), "genuineness": genuine}

    def number(self, row: Row, name: str) -> Row | None:
        """Take a number from any sale that states it."""
        values = self.state[name][self.rows]
        stated = self.table[name].notna().to_numpy()[self.rows]
        donor = self._donor(stated & (values != row[name]))
        return None if donor is None else row | {name: self.state[name][donor]}

    def word(self, row: Row, name: str) -> Row | None:
        """Draw another word of a category among those that sales state."""
        if row[name] < 0:
            return None
        stated = self.table[name].notna().to_numpy()[self.rows]
        codes = np.unique(self.state[name][self.rows][stated])
        codes = codes[(codes >= 0) & (codes != row[name])]
        return row | {name: self.rng.choice(codes)} if len(codes) else None

    def member(self, row: Row, name: str) -> Row | None:
        """Add or take away one word of a set, drawn among those that sales state."""
        words = {w for v in self.table[name].iloc[self.rows] if isinstance(v, tuple) for w in v}
        if not words:
            return None
        bit = SETS[name].index(str(self.rng.choice(sorted(words))))
        return row | {name: row[name] ^ (1 << bit)}

    def place(self, row: Row, name: str) -> Row | None:
        """Take channel and venue, or the region, from another sale."""
        keys = ("channel", "venue") if name == "place" else ("region",)
        theirs = self.sale[keys[-1]][self.rows]
        donor = self._donor(theirs != row[keys[-1]])
        return None if donor is None else row | {k: self.sale[k][donor] for k in keys}

    def changes(self) -> Iterator[tuple[str, Callable[[Row, str], Row | None]]]:
        """Yield each change with what makes it."""
        yield from ((n, self.in_line) for n in _IN_LINE)
        yield from ((n, self.number) for n in _NUMBERS)
        yield from ((n, self.word) for n in _WORDS)
        yield from ((n, self.member) for n in SETS)
        yield from ((n, self.place) for n in ("place", "region"))


def _cars(trial: Trial, rows: list[Row], stated: list[set[str]]) -> list[Car]:
    lines = trial.world.truth.world.lines
    state: State = {k: np.array([r[k] for r in rows]) for k in trial.world.truth.state}
    words = actual_words(lines, state)
    out = []
    for i, (row, told) in enumerate(zip(rows, stated, strict=True)):
        every: dict[str, Value] = {k: v[i] for k, v in words.items() if v[i] is not None}
        told = told - {k for k in _EMPTY_IS_SILENT if every.get(k) == ()}
        values = {
            k: float(v) if BY_NAME[k].kind == "number" else v  # type: ignore[arg-type]
            for k, v in every.items()
            if k in told
        }
        auction = row["channel"] <= CHANNELS.index("online auction")
        sale = {
            "channel": CHANNELS[row["channel"]],
            "venue": VENUES[row["venue"]].name,
            "region": REGIONS[row["region"]],
            "basis": "hammer price" if auction else "price paid",
            "outcome": "sold",
            "reserve": "yes" if auction else "",
        }
        out.append(Car(values, title=heading(every), sale=sale))
    return out


def _expected(trial: Trial, rows: list[Row]) -> NDArray[np.float64]:
    world = trial.world.truth.world
    state = {k: np.array([r[k] for r in rows]) for k in trial.world.truth.state}
    sale = {k: np.array([r[k] for r in rows]) for k in ("day", "channel", "venue", "region")}
    return np.asarray(np.sum(list(contributions(world, state, sale).values()), axis=0))


def pairs(trial: Trial, known: NDArray[np.bool_], day: float) -> list[Pair]:
    """Draw pairs of cars of a market.

    Parameters
    ----------
    trial : Trial
        Market with its truth.
    known : ndarray of bool, shape (n_fresh,)
        Which of the cars kept out belong to a model line that the fit knows.
    day : float
        Day on which both are sold.

    Returns
    -------
    list of Pair
        Up to one for each of :data:`CARS` cars and each change.
    """
    draw = _Drawer(trial)
    table = trial.world.table
    chosen = draw.rng.permutation(trial.fresh[known])[:CARS]
    names, first, second, told = [], [], [], []
    for i in np.sort(chosen).tolist():
        base = draw.row(i) | {"day": int(day)}
        stated = {k for k in BY_NAME if k in table and _is_stated(table[k].iloc[i])}
        for name, make in draw.changes():
            new = make(base, name)
            if new is not None:
                names.append(name)
                first.append(base)
                second.append(new)
                told.append(stated | {name, *_IN_LINE.get(name, ()), "genuineness"})
    true = _expected(trial, second) - _expected(trial, first)
    one, two = _cars(trial, first, told), _cars(trial, second, told)
    return [Pair(*p) for p in zip(names, one, two, true.tolist(), strict=True)]


def _is_stated(value: object) -> bool:
    return value is not None and value == value  # NaN is not itself


def effect_counts(trial: Trial, fitted: Fitted, day: float) -> dict[str, dict[str, float]]:
    """Count true effects inside their 90 % intervals.

    Parameters
    ----------
    trial : Trial
        Market with its truth.
    fitted : Fitted
        The fit.
    day : float
        Day of the comparison.

    Returns
    -------
    dict of str to dict of str to float
        By attribute: ``tries``, ``hits``, ``blind`` (no column at all: an interval of no width),
        sums of squares of the error, of the standard deviation, of the true effect, and of the
        error in standard deviations.
    """
    known = fitted.spec.line_of(trial.data.table.take(trial.fresh)) >= 0
    out: dict[str, dict[str, float]] = {}
    for pair in pairs(trial, known, day):
        found = contrast(fitted, pair.first, pair.second, day=day)
        tally(out.setdefault(pair.attribute, {}), found.effect - pair.true, found.sd, pair.true)
    return out


def tally(counts: dict[str, float], off: float, sd: float, true: float) -> None:
    """Add one effect to the counts of its attribute.

    Parameters
    ----------
    counts : dict of str to float
        Counts, changed in place.
    off, sd, true : float
        Error of the effect, its standard deviation, the true effect.
    """
    blind = sd < 1e-9
    fresh = {
        "tries": 1.0,
        "hits": float(abs(off) <= Z90 * sd),
        "blind": float(blind),
        "error2": off**2,
        "sd2": sd**2,
        "true2": true**2,
        "z2": 0.0 if blind else min((off / sd) ** 2, 100.0),
        "off": off,
    }
    for k, v in fresh.items():
        counts[k] = counts.get(k, 0.0) + v
