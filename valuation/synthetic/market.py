"""A whole synthetic market: the records as they would be kept, and the truth behind them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from valuation.records import SalesBook, Value
from valuation.synthetic.cars import State, age_cars, draw_cars, take
from valuation.synthetic.catalogue import draw_lines
from valuation.synthetic.effects import Array, draw_effects
from valuation.synthetic.levels import as_days, draw_levels
from valuation.synthetic.pricing import World, basis_part, contributions
from valuation.synthetic.settings import MarketSettings
from valuation.synthetic.single import true_parts
from valuation.synthetic.stating import Statements, draw_statements
from valuation.synthetic.tabling import build_table
from valuation.synthetic.trading import Sale, draw_occasions, hold, later_chances, student
from valuation.synthetic.truth import Truth, silent_means

__all__ = ["SyntheticMarket", "make_market"]

_STREAMS = ("effects", "lines", "levels", "cars", "sales", "statements", "prices", "words")


@dataclass(frozen=True)
class SyntheticMarket:
    """Records of an invented market, with the truth.

    Parameters
    ----------
    settings : MarketSettings
        What was asked for.
    seed : int
        Seed from which everything was drawn.
    table : pandas.DataFrame
        The contract's table, in the order of the sale dates.
    truth : Truth
        What made the prices.
    """

    settings: MarketSettings
    seed: int
    table: pd.DataFrame
    truth: Truth

    def book(self) -> SalesBook:
        """Return the records as a book of sales."""
        note = f"An invented market (seed {self.seed}): no price here is that of a real car."
        return SalesBook(
            self.table, self.settings.currency, True, rows=len(self.table), notes=(note,)
        )

    def true_log_price(
        self,
        values: Mapping[str, Value],
        *,
        day: date,
        channel: str = "live auction",
        venue: str = "",
        region: str = "",
        basis: str = "hammer price",
    ) -> float:
        """Return the true expected log price of any car of this world, on any day.

        Parameters
        ----------
        values : mapping of str to Value
            Attributes by name, as in a :class:`valuation.records.Car`.  What is missing counts
            with its mean effect among the records that are silent about it.
        day : datetime.date
            Day of the sale, up to two years past the last one.
        channel, venue, region : str
            Occasion; an empty venue or region has no effect.
        basis : str
            A basis of the contract.

        Returns
        -------
        float
            Log price: the bid that bidders are expected to make, whether or not it is accepted.

        Raises
        ------
        SettingsError
            If the world has no such make, model, level or basis.
        """
        occasion = {"channel": channel, "venue": venue, "region": region, "basis": basis}
        parts = true_parts(self.truth.world, self.truth.silent, values, day, occasion)
        return float(sum(parts.values()))


def make_market(settings: MarketSettings, *, seed: int) -> SyntheticMarket:
    """Make an invented market of collector cars.

    Parameters
    ----------
    settings : MarketSettings
        Size, dates, assumptions.
    seed : int
        The same settings and seed give the same market.

    Returns
    -------
    SyntheticMarket
        Exactly ``settings.sales`` records, and the truth behind each.
    """
    seeds = np.random.SeedSequence(seed).spawn(len(_STREAMS))
    rng = {name: np.random.default_rng(s) for name, s in zip(_STREAMS, seeds, strict=True)}
    world = World(
        settings,
        draw_effects(rng["effects"]),
        draw_lines(settings, rng["lines"]),
        draw_levels(settings, rng["levels"]),
    )
    car, day, state = _first_occasions(world, rng["cars"])
    sale = draw_occasions(day, world.lines.intercept[state["line"]] - 10.3, world, rng["sales"])
    sale["car"] = car
    parts = contributions(world, state, sale)
    said = draw_statements(settings, world.effects, state, parts, rng["statements"])
    sale |= {
        "thinness": said.thinness,
        "eager": np.zeros(len(car)),
        "deal": np.zeros(len(car), dtype=np.int64),
    }
    noise = np.sqrt(settings.car_share) * settings.noise_sd
    of_car = noise * student(int(car.max()) + 1, world, rng["prices"])
    sale = hold(world, _total(parts), of_car[car], sale, rng["prices"])
    origin, sale, parts = _with_sequels(world, state, sale, parts, of_car, rng["prices"])
    kept = _kept_rows(settings.sales, sale["day"], rng["sales"])
    return _assembled(
        world,
        seed,
        take(state, origin[kept]),
        take(sale, kept),
        take(parts, kept),
        _said_of(said, origin[kept]),
        of_car,
        rng["words"],
    )


def _total(parts: Mapping[str, Array]) -> Array:
    total: Array = np.sum(np.array(list(parts.values())), axis=0)
    return total


def _first_occasions(world: World, rng: np.random.Generator) -> tuple[Array, Array, State]:
    """Draw cars with their first sale, then later sales of some of them."""
    settings = world.settings
    start, end = as_days(settings.start), as_days(settings.end)
    again = round(settings.sales * settings.repeat_share) if end - start >= 800 else 0
    n = settings.sales - again
    day = rng.integers(start, end + 1, size=n)
    fleet = draw_cars(n, world.lines, _year(day), rng)
    early = np.flatnonzero(day <= end - 400)
    again = again if len(early) else 0
    car = rng.choice(early, size=again) if again else np.zeros(0, dtype=np.int64)
    wait = 365 + np.floor(rng.random(again) * (end - day[car] - 364)).astype(np.int64)
    later = age_cars(take(fleet, car), wait / 365.25, rng)
    state = {name: np.concatenate([fleet[name], later[name]]) for name in fleet}
    return np.concatenate([np.arange(n), car]), np.concatenate([day, day[car] + wait]), state


def _year(day: Array) -> Array:
    years: Array = day.astype("datetime64[D]").astype("datetime64[Y]").astype(int) + 1970
    return years


def _with_sequels(
    world: World,
    state: State,
    sale: Sale,
    parts: dict[str, Array],
    of_car: Array,
    rng: np.random.Generator,
) -> tuple[Array, Sale, dict[str, Array]]:
    """Add the re-offers and the offers that found a buyer."""
    origin, sequel = later_chances(world, sale, rng)
    sequel["car"] = sale["car"][origin]
    more = contributions(world, take(state, origin), sequel)
    sequel = hold(world, _total(more), of_car[sequel["car"]], sequel, rng)
    every = np.concatenate([np.arange(len(sale["day"])), origin])
    joined = {name: np.concatenate([sale[name], sequel[name]]) for name in sale}
    return every, joined, {k: np.concatenate([v, more[k]]) for k, v in parts.items()}


def _kept_rows(n: int, day: Array, rng: np.random.Generator) -> Array:
    """Choose `n` records at random and put them in the order of their dates."""
    chosen = np.sort(rng.choice(len(day), size=min(n, len(day)), replace=False))
    kept: Array = chosen[np.argsort(day[chosen], kind="stable")]
    return kept


def _said_of(said: Statements, rows: Array) -> Statements:
    return Statements(take(said.stated, rows), take(said.shown, rows), said.thinness[rows])


def _assembled(
    world: World,
    seed: int,
    state: State,
    sale: Sale,
    parts: dict[str, Array],
    said: Statements,
    of_car: Array,
    rng: np.random.Generator,
) -> SyntheticMarket:
    settings = world.settings
    parts["basis"] = basis_part(world, _total(parts), sale["venue"], sale["basis"])
    table = build_table(world.lines, state, sale, said.stated, said.shown, settings.currency, rng)
    truth = Truth(
        world=world,
        state=state,
        sale=sale,
        parts=pd.DataFrame(parts),
        expected=_total(parts),
        of_car=of_car[sale["car"]],
        silent=silent_means(table, state, parts),
    )
    return SyntheticMarket(settings, seed, table, truth)
