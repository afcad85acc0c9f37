"""A market model on disk: data without code."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import sparse

from valuation import __version__
from valuation.appraisal.fitting import Fitted
from valuation.appraisal.market import MarketModel
from valuation.appraisal.typical import TypicalCars
from valuation.models.comparables import ComparableSales
from valuation.models.posterior import Posterior
from valuation.models.ranges import Calibration
from valuation.schema import BY_NAME
from valuation.store.archive import damaged, read_archive, write_archive
from valuation.store.plain import (
    settings_from_plain,
    settings_to_plain,
    spec_from_plain,
    spec_to_plain,
)
from valuation.store.published import model_file

__all__ = ["load_model", "save_model"]

Arrays = dict[str, NDArray[Any]]

_PACKAGES = ("numpy", "scipy", "pandas", "scikit-learn")
_SALES = ("effects", "residuals", "honest", "trust", "line", "make", "version", "day", "chassis")
_STATED = "stated"
"""Which attributes were stated of each sale: models written before it was kept do without."""
_CALIBRATION = ("quantiles", "coef", "mean", "spread", "lean")
_TYPICAL = ("counts", "low", "high", "used")


def save_model(market: MarketModel, path: str | Path) -> Path:
    """Write a market model in one step; the same model gives the same bytes.

    Parameters
    ----------
    market : MarketModel
        Fitted and calibrated.
    path : path-like
        Where to write.

    Returns
    -------
    pathlib.Path
        The file.
    """
    f = market.fitted
    arrays: Arrays = {f"sales_{n}": getattr(f.sales, n) for n in (*_SALES, _STATED)}
    arrays |= {f"calibration_{n}": getattr(market.calibration, n) for n in _CALIBRATION}
    arrays |= {f"typical_{n}": getattr(market.typical, n) for n in _TYPICAL}
    arrays |= {f"typical_rows_{n}": getattr(market.typical.rows, n) for n in _CSR}
    arrays |= {"coef": f.coef, **_posterior_arrays(f.posterior)}
    frame_arrays, frame_plain = _frame_out(market.frame)
    digest = hashlib.sha256()
    for name in sorted(frame_arrays):
        digest.update(np.ascontiguousarray(frame_arrays[name]).tobytes())
    digest.update(repr(sorted(frame_plain.items())).encode())
    plain = {
        "spec": spec_to_plain(f.spec),
        "codes": {k: dict(v) for k, v in f.codes.items()},
        "frame": frame_plain,
        "market": _scalars(market),
    }
    about = {
        "made_by": f"collector-car-valuation {__version__}",
        "packages": {p: version(p) for p in _PACKAGES},
        "settings": settings_to_plain(market.settings),
        "sales": len(market.frame),
        "sales_sha256": digest.hexdigest(),
    }
    return write_archive(Path(path), arrays=arrays | frame_arrays, plain=plain, about=about)


_CSR = ("data", "indices", "indptr")


def _scalars(market: MarketModel) -> dict[str, Any]:
    f, c = market.fitted, market.calibration
    return {
        "currency": market.currency,
        "dated": market.dated,
        "usual": dict(market.usual),
        "estimand": market.estimand,
        "as_of": market.as_of.isoformat() if market.as_of else None,
        "penalties": dict(f.penalties),
        "edf": dict(f.edf),
        "sigma": f.sigma,
        "inflation": f.inflation,
        "held": list(f.held),
        "last_day": None if np.isnan(f.last_day) else f.last_day,
        "n_iter": f.n_iter,
        "share": c.share,
        "centre": c.centre,
        "level": c.level,
        "middle": c.middle,
        "n_errors": c.n,
        "ahead_rate": c.ahead_rate,
        "ahead_from": c.ahead_from,
        "lines": list(market.typical.lines),
        "makes": list(market.typical.makes),
        "n_columns": f.spec.n_columns,
    }


def _posterior_arrays(p: Posterior) -> Arrays:
    """Lay the blocks of all model lines end to end."""
    labels = sorted(p.active)

    def joined(part: Mapping[int, NDArray[Any]], dtype: Any) -> NDArray[Any]:
        return np.concatenate([np.zeros(0, dtype), *(part[g].ravel() for g in labels)])

    lower = [g[np.tril_indices(len(g))] for g in (p.block[label] for label in labels)]
    return {
        # A symmetric matrix: its lower half is all there is to know.
        "border": p.border[np.tril_indices(len(p.border))],
        "group_label": np.array(labels, dtype=np.int64),
        "group_active": np.array([len(p.active[g]) for g in labels], dtype=np.int64),
        "group_columns": np.array([len(p.columns[g]) for g in labels], dtype=np.int64),
        "active": joined(p.active, np.int64).astype(np.int32),
        "columns": joined(p.columns, np.int64).astype(np.int32),
        "gain": joined(p.gain, np.float32),
        "block": np.concatenate([np.zeros(0, np.float32), *lower]),
        "n_border": np.array([len(p.border)], dtype=np.int64),
    }


def _mirror(lower: NDArray[Any], n: int) -> NDArray[np.float32]:
    full = np.zeros((n, n), dtype=np.float32)
    full[np.tril_indices(n)] = lower
    return full + np.tril(full, -1).T


def _posterior_in(a: Arrays) -> Posterior:
    out = Posterior(_mirror(a["border"], int(a["n_border"][0])))
    starts = {"active": 0, "columns": 0, "gain": 0, "block": 0}

    def cut(name: str, size: int) -> NDArray[Any]:
        begin = starts[name]
        starts[name] = begin + size
        return a[name][begin : begin + size]

    shapes = zip(
        a["group_label"].tolist(),
        a["group_active"].tolist(),
        a["group_columns"].tolist(),
        strict=True,
    )
    for label, wide, tall in shapes:
        out.active[label] = cut("active", wide).astype(np.intp)
        out.columns[label] = cut("columns", tall).astype(np.intp)
        out.gain[label] = cut("gain", tall * wide).reshape(tall, wide)
        out.block[label] = _mirror(cut("block", tall * (tall + 1) // 2), tall)
    return out


def _frame_out(frame: pd.DataFrame) -> tuple[Arrays, dict[str, Any]]:
    """Split the sales into numeric arrays and lists of text; empty columns are left out."""
    arrays: Arrays = {}
    plain: dict[str, Any] = {}
    for name in frame.columns:
        column = frame[name]
        if not column.notna().any():
            continue
        if column.dtype == object:
            plain[name] = [list(v) if isinstance(v, tuple) else v for v in column.tolist()]
        elif name == "sale_date":
            arrays["frame_sale_date"] = column.to_numpy().astype("datetime64[D]").astype(np.int64)
        else:
            arrays[f"frame_{name}"] = column.to_numpy()
    return arrays, {"columns": [str(c) for c in frame.columns], "text": plain, "rows": len(frame)}


def _frame_in(arrays: Arrays, plain: Mapping[str, Any]) -> pd.DataFrame:
    n = plain["rows"]
    columns: dict[str, Any] = {}
    for name in plain["columns"]:
        if name == "sale_date":
            raw = arrays.get("frame_sale_date")
            days = np.full(n, "NaT", dtype="datetime64[s]")
            columns[name] = days if raw is None else raw.astype("datetime64[D]").astype(days.dtype)
        elif f"frame_{name}" in arrays:
            columns[name] = arrays[f"frame_{name}"]
        elif name in BY_NAME and BY_NAME[name].kind == "number":
            columns[name] = np.full(n, np.nan)
        else:
            cells = plain["text"].get(name) or [None] * n
            values = [tuple(v) if isinstance(v, list) else v for v in cells]
            columns[name] = pd.Series(values, dtype=object)
    return pd.DataFrame(columns)


def load_model(path: str | Path) -> MarketModel:
    """Read a market model and check that it is whole and unchanged.

    Parameters
    ----------
    path : path-like
        The file that :func:`save_model` wrote, or a published folder: its version in use.

    Returns
    -------
    MarketModel
        Ready to price.

    Raises
    ------
    ModelFileError
        If the file is missing, damaged, changed, or from a newer version.
    """
    file = model_file(Path(path))
    a, plain, manifest = read_archive(file)
    try:
        return _market_in(a, plain, manifest)
    except (LookupError, TypeError, ValueError) as e:  # whole, but not written by save_model
        raise damaged(file.name, "it holds something else than a market model") from e


def _market_in(a: Arrays, plain: Mapping[str, Any], manifest: Mapping[str, Any]) -> MarketModel:
    m = plain["market"]
    settings = settings_from_plain(manifest["settings"])
    known = (_STATED,) if f"sales_{_STATED}" in a else ()
    parts: Any = {n: a[f"sales_{n}"] for n in (*_SALES, *known)}
    sales = ComparableSales(**parts, settings=settings.comparables)
    spec = spec_from_plain(plain["spec"])
    fitted = Fitted(
        spec,
        a["coef"],
        m["penalties"],
        m["sigma"],
        _posterior_in(a),
        m["inflation"],
        sales,
        plain["codes"],
        tuple(m["held"]),
        float("nan") if m["last_day"] is None else m["last_day"],
        m["n_iter"],
        m["edf"],
    )
    n_rows = 1 + len(m["lines"]) + len(m["makes"])
    rows = sparse.csr_array(
        tuple(a[f"typical_rows_{n}"] for n in _CSR), shape=(n_rows, m["n_columns"])
    )
    calibration = Calibration(
        a["calibration_quantiles"],
        m["share"],
        m["centre"],
        a["calibration_coef"],
        a["calibration_mean"],
        a["calibration_spread"],
        m["level"],
        m["middle"],
        m["n_errors"],
        a["calibration_lean"],
        m.get("ahead_rate", 0.0),  # format 1 knew only the walk of the market level
        m.get("ahead_from", 0.0),
    )
    typical = TypicalCars(
        tuple(m["lines"]), tuple(m["makes"]), rows, *(a[f"typical_{n}"] for n in _TYPICAL)
    )
    return MarketModel(
        fitted,
        calibration,
        typical,
        _frame_in(a, plain["frame"]),
        m["currency"],
        m["dated"],
        m["usual"],
        m["estimand"],
        date.fromisoformat(m["as_of"]) if m["as_of"] else None,
        settings,
    )
