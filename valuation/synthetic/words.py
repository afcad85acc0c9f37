"""Headings and chassis numbers as three kinds of writer put them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import pandas as pd

from valuation.synthetic.effects import Array

__all__ = ["chassis_numbers", "write_titles"]

_PLAIN = "Standard"
_MODERN = 1981
_FORBIDDEN = str.maketrans("IOQ", "XXX")  # letters that 17-character numbers leave out


class _Words(NamedTuple):
    """What a writer may put into a heading; empty where there is nothing to say."""

    year: int
    make: str
    model: str
    variant: str
    body: str
    size: float
    gears: int
    transmission: str
    claim: str
    boast: str


def _catalogue_style(w: _Words) -> str:
    shift = f"{w.gears}-speed" if w.transmission == "manual" else w.transmission
    head = " ".join(x for x in (str(w.year), w.make, w.model, w.variant, w.body.title()) if x)
    return ", ".join(x for x in (head + (f" {w.claim}" if w.claim else ""), shift, w.boast) if x)


def _dealer_style(w: _Words) -> str:
    head = " ".join(x for x in (w.make, w.model, w.body, w.variant, w.claim) if x)
    tail = ", ".join(x for x in (f"{w.size:.1f} litre", w.transmission, w.boast) if x)
    return f"{head} ({w.year}), {tail}"


def _hasty_style(w: _Words) -> str:
    initials = "".join(f"{x[0]}." for x in w.variant.upper().split())
    shift = f"{w.gears}-spd" if w.transmission == "manual" else w.transmission[:4]
    parts = (
        f"'{w.year % 100:02d}",
        w.make.upper(),
        w.model.upper(),
        initials,
        w.claim.upper(),
        f"{w.size:.1f}L",
        shift,
        w.body[:4],
        w.boast.upper(),
    )
    return " ".join(x for x in parts if x)


_STYLES: tuple[Callable[[_Words], str], ...] = (_catalogue_style, _dealer_style, _hasty_style)


def write_titles(
    actual: Mapping[str, Array], table: pd.DataFrame, rng: np.random.Generator
) -> list[str]:
    """Write one heading a record, each writer in their own style.

    Parameters
    ----------
    actual : mapping of str to numpy.ndarray
        True make, model, variant, body, year, engine size, gears, transmission.
    table : pandas.DataFrame
        What is stated: a heading claims no more than that.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    list of str
        Headings such as ``1967 Torvane GT High Output Convertible, 4-speed``.
    """
    styles = rng.choice(len(_STYLES), size=len(table), p=(0.45, 0.35, 0.2))
    tells_body, tells_shift = rng.random(len(table)) < 0.85, rng.random(len(table)) < 0.7
    genuine = table["genuineness"]
    claims = np.where(genuine.isin(["tribute", "replica"]), genuine, "")
    boasts = np.where(table["engine_originality"] == "numbers-matching", "numbers-matching", "")
    fresh = table["restoration"].isin(["fresh restoration", "fresh restoration, documented"])
    boasts = np.where((boasts == "") & fresh, "restored", boasts)
    words = pd.DataFrame(
        {
            "year": np.asarray(actual["year"]).astype(int),
            "make": actual["make"],
            "model": actual["model"],
            "variant": ["" if v == _PLAIN else v for v in actual["variant"]],
            "body": np.where(tells_body, actual["body"], ""),
            "size": actual["engine_size"],
            "gears": np.asarray(actual["gears"]).astype(int),
            "transmission": np.where(tells_shift, actual["transmission"], ""),
            "claim": claims,
            "boast": np.where(rng.random(len(table)) < 0.5, boasts, ""),
        }
    )
    rows = zip(*(words[name].tolist() for name in _Words._fields), strict=True)
    return [_STYLES[s](_Words(*row)) for s, row in zip(styles.tolist(), rows, strict=True)]


def chassis_numbers(car: Array, make: Sequence[str], line: Array, year: Array) -> list[str]:
    """Return the chassis number of each car: the maker's serial, or 17 characters from 1981 on.

    Parameters
    ----------
    car, line, year : numpy.ndarray of int, shape (n,)
        Number of the car, line code, model year.
    make : sequence of str, length n
        Makers.

    Returns
    -------
    list of str
        One number a car; two cars never share one.

    Examples
    --------
    >>> import numpy as np
    >>> one = np.array([7])
    >>> chassis_numbers(one, ["Torvane"], np.array([3]), np.array([1967]))
    ['TO67-1007']
    >>> chassis_numbers(one, ["Ombrecq"], np.array([3]), np.array([1985]))
    ['0XM003F0000001007']
    """
    rows = zip(car.tolist(), make, line.tolist(), year.tolist(), strict=True)
    return [_chassis(1000 + c, m.upper(), k, int(y)) for c, m, k, y in rows]


def _chassis(serial: int, make: str, line: int, year: int) -> str:
    if year >= _MODERN:
        letter = "ABCDEFGHJKLMNPRSTUVWXYZ"[(year - _MODERN + 1) % 23]
        return f"0{make[:2].translate(_FORBIDDEN)}{line:03d}{letter}{serial:010d}"
    if len(make) % 2:
        return f"{make[:2]}{year % 100:02d}-{serial}"
    return f"{serial * 7}"
