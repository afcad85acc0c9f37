"""What a market learned of an invented world, held against the truth that made its prices.

No real market tells its effects.  An invented one does, so the question whether a fitted effect is
the true one, and not merely one that goes with prices, has an answer there.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.appraisal.contrast import contrast
from valuation.appraisal.market import MarketModel
from valuation.appraisal.wordings import label_of
from valuation.errors import SettingsError
from valuation.features.table import day_number
from valuation.records import Car, Value
from valuation.results.true_effects import TrueEffect, TrueEffects
from valuation.schema import BY_NAME
from valuation.study.contrasts import (
    AttributeContrast,
    attribute_contrasts,
    contrast_effects,
    sample_of,
)
from valuation.synthetic.catalogue import VARIANTS
from valuation.synthetic.effects import LEVELS, SETS
from valuation.synthetic.market import SyntheticMarket
from valuation.synthetic.pricing import contributions
from valuation.synthetic.world import LineSpec

__all__ = ["true_effects", "true_versions"]

Floats = NDArray[np.float64]
Rows = NDArray[np.integer[Any]]

_Z90 = 1.6448536269514722

_BY_VERSION = "genuineness"
"""In truth a share of what the version brings more: it means nothing of a plain car."""

_NOT_ASKED = ("year",)
"""A step of years leads out of the years in which most model lines were built."""


def true_effects(market: MarketModel, world: SyntheticMarket) -> TrueEffects:
    """Hold the effects of a market's attributes against the truth.

    Each contrast is a mean over one sample of the market's sales, as in
    :func:`valuation.study.change_effects.attribute_changes`: all stated one way against all stated
    the other way, fitted and in truth.  Genuineness is averaged over sales that state it.  The
    true effect of silence is what cars have of which it was not stated.

    Parameters
    ----------
    market : MarketModel
        Fitted to sales of the world.
    world : SyntheticMarket
        The world and its truth.

    Returns
    -------
    TrueEffects
        Attribute by attribute in the order of the contract.  Model lines, versions, years and the
        place of a sale are not among them; for versions see :func:`true_versions`.

    Raises
    ------
    SettingsError
        If a sale of the market is none of the world.
    """
    rows = _rows_of(market, world)
    asked = [c for c in attribute_contrasts(market.frame, market.frame) if _can_be_asked(c)]
    by_version = market.frame[market.frame[_BY_VERSION].notna()]
    plain = [c for c in asked if c.attribute != _BY_VERSION]
    of_version = [c for c in asked if c.attribute == _BY_VERSION]
    found = [
        *_held(market, world, rows, sample_of(market.frame), plain),
        *(_held(market, world, rows, by_version, of_version) if of_version else ()),
    ]
    places = {name: i for i, name in enumerate(BY_NAME)}
    ordered = sorted(found, key=lambda e: (places[e.attribute], e.kind == "silence"))
    return TrueEffects(tuple(ordered), len(market.frame))


def true_versions(market: MarketModel, world: SyntheticMarket) -> TrueEffects:
    """Hold what the versions of model lines bring more against the truth.

    Compared are two cars of one line, alike but for version and the engine that goes with it; the
    rare version is genuine and documented.  Plain means compare all that carry the name.

    Parameters
    ----------
    market : MarketModel
        Fitted to sales of the world.
    world : SyntheticMarket
        The world and its truth.

    Returns
    -------
    TrueEffects
        Every version of which a sale is known, in the order of the world's lines.
    """
    _rows_of(market, world)
    lines = world.truth.world.lines.specs
    found = [e for i, spec in enumerate(lines) for e in _versions(market, world, i, spec)]
    return TrueEffects(tuple(found), len(market.frame))


def _rows_of(market: MarketModel, world: SyntheticMarket) -> pd.Series[int]:
    """Return the row of each sale in the world, by the place of the sale in the market."""
    known = pd.Series(np.arange(len(world.table)), index=world.table["sale_id"].astype(str))
    rows = known.reindex(market.frame["sale_id"].astype(str))
    if rows.isna().any():
        raise SettingsError(
            "true effects",
            "a sale of the market is none of the invented world",
            got=str(rows.index[rows.isna()][0]),
            remedy="Fit the market to sales of this world",
        )
    return rows.astype(int).set_axis(market.frame.index)


def _can_be_asked(c: AttributeContrast) -> bool:
    if c.attribute not in BY_NAME or c.attribute in _NOT_ASKED:
        return False
    if not _silent(c):
        return True
    return BY_NAME[c.attribute].when_silent == "effect" and c.attribute != _BY_VERSION


def _silent(c: AttributeContrast) -> bool:
    return c.value is None or c.value != c.value  # NaN is not itself


def _held(
    market: MarketModel,
    world: SyntheticMarket,
    rows: pd.Series[int],
    sample: pd.DataFrame,
    contrasts: Sequence[AttributeContrast],
) -> list[TrueEffect]:
    fitted = contrast_effects(market, sample, contrasts)
    places = rows.loc[sample.index].to_numpy()
    out = []
    for c, (effect, sd) in zip(contrasts, fitted, strict=True):
        silent = rows[market.frame[c.attribute].isna()].to_numpy()
        true = _true_silence(world, silent, c) if _silent(c) else _true(world, places, c)
        out.append(
            TrueEffect(
                attribute=c.attribute,
                label=label_of(c.attribute),
                contrast=c.words,
                kind="silence" if _silent(c) else "stated",
                true=true,
                fitted=effect,
                low=effect - _Z90 * sd,
                high=effect + _Z90 * sd,
                plain=_plain(market.frame, c),
                sales=c.sales,
            )
        )
    return out


def _true(world: SyntheticMarket, rows: Rows, c: AttributeContrast) -> float:
    one, other = (_log_price(world, rows, c.attribute, v) for v in (c.value, c.against))
    return float(np.mean(one - other))


def _true_silence(world: SyntheticMarket, rows: Rows, c: AttributeContrast) -> float:
    """Return what silent cars bring less than if all of them had the other value."""
    stated = _log_price(world, rows, c.attribute, c.against)
    actual = _log_price(world, rows, c.attribute, None)
    return float(np.mean(actual - stated))


def _log_price(world: SyntheticMarket, rows: Rows, name: str, value: Any) -> Floats:
    """Return the true expected log price of some sales with one attribute set; None keeps it."""
    state = {k: v[rows] for k, v in world.truth.state.items()}
    sale = {k: world.truth.sale[k][rows] for k in ("day", "channel", "venue", "region")}
    if value is not None and name in state:
        state[name] = np.full(len(rows), _code(name, value))
    return np.asarray(np.sum(list(contributions(world.truth.world, state, sale).values()), axis=0))


def _code(name: str, value: Any) -> float | int:
    if name in SETS:
        return sum(1 << SETS[name].index(word) for word in value)
    return LEVELS[name].index(value) if name in LEVELS else float(value)


def _plain(frame: pd.DataFrame, c: AttributeContrast) -> float | None:
    """Return what someone would say who compares means of log prices."""
    log = np.log(frame["price"].to_numpy(dtype=np.float64))
    column = frame[c.attribute]
    if BY_NAME[c.attribute].kind == "number":
        stated = column.notna().to_numpy()
        if _silent(c):
            return _difference(log, ~stated, stated)
        x = column.to_numpy(dtype=np.float64)[stated]
        return float(np.polyfit(x, log[stated], 1)[0] * (c.value - c.against))
    if BY_NAME[c.attribute].kind == "set":
        has = np.array([isinstance(v, tuple) and set(c.value) <= set(v) for v in column])
        return _difference(log, has, ~has)
    one = column.isna() if _silent(c) else column == c.value
    return _difference(log, one.to_numpy(dtype=bool), (column == c.against).to_numpy(dtype=bool))


def _difference(log: Floats, one: NDArray[np.bool_], other: NDArray[np.bool_]) -> float | None:
    if not one.any() or not other.any():
        return None
    return float(log[one].mean() - log[other].mean())


def _versions(
    market: MarketModel, world: SyntheticMarket, line: int, spec: LineSpec
) -> list[TrueEffect]:
    frame = market.frame
    mine = frame[(frame["make"] == spec.make) & (frame["model"] == spec.model)]
    day = market.as_of or date.max
    usual = spec.variants[0].name
    out = []
    for version in spec.variants[1:]:
        sold = mine["variant"] == version.name
        if not sold.any():
            continue
        first, second = (_car(world, mine, line, name) for name in (usual, version.name))
        sale = market.sale_of({})
        cars = [Car(v, title=_heading(v), sale=sale) for v in (first, second)]
        effect = contrast(market.fitted, cars[0], cars[1], day=day_number(day))
        low, high = effect.interval()
        log = np.log(mine["price"].to_numpy(dtype=np.float64))
        plain = _difference(log, sold.to_numpy(), (mine["variant"] == usual).to_numpy())
        true = [world.true_log_price(v, day=day) for v in (first, second)]
        out.append(
            TrueEffect(
                attribute="variant",
                label=f"{spec.make} {spec.model}",
                contrast=f"{version.name} against {usual}",
                kind="version",
                true=true[1] - true[0],
                fitted=effect.effect,
                low=low,
                high=high,
                plain=plain,
                sales=int(sold.sum()),
            )
        )
    return out


def _car(world: SyntheticMarket, mine: pd.DataFrame, line: int, name: str) -> dict[str, Value]:
    """Return a car of the middle year of a line's sales in one of its versions."""
    lines = world.truth.world.lines
    spec, code = lines.specs[line], VARIANTS.index(name)
    year = float(mine["year"].median() // 1)
    body = str(mine["body"].mode().iloc[0])
    size = round(float(spec.size * lines.variant_size[line, code]), 1)
    values: dict[str, Value] = {"make": spec.make, "model": spec.model, "variant": name}
    values |= {"year": year, "body": body, "engine_size": size, "transmission": "manual"}
    return values | ({_BY_VERSION: "genuine, documented"} if lines.variant_rare[line, code] else {})


def _heading(values: dict[str, Value]) -> str:
    """Write the heading of an advert that says no more than is stated."""
    version = "" if values["variant"] == "Standard" else f" {values['variant']}"
    name = f"{values['year']:.0f} {values['make']} {values['model']}{version}"
    return f"{name} {str(values['body']).title()}, {values['transmission']}"
