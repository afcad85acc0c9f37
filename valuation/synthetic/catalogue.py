"""Model lines with their own prices, shares and slopes, as arrays."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np

from valuation.synthetic.effects import CURVES, LEVELS, Array
from valuation.synthetic.settings import MarketSettings
from valuation.synthetic.world import BODIES, LINES, MARQUES, SEGMENTS, LineSpec, Variant

__all__ = ["FIRST_YEAR", "GENERATIONS", "LAST_YEAR", "VARIANTS", "Lines", "draw_lines"]

FIRST_YEAR, LAST_YEAR = 1948, 2004
_BEST_KNOWN = 8

VARIANTS = tuple(dict.fromkeys(v.name for line in LINES for v in line.variants))
"""Names of all versions, in the order of their codes."""

GENERATIONS = tuple(dict.fromkeys(name for line in LINES for name, _ in line.generations))
"""Names of all generations, in the order of their codes."""


@dataclass(frozen=True)
class Lines:
    """All model lines of a market; arrays have one row a line.

    Parameters
    ----------
    specs : tuple of LineSpec
        The plans.
    segment, first, last : numpy.ndarray of int
        Segment code, first and last model year.
    popularity : numpy.ndarray of float
        Share of the cars on the market.
    intercept : numpy.ndarray of float
        Log price of the line before any attribute.
    variant_share, variant_effect, variant_size : numpy.ndarray, shape (n_lines, n_variants)
        Shares, effects on the log price, engine sizes as multiples.
    variant_rare : numpy.ndarray of bool, shape (n_lines, n_variants)
        Versions that plain cars pretend to be.
    body_share, body_effect : numpy.ndarray, shape (n_lines, n_bodies)
        Shares, and what the line adds to the common effect of a body.
    generation_start, generation_effect : numpy.ndarray, shape (n_lines, n_generations)
        First model years (9999 where there is none) and effects.
    year_level : numpy.ndarray, shape (n_lines, n_years)
        Departure of single model years from the straight line.
    colour_effect : numpy.ndarray, shape (n_lines, n_colours)
        What the line adds to the common effect of a colour.
    year_slope, originality_slope, condition_slope, mileage_slope, automatic : numpy.ndarray
        Slopes of the line: per ten years, per point, as a multiple of the common curve, per
        hundred of the root of the miles; effect of an automatic gearbox.
    """

    specs: tuple[LineSpec, ...]
    segment: Array
    first: Array
    last: Array
    popularity: Array
    intercept: Array
    variant_share: Array
    variant_effect: Array
    variant_size: Array
    variant_rare: Array
    body_share: Array
    body_effect: Array
    generation_start: Array
    generation_effect: Array
    year_level: Array
    colour_effect: Array
    year_slope: Array
    originality_slope: Array
    condition_slope: Array
    mileage_slope: Array
    automatic: Array

    def __len__(self) -> int:
        return len(self.specs)


def draw_lines(settings: MarketSettings, rng: np.random.Generator) -> Lines:
    """Draw the model lines of a market.

    The named lines of the world come first; a larger market gets more lines of the same makes,
    called "Pattern 101" and so on, each a free variation on a named one.

    Parameters
    ----------
    settings : MarketSettings
        Number of lines and how far they spread.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    Lines
        Arrays with one row a line.
    """
    n = settings.number_of_lines
    specs = (*LINES[:n], *(_pattern(i, rng) for i in range(max(n - len(LINES), 0))))
    return _arrays(specs, settings.line_spread, rng)


def _pattern(i: int, rng: np.random.Generator) -> LineSpec:
    """Return a new line: a named one with other years, size and price, by any maker."""
    base = LINES[int(rng.integers(len(LINES)))]
    make = MARQUES[int(rng.integers(len(MARQUES)))].name
    shift = int(rng.integers(-5, 6))
    first = min(max(base.first + shift, FIRST_YEAR), LAST_YEAR - 6)
    last = min(max(base.last + shift, first + 6), LAST_YEAR)
    level, size = (
        base.level * math.exp(rng.normal(0, 0.4)),
        base.size * math.exp(rng.normal(0, 0.1)),
    )
    moved = tuple((g, max(y + first - base.first, first)) for g, y in base.generations)
    variants = tuple(
        replace(v, premium=v.premium * math.exp(rng.normal(0, 0.2))) for v in base.variants
    )
    return replace(
        base,
        make=make,
        model=f"Pattern {101 + i}",
        first=first,
        last=last,
        level=round(level, -2),
        size=round(size, 1),
        generations=tuple(g for g in moved if g[1] <= last),
        variants=variants,
    )


def _matrix(
    specs: Iterable[LineSpec],
    names: tuple[str, ...],
    cells: Callable[[LineSpec], Iterable[tuple[str, float]]],
    empty: float = 0.0,
) -> Array:
    rows = list(specs)
    matrix = np.full((len(rows), len(names)), empty)
    for i, spec in enumerate(rows):
        for name, value in cells(spec):
            matrix[i, names.index(name)] = value
    return matrix


def _of_variants(
    value: Callable[[Variant], float],
) -> Callable[[LineSpec], list[tuple[str, float]]]:
    return lambda spec: [(v.name, value(v)) for v in spec.variants]


def _shares(matrix: Array) -> Array:
    shares: Array = matrix / matrix.sum(axis=1, keepdims=True)
    return shares


def _arrays(specs: tuple[LineSpec, ...], spread: float, rng: np.random.Generator) -> Lines:
    n = len(specs)
    level = np.log([s.level for s in specs])
    middle = np.array([(s.first + s.last) / 2 for s in specs])
    sporting = np.array([s.segment != "luxury saloons" for s in specs])
    # The best-known lines come first; the young cars that people grew up with change hands most.
    popularity = (rng.gamma(2.0, size=n) + 0.3) * np.where(middle > 1990, 2.5, 1.0)
    popularity[:_BEST_KNOWN] = 1.5 + popularity[:_BEST_KNOWN]
    starts = _matrix(specs, GENERATIONS, lambda s: s.generations, 9999)
    effect = _matrix(specs, VARIANTS, _of_variants(lambda v: v.premium))
    modern = 1 / (1 + np.exp(-(middle - 1982) / 4))
    normal = rng.standard_normal
    return Lines(
        specs=specs,
        segment=np.array([SEGMENTS.index(s.segment) for s in specs]),
        first=np.array([s.first for s in specs]),
        last=np.array([s.last for s in specs]),
        popularity=popularity / popularity.sum(),
        intercept=level - _usual_extras(specs) + 0.08 * spread * normal(n),
        variant_share=_shares(_matrix(specs, VARIANTS, _of_variants(lambda v: v.share))),
        variant_effect=effect * (1 + 0.1 * spread * normal(effect.shape)),
        variant_size=_matrix(specs, VARIANTS, _of_variants(lambda v: v.size), 1.0),
        variant_rare=_matrix(specs, VARIANTS, _of_variants(lambda v: float(v.rare))) > 0,
        body_share=_shares(_matrix(specs, BODIES, lambda s: s.bodies)),
        body_effect=0.05 * spread * normal((n, len(BODIES))),
        generation_start=starts,
        generation_effect=0.07 * spread * normal(starts.shape),
        year_level=0.03 * spread * normal((n, LAST_YEAR - FIRST_YEAR + 1)),
        colour_effect=0.025 * spread * normal((n, len(LEVELS["colour"]))),
        # Early cars of old lines and late cars of new ones are the wanted ones.
        year_slope=np.where(modern > 0.5, 0.1, -0.08) + 0.06 * spread * normal(n),
        originality_slope=_positive(0.004 + 0.0016 * spread * (level - 10.3), 0.3 * spread, rng),
        condition_slope=_positive(1.0 - 0.08 * spread * (level - 10.3), 0.18 * spread, rng),
        mileage_slope=_positive(0.04 + 0.2 * modern, 0.25 * spread, rng),
        automatic=np.where(sporting, -0.12, 0.06) + 0.05 * spread * normal(n),
    )


def _usual_extras(specs: tuple[LineSpec, ...]) -> Array:
    """Return what attributes add to a typical car of each line, so that its price is its level."""
    size = np.log([s.size for s in specs]) - math.log(2.5)
    straight, curve = CURVES["engine_size, straight"], CURVES["engine_size, curve"]
    extras: Array = straight * size + curve * size**2 + 0.12
    return extras


def _positive(centre: Array, sd: float, rng: np.random.Generator) -> Array:
    """Return `centre` (not below a quarter of its mean) times a factor that stays positive."""
    floor = np.maximum(centre, 0.25 * float(np.mean(centre)))
    slopes: Array = floor * np.exp(sd * rng.standard_normal(len(centre)))
    return slopes
