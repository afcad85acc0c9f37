"""Tables of the results: one row a size, an attribute or a market."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
import pandas as pd
from truth_cache import Cache
from truth_measures import clustered_share, clustered_shift, pooled_ratio, rms, slope

__all__ = ["PARTS", "as_markdown", "tables_of"]

Measures = dict[int, dict[str, Any]]

PARTS = ("error", "effects", "index", "sizes", "broken")

TITLES = {
    "error": "Error of the fitted log price of cars the fit has not seen, against the true "
    "expected log price",
    "effects": "True effects inside their 90 % intervals",
    "index": "Market level against the true one, about their means",
    "sizes": "How the measures fall with the number of sales (log-log slopes)",
    "broken": "Markets that break an assumption, beside the plain market of the same seeds",
    "broken_effects": "The same markets: true effects inside their 90 % intervals (per cent), by "
    "attribute",
    "components": "Where the true variance components come from (blocks of a fit, mean of seeds)",
}


def _values(found: Measures, *path: str) -> list[float]:
    out = []
    for m in found.values():
        at: Any = m
        for name in path:
            at = at.get(name, np.nan) if isinstance(at, dict) else np.nan
        out.append(float(at))
    return out


def _span(low: float, high: float, digits: int = 3) -> str:
    return "" if np.isnan(low) else f"{low:.{digits}f} to {high:.{digits}f}"


def _percent(share: float) -> float:
    return round(100 * share, 1)


def _percents(low: float, high: float) -> str:
    return "" if np.isnan(low) else f"{100 * low:.1f} to {100 * high:.1f}"


def error_table(cache: Cache, sizes: Iterable[int]) -> pd.DataFrame:
    """Return errors by size, of other cars in the same months and after them."""
    rows = []
    for size in sizes:
        found = cache.measures("fit", "plain", size)
        for place in ("fresh", "later"):
            some = {s: m for s, m in found.items() if m[place]["n"]}
            if not some:
                continue
            mine, held = _values(some, place, "rmse"), _values(some, place, "rmse_true_components")
            ratio, low, high = pooled_ratio(mine, held)
            medians = [
                a / b
                for a, b in zip(
                    _values(some, place, "median"),
                    _values(some, place, "median_true_components"),
                    strict=True,
                )
            ]
            floor = pooled_ratio(
                _values(some, place, "rmse_with_noise"), _values(some, place, "noise")
            )
            rows.append(
                {
                    "sales": size,
                    "cars": "same months" if place == "fresh" else "later",
                    "seeds": len(some),
                    "rmse": round(rms(mine), 4),
                    "median abs": round(float(np.mean(_values(some, place, "median"))), 4),
                    "rmse, true components": round(rms(held), 4),
                    "ratio": round(ratio, 3),
                    "ratio 95 %": _span(low, high),
                    "ratio of medians": round(float(np.median(medians)), 3),
                    "rmse with closest sales": round(
                        rms(_values(some, place, "rmse_with_closest")), 4
                    ),
                    "noise": round(rms(_values(some, place, "noise")), 4),
                    "with noise / noise": round(floor[0], 3),
                    "mean error": round(float(np.mean(_values(some, place, "bias"))), 4),
                }
            )
    return pd.DataFrame(rows)


def _counts(found: Measures, attribute: str | None, key: str) -> list[float]:
    """Return a count of each seed, of one attribute or of all."""
    return [
        sum(v[key] for k, v in m["effects"].items() if attribute is None or k == attribute)
        for m in found.values()
    ]


def coverage_row(found: Measures, attribute: str | None) -> dict[str, Any]:
    """Return how often intervals hold, for one attribute or for all effects.

    Parameters
    ----------
    found : dict of int to dict
        Measures by seed.
    attribute : str or None
        One attribute; None for all.

    Returns
    -------
    dict of str to object
        Share inside with its interval, share without any column, and sizes.
    """
    tries, hits = _counts(found, attribute, "tries"), _counts(found, attribute, "hits")
    blind = _counts(found, attribute, "blind")
    share, low, high = clustered_share(hits, tries)
    n = max(sum(tries), 1.0)
    seeing = max(n - sum(blind), 1.0)
    return {
        "effects": int(sum(tries)),
        "inside %": _percent(share),
        "inside 95 %": _percents(low, high),
        "no column %": _percent(sum(blind) / n),
        "rms true": round(float(np.sqrt(sum(_counts(found, attribute, "true2")) / n)), 4),
        "rms error": round(float(np.sqrt(sum(_counts(found, attribute, "error2")) / n)), 4),
        "rms stated sd": round(float(np.sqrt(sum(_counts(found, attribute, "sd2")) / n)), 4),
        "rms error/sd": round(float(np.sqrt(sum(_counts(found, attribute, "z2")) / seeing)), 2),
        "mean error": round(sum(_counts(found, attribute, "off")) / n, 4),
    }


def _attributes(found: Measures) -> list[str]:
    return sorted({k for m in found.values() for k in m["effects"]})


def effects_table(cache: Cache, sizes: Iterable[int]) -> pd.DataFrame:
    """Return how often true effects lie inside their intervals, by size and attribute."""
    rows = []
    for size in sizes:
        found = cache.measures("fit", "plain", size)
        if found:
            for name in (None, *_attributes(found)):
                first = {"sales": size, "attribute": name or "all", "seeds": len(found)}
                rows.append(first | coverage_row(found, name))
    return pd.DataFrame(rows)


def index_table(cache: Cache, sizes: Iterable[int]) -> pd.DataFrame:
    """Return the error of the market level by size."""
    rows = []
    for size in sizes:
        found = cache.measures("fit", "plain", size)
        if found:
            rows.append({"sales": size, "seeds": len(found)} | _index_row(found))
    return pd.DataFrame(rows)


def _index_row(found: Measures) -> dict[str, Any]:
    inside = _values(found, "index", "inside")
    share, low, high = clustered_share(inside, [1.0] * len(inside))
    return {
        "rms error": round(rms(_values(found, "index", "error")), 4),
        "rms stated sd": round(rms(_values(found, "index", "sd")), 4),
        "rms true movement": round(rms(_values(found, "index", "true_movement")), 4),
        "days inside %": _percent(share),
        "days inside 95 %": _percents(low, high),
    }


def sizes_table(cache: Cache, sizes: Sequence[int]) -> pd.DataFrame:
    """Return the log-log slope of each measure on the number of sales."""
    by = {size: cache.measures("fit", "plain", size) for size in sizes}
    by = {size: found for size, found in by.items() if found}
    every = {
        "rmse of new cars": lambda f: rms(_values(f, "fresh", "rmse")),
        "rmse, true components": lambda f: rms(_values(f, "fresh", "rmse_true_components")),
        "rmse of later sales": lambda f: rms(
            [v for v in _values(f, "later", "rmse") if not np.isnan(v)]
        ),
        "rms error of effects": lambda f: coverage_row(f, None)["rms error"],
        "rms stated sd of effects": lambda f: coverage_row(f, None)["rms stated sd"],
        "misses of 90 % intervals": lambda f: 1 - coverage_row(f, None)["inside %"] / 100,
        "rms error of the level": lambda f: rms(_values(f, "index", "error")),
    }
    rows = []
    for name, measure in every.items():
        values = [measure(found) for found in by.values()]
        cells = {f"{size:,}": round(v, 4) for size, v in zip(by, values, strict=True)}
        rows.append({"measure": name, "slope": round(slope(list(by), values), 3), **cells})
    return pd.DataFrame(rows)


def components_table(cache: Cache, keys: Iterable[tuple[str, int]]) -> pd.DataFrame:
    """Return how many blocks got their true component from which source."""
    rows = []
    for market, size in keys:
        found = cache.measures("fit", market, size)
        if found:
            cells = {
                s: round(float(np.nanmean(np.nan_to_num(_values(found, "components", s)))), 1)
                for s in ("drawn", "derived", "projected", "none", "kept")
            }
            rows.append({"market": market, "sales": size, **cells})
    return pd.DataFrame(rows)


def broken_table(cache: Cache, keys: Iterable[tuple[str, int]]) -> pd.DataFrame:
    """Return the measures of each market beside those of the plain market of the same seeds."""
    rows = []
    for market, size in keys:
        found, plain = (cache.measures("fit", m, size) for m in (market, "plain"))
        both = sorted(set(found) & set(plain))
        if not both:
            continue
        mine, base = ({s: f[s] for s in both} for f in (found, plain))
        against = pooled_ratio(_values(mine, "fresh", "rmse"), _values(base, "fresh", "rmse"))
        held = pooled_ratio(
            _values(mine, "fresh", "rmse"), _values(mine, "fresh", "rmse_true_components")
        )
        cover = coverage_row(mine, None)
        shift = clustered_shift(*(_share_by_seed(f) for f in (mine, base)))
        index = _index_row(mine)
        rows.append(
            {
                "market": market,
                "sales": size,
                "seeds": len(both),
                "rmse": round(rms(_values(mine, "fresh", "rmse")), 4),
                "against plain": round(against[0], 3),
                "against plain 95 %": _span(*against[1:], 2),
                "ratio to true components": round(held[0], 3),
                "effects inside %": cover["inside %"],
                "effects inside 95 %": cover["inside 95 %"],
                "less plain, points": round(100 * shift[0], 1),
                "less plain 95 %": _span(100 * shift[1], 100 * shift[2], 1),
                "level error": index["rms error"],
                "level days inside %": index["days inside %"],
            }
            | _range_row(cache.measures("range", market, size))
        )
    return pd.DataFrame(rows)


def _share_by_seed(found: Measures) -> list[float]:
    hits, tries = _counts(found, None, "hits"), _counts(found, None, "tries")
    return [h / n for h, n in zip(hits, tries, strict=True)]


def _range_row(found: Measures) -> dict[str, Any]:
    if not found:
        return {}
    share, low, high = clustered_share(_values(found, "covered"), _values(found, "priced"))
    tested = sum(_values(found, "tested"))
    return {
        "80 % range held %": _percent(share),
        "range held 95 %": _percents(low, high),
        "given a range %": _percent(sum(_values(found, "priced")) / tested),
        "median log width": round(float(np.mean(_values(found, "median_log_width"))), 3),
        "backtest median error %": _percent(float(np.mean(_values(found, "median_error")))),
        "backtests": len(found),
    }


def broken_effects_table(cache: Cache, markets: Iterable[str], size: int) -> pd.DataFrame:
    """Return the share of effects inside their intervals, one column a market."""
    found = {m: cache.measures("fit", m, size) for m in markets}
    found = {m: f for m, f in found.items() if f}
    names = sorted({k for f in found.values() for k in _attributes(f)})
    rows = [
        {"attribute": name or "all"}
        | {m: coverage_row(f, name)["inside %"] for m, f in found.items()}
        for name in (None, *names)
    ]
    return pd.DataFrame(rows)


def tables_of(
    cache: Cache,
    *,
    parts: Sequence[str],
    sizes: Sequence[int],
    broken: Sequence[tuple[str, int]],
) -> dict[str, pd.DataFrame]:
    """Return the tables of the parts asked for, by name.

    Parameters
    ----------
    cache : Cache
        Results.
    parts : sequence of str
        Among :data:`PARTS`.
    sizes : sequence of int
        Sizes of the plain market.
    broken : sequence of (str, int)
        Market and size of each broken one, the plain one first.

    Returns
    -------
    dict of str to pandas.DataFrame
        Without empty ones.
    """
    out: dict[str, pd.DataFrame] = {}
    makers = {
        "error": lambda: error_table(cache, sizes),
        "effects": lambda: effects_table(cache, sizes),
        "index": lambda: index_table(cache, sizes),
        "sizes": lambda: sizes_table(cache, sizes),
        "broken": lambda: broken_table(cache, broken),
    }
    for name in parts:
        out[name] = makers[name]()
    if "error" in parts:
        out["components"] = components_table(cache, [*[("plain", s) for s in sizes], *broken])
    if "broken" in parts and broken:
        names = list(dict.fromkeys(m for m, _ in broken))
        out["broken_effects"] = broken_effects_table(cache, names, min(s for _, s in broken))
    return {name: table.drop_duplicates() for name, table in out.items() if len(table)}


def as_markdown(table: pd.DataFrame) -> str:
    """Return a table in Markdown, numbers as they stand."""
    heads = [str(c) for c in table.columns]
    lines = ["| " + " | ".join(heads) + " |", "|" + "---|" * len(heads)]
    for row in table.itertuples(index=False):
        cells = ["" if c != c else f"{c:,}" if isinstance(c, int) else str(c) for c in row]
        lines.append("| " + " | ".join(cells) + " |")
    return "\n".join(lines)
