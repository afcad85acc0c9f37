"""The truth behind a synthetic market, for every record and as a table of effects."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from valuation.schema import BY_NAME
from valuation.synthetic.cars import State
from valuation.synthetic.catalogue import GENERATIONS, VARIANTS
from valuation.synthetic.effects import Array
from valuation.synthetic.pricing import World
from valuation.synthetic.tabling import actual_words
from valuation.synthetic.world import BODIES, SEGMENTS

__all__ = ["Truth", "silent_means"]

_DIGITS = 5


@dataclass(frozen=True)
class Truth:
    """What made the prices of a synthetic market.

    Parameters
    ----------
    world : World
        Settings, effects, model lines, market levels.
    state : mapping of str to numpy.ndarray
        The true car behind each record, as codes.
    sale : mapping of str to numpy.ndarray
        The true occasion of each record: ``car``, ``day``, ``channel``, ``venue``, ``basis``,
        ``outcome`` as codes, ``price``, ``reserve_price`` (NaN for none), ``thinness`` (factor
        of the noise).
    parts : pandas.DataFrame, shape (n_sales, n_parts)
        Contributions to the true expected log price, see ``pricing.PARTS``.
    expected : numpy.ndarray, shape (n_sales,)
        True expected log price of each record, the sum of its parts: for an auction the expected
        highest bid, whether or not it is accepted.
    of_car : numpy.ndarray, shape (n_sales,)
        What the car itself brings more at each of its sales, known to nobody.
    silent : mapping of str to float
        Mean contribution of each attribute among the records that are silent about it.
    """

    world: World
    state: State
    sale: Mapping[str, Array]
    parts: pd.DataFrame
    expected: Array
    of_car: Array
    silent: Mapping[str, float]

    def actual(self) -> pd.DataFrame:
        """Return all true attribute values in the contract's words, one row a record."""
        return pd.DataFrame(actual_words(self.world.lines, self.state))

    def residual(self) -> Array:
        """Return log price less true expected log price: the noise of each record."""
        noise: Array = np.log(self.sale["price"]) - self.expected
        return noise

    def levels_table(self) -> pd.DataFrame:
        """Return the market level of each segment on the first day of each month."""
        levels = self.world.levels
        frame = pd.DataFrame(levels.paths, columns=list(SEGMENTS))
        if levels.shift_day is not None:
            frame += levels.shift_size * (levels.days >= levels.shift_day)[:, None]
        frame.insert(0, "day", levels.days.astype("datetime64[D]").astype("datetime64[s]"))
        return frame

    def lines_table(self) -> pd.DataFrame:
        """Return the intercept and the slopes of each model line."""
        lines = self.world.lines
        return pd.DataFrame(
            {
                "make": [s.make for s in lines.specs],
                "model": [s.model for s in lines.specs],
                "segment": [s.segment for s in lines.specs],
                "first_year": lines.first,
                "last_year": lines.last,
                "intercept": lines.intercept,
                "year_slope_per_decade": lines.year_slope,
                "originality_slope_per_point": lines.originality_slope,
                "condition_slope_multiple": lines.condition_slope,
                "mileage_slope_per_100_root_miles": lines.mileage_slope,
                "automatic": lines.automatic,
            }
        )

    def to_dict(self) -> dict[str, Any]:
        """Return every effect, level and line as plain numbers and words."""
        effects, settings = self.world.effects, self.world.settings
        levels = self.levels_table()
        levels["day"] = levels["day"].dt.strftime("%Y-%m-%d")
        return {
            "levels": {k: _rounded(v) for k, v in effects.levels.items()},
            "items": {k: _rounded(v) for k, v in effects.items.items()},
            "curves": _rounded(effects.curves),
            "silent": _rounded(self.silent),
            "noise": {
                "sd": settings.noise_sd,
                "degrees_of_freedom": settings.noise_df,
                "share_of_the_car": settings.car_share,
                "measured_sd": round(float(np.std(self.residual())), _DIGITS),
            },
            "lines": [self._line(i) for i in range(len(self.world.lines))],
            "market_levels": levels.round(_DIGITS).to_dict(orient="list"),
        }

    def _line(self, i: int) -> dict[str, Any]:
        lines = self.world.lines
        row = {str(k): v for k, v in self.lines_table().iloc[i].items()}
        spec = lines.specs[i]
        row = {k: round(v, _DIGITS) if isinstance(v, float) else v for k, v in row.items()}
        row["first_year"], row["last_year"] = int(row["first_year"]), int(row["last_year"])
        variants = [v.name for v in spec.variants]
        row["variants"] = _cells(lines.variant_effect[i], VARIANTS, variants)
        row["bodies"] = _cells(lines.body_effect[i], BODIES, [b for b, _ in spec.bodies])
        generations = [g for g, _ in spec.generations]
        row["generations"] = _cells(lines.generation_effect[i], GENERATIONS, generations)
        return row


def _rounded(effects: Mapping[str, float]) -> dict[str, float]:
    return {name: round(float(value), _DIGITS) for name, value in effects.items()}


def _cells(row: Array, names: tuple[str, ...], wanted: list[str]) -> dict[str, float]:
    return {name: round(float(row[names.index(name)]), _DIGITS) for name in wanted}


def silent_means(
    table: pd.DataFrame, state: Mapping[str, Array], parts: Mapping[str, Array]
) -> dict[str, float]:
    """Return the mean contribution of each attribute among the records silent about it.

    Genuineness is asked only of versions that get imitated.

    Parameters
    ----------
    table : pandas.DataFrame
        What is stated.
    state : mapping of str to numpy.ndarray
        True cars.
    parts : mapping of str to numpy.ndarray
        True contributions.

    Returns
    -------
    dict of str to float
        Zero where every record states the attribute.
    """
    means = {}
    for name in parts:
        if name in BY_NAME:
            silent = table[name].isna().to_numpy()
            if name == "genuineness":
                silent = silent & (state[name] >= 0)
            means[name] = float(np.mean(parts[name][silent])) if silent.any() else 0.0
    return means
