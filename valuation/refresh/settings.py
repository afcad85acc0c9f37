"""Settings of the monthly work: what a workspace's settings.toml may say."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from valuation.appraisal.settings import UnsoldUse
from valuation.errors import SettingsError
from valuation.importing.car_value import Wrong, all_wrong
from valuation.inspection.entries import Entries, shown
from valuation.reading.money import CURRENCIES

__all__ = ["MonthRules", "MonthSettings", "default_month_settings", "read_month_settings"]

Span = tuple[float, float]

_TABLES = ("evidence", "model", "study", "realised", "rules", "panel", "segments")
_UNSOLD: tuple[UnsoldUse, ...] = ("as bids", "left out", "as bounds")


@dataclass(frozen=True, slots=True)
class MonthRules:
    """When a candidate replaces the model in use.

    Parameters
    ----------
    least_new_sales : int
        Fewest sales that came since the model in use.
    unseen_percent : float
        Most of them, in per cent, of model lines never seen before, without a warning.
    worse_by : float
        Points of the mean error, in per cent, by which it may be worse on the same sales.
    ranges_percent : (float, float)
        Share of 80 % ranges that have to hold.
    median_ratio, cod, prb, vei_percent : (float, float)
        Bands of the ratio study.
    panel_percent : float
        Largest middle change of the panel that no move of the market explains.
    moved_percent : float
        Middle error of the last month to one side, from which on the market has moved.
    """

    least_new_sales: int
    unseen_percent: float
    worse_by: float
    ranges_percent: Span
    median_ratio: Span
    cod: Span
    prb: Span
    vei_percent: Span
    panel_percent: float
    moved_percent: float


@dataclass(frozen=True)
class MonthSettings:
    """Everything that a workspace may set.

    Parameters
    ----------
    currency : str
        ISO 4217 code, empty for that of the first file.
    rates : pathlib.Path or None
        File of currency rates.
    least_price : float
        Sales at this price and less are left out of fits.
    unsold : {"as bids", "left out", "as bounds"}
        What a highest bid on an unsold car tells.
    assumptions : pathlib.Path or {"", "none"}
        Starting assumptions: a file, those of the package, or none.
    published : str
        Folder the models are published to; relative to the workspace unless it is absolute.
    months : int
        Months of the study before a decision.
    seed : int
        Of the redrawn samples behind intervals.
    within_days, lot_days : int
        Longest time from what was said of a car to the sale it is held against, and where only
        venue and lot number tell.
    rules : MonthRules
        When the candidate is published.
    panel_cars : tuple of pathlib.Path
        Car files of the panel.
    panel_lines : int
        Model lines whose typical car is in the panel.
    segments : mapping of str to mapping
        Segments of the index as they are written.
    """

    currency: str
    rates: Path | None
    least_price: float
    unsold: UnsoldUse
    assumptions: Path | str
    published: str
    months: int
    seed: int
    within_days: int
    lot_days: int
    rules: MonthRules
    panel_cars: tuple[Path, ...] = ()
    panel_lines: int = 12
    segments: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)


@cache
def default_month_settings() -> MonthSettings:
    """Return the settings that come with the package."""
    return _settings(_defaults(), Path(), where="month.toml")


@cache
def _defaults() -> dict[str, Any]:
    source = resources.files("valuation") / "data" / "month.toml"
    return tomllib.loads(source.read_text(encoding="utf-8"))


def read_month_settings(path: Path) -> MonthSettings:
    """Read the settings of a workspace; what they leave out is as in the package.

    Parameters
    ----------
    path : pathlib.Path
        TOML file; see ``valuation/data/month.toml`` for the form.  If there is none, the defaults
        count.

    Returns
    -------
    MonthSettings
        Checked.

    Raises
    ------
    SettingsError
        If the file can't be read or holds wrong entries; all of them are named.
    """
    try:
        own = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return default_month_settings()
    except OSError as e:
        raise SettingsError(
            path.name, "the settings can't be read", got=str(e.strerror), remedy="Check the path"
        ) from e
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as e:
        raise SettingsError(
            path.name, "this is not valid TOML", got=str(e), remedy="Mend the line named"
        ) from e
    merged = dict(own)
    for name, table in _defaults().items():
        mine = own.get(name, {})
        merged[name] = {**table, **mine} if isinstance(mine, Mapping) else mine
    return _settings(merged, path.parent, where=path.name)


def _settings(raw: Mapping[str, Any], folder: Path, *, where: str) -> MonthSettings:
    faults: list[Wrong] = []
    allowed = "one of " + ", ".join(_TABLES)
    faults += [Wrong(key, "an unknown table", allowed) for key in raw if key not in _TABLES]
    evidence, model, study, realised, panel = (
        Entries.of(raw, name, faults)
        for name in ("evidence", "model", "study", "realised", "panel")
    )
    rates, assumptions = evidence.text("rates", ""), model.text("assumptions", "")
    made = MonthSettings(
        currency=_currency(evidence),
        rates=folder / rates if rates else None,
        least_price=evidence.number("least_price", 0, 1e9),
        unsold=next(u for u in _UNSOLD if u == model.word("unsold", _UNSOLD)),
        assumptions=assumptions if assumptions in ("", "none") else folder / assumptions,
        published=model.text("published"),
        months=_whole(study, "months", 1, 60),
        seed=_whole(study, "seed", 0, 2**31),
        within_days=_whole(realised, "within_days", 1, 36_500),
        lot_days=_whole(realised, "lot_days", 1, 36_500),
        rules=_rules(Entries.of(raw, "rules", faults)),
        panel_cars=tuple(folder / name for name in _texts(panel, "cars")),
        panel_lines=_whole(panel, "lines", 0, 100),
        segments=_segments(raw, faults),
    )
    for table in (evidence, model, study, realised, panel):
        table.end()
    if faults:
        what, remedy = all_wrong(faults)
        raise SettingsError(where, what, remedy=remedy)
    return made


def _currency(e: Entries) -> str:
    code = e.text("currency", "").upper()
    if code and code not in CURRENCIES:
        e.wrong("currency", code, "a code of ISO 4217, such as EUR")
    return code


def _rules(e: Entries) -> MonthRules:
    made = MonthRules(
        least_new_sales=_whole(e, "least_new_sales", 0, 1_000_000),
        unseen_percent=e.number("unseen_percent", 0, 100),
        worse_by=e.number("worse_by", 0, 100),
        ranges_percent=_span(e, "ranges_percent", 0, 100),
        median_ratio=_span(e, "median_ratio", 0.1, 10),
        cod=_span(e, "cod", 0, 1000),
        prb=_span(e, "prb", -10, 10),
        vei_percent=_span(e, "vei_percent", -1000, 1000),
        panel_percent=e.number("panel_percent", 0, 1000),
        moved_percent=e.number("moved_percent", 0, 100),
    )
    e.end()
    return made


def _whole(e: Entries, key: str, low: int, high: int) -> int:
    value = e.number(key, low, high)
    if value != int(value):
        e.wrong(key, f"{value:g}", "a whole number")
    return int(value)


def _span(e: Entries, key: str, low: float, high: float) -> Span:
    value = e.listed(key)
    fits = len(value) == 2 and all(
        isinstance(v, int | float) and not isinstance(v, bool) and low <= v <= high for v in value
    )
    if not fits or value[0] > value[1]:
        e.wrong(key, shown(value), f"two numbers from {low:g} to {high:g}, the lower first")
        return (low, high)
    return (float(value[0]), float(value[1]))


def _texts(e: Entries, key: str) -> tuple[str, ...]:
    value = e.listed(key)
    if not all(isinstance(v, str) and v.strip() for v in value):
        e.wrong(key, shown(value), "a list of file names")
        return ()
    return tuple(value)


def _segments(raw: Mapping[str, Any], faults: list[Wrong]) -> Mapping[str, Mapping[str, Any]]:
    found = raw.get("segments", {})
    if not isinstance(found, Mapping) or not all(isinstance(t, Mapping) for t in found.values()):
        faults.append(
            Wrong("segments", shown(found), 'tables such as [segments."Post-war sports"]')
        )
        return {}
    return found
