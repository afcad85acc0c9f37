"""Settings of the stock: what is assumed of how fast cars sell, and when a car is looked at."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from scipy.special import logit

from valuation.errors import SettingsError
from valuation.features.assumptions import Assumed
from valuation.importing.car_value import Wrong, all_wrong
from valuation.inspection.entries import Entries, shown
from valuation.results.stock_chance import MONTH_DAYS

__all__ = [
    "YEAR_DAYS",
    "AskingSettings",
    "AuctionSettings",
    "ChanceAssumptions",
    "StockSettings",
    "default_stock_settings",
    "read_stock_settings",
]

YEAR_DAYS = 365.25
"""Days of a mean year."""

_TABLES = (
    "own", "chance", "price", "estimate", "season", "time_on_offer",
    "condition", "segments", "asking", "auction", "review",
)  # fmt: skip


@dataclass(frozen=True)
class ChanceAssumptions:
    """What is assumed of the sales a day, on the log scale, until own sales say otherwise.

    Parameters
    ----------
    base : Assumed
        Log sales a day of a car of middling condition, asked at its estimate, in its first weeks.
    elasticity : Assumed
        Log of how much the log sales a day fall when the log asking price rises by one.  It is
        assumed on this scale so that a higher price can't be thought to sell faster.
    error : Assumed
        Log of how far what buyers see in a car lies from its estimate, log, one standard deviation.
    sees : Assumed
        Logit of the share of that error that the firm's own first asking price tells.
    best_day : float
        Day of the year on which most cars are sold.
    swing : Assumed
        Log sales a day on that day over the mean of the year.
    steps : tuple of (int, Assumed)
        From so many days on offer on, log sales a day against the first weeks; days rise.
    middling : float
        Condition grade of a middling car.
    condition : Assumed
        Log sales a day of ten points of the condition grade.
    segment_base, segment_elasticity, segment_season : float
        Standard deviations, over kinds of cars, of what they differ by on these scales.
    """

    base: Assumed
    elasticity: Assumed
    error: Assumed
    sees: Assumed
    best_day: float
    swing: Assumed
    steps: tuple[tuple[int, Assumed], ...]
    middling: float
    condition: Assumed
    segment_base: float
    segment_elasticity: float
    segment_season: float


@dataclass(frozen=True, slots=True)
class AskingSettings:
    """Which asking prices are tried, and for how long a car is offered.

    Parameters
    ----------
    target_days : int
        Days within which a car is to be sold when nobody says otherwise.
    target_percent : float
        How likely it has to be sold by then where a target is set.
    horizon_days : int
        Days after which a car that is not sold goes to auction.
    lowest_percent, highest_percent, step_percent : float
        Asking prices against the estimate.
    """

    target_days: int
    target_percent: float
    horizon_days: int
    lowest_percent: float
    highest_percent: float
    step_percent: float


@dataclass(frozen=True, slots=True)
class AuctionSettings:
    """What becomes of a car that the firm sends to auction.

    Parameters
    ----------
    commission_percent : Decimal
        Of the hammer price: what the auction house keeps from the seller, entry and the way there
        included.
    days : int
        Days from that decision to the money.
    """

    commission_percent: Decimal
    days: int


@dataclass(frozen=True)
class StockSettings:
    """Everything that a firm may set about its stock.

    Parameters
    ----------
    least_sales : int
        With fewer sales of the firm's own the assumptions speak alone.
    least_cars : int
        Kinds of cars with fewer cars of the firm's own are pooled into one.
    assumptions : ChanceAssumptions
        Of the chance to sell.
    asking : AskingSettings
        Asking prices.
    auction : AuctionSettings
        Cars sent to auction.
    old_after_days : int
        Days on offer from which on a car has to be decided about.
    drift_percent : float
        A central estimate that moved by more since the last month is told.
    """

    least_sales: int
    least_cars: int
    assumptions: ChanceAssumptions
    asking: AskingSettings
    auction: AuctionSettings
    old_after_days: int
    drift_percent: float


@cache
def default_stock_settings() -> StockSettings:
    """Return the settings that come with the package."""
    return _settings(_defaults(), where="stock.toml")


@cache
def _defaults() -> dict[str, Any]:
    source = resources.files("valuation") / "data" / "stock.toml"
    return tomllib.loads(source.read_text(encoding="utf-8"))


def read_stock_settings(path: Path) -> StockSettings:
    """Read the settings of a firm; what they leave out is as in the package.

    Parameters
    ----------
    path : pathlib.Path
        TOML file; see ``valuation/data/stock.toml`` for the form.

    Returns
    -------
    StockSettings
        Checked.

    Raises
    ------
    SettingsError
        If the file can't be read or holds wrong entries; all of them are named.
    """
    try:
        own = tomllib.loads(path.read_bytes().decode("utf-8-sig"))
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
    return _settings(merged, where=path.name)


def _settings(raw: Mapping[str, Any], *, where: str) -> StockSettings:
    faults: list[Wrong] = []
    allowed = "one of " + ", ".join(_TABLES)
    faults += [Wrong(key, "an unknown table", allowed) for key in raw if key not in _TABLES]
    tables = {name: Entries.of(raw, name, faults) for name in _TABLES}
    own, segments, review = tables["own"], tables["segments"], tables["review"]
    made = StockSettings(
        least_sales=_whole(own, "least_sales", 1, 10_000),
        least_cars=_whole(segments, "least_cars", 1, 10_000),
        assumptions=_assumptions(tables),
        asking=_asking(tables["asking"]),
        auction=_auction(tables["auction"]),
        old_after_days=_whole(review, "old_after_days", 1, 3650),
        drift_percent=review.number("drift_percent", 0, 100),
    )
    for table in tables.values():
        table.end()
    if faults:
        what, remedy = all_wrong(faults)
        raise SettingsError(where, what, remedy=remedy)
    return made


def _assumptions(tables: Mapping[str, Entries]) -> ChanceAssumptions:
    chance, price, season = tables["chance"], tables["price"], tables["season"]
    condition, segments, estimate = (tables[n] for n in ("condition", "segments", "estimate"))
    first_month = chance.number("first_month_percent", 0.1, 99.9) / 100
    fall = -math.log1p(price.number("ten_percent_more", -99, -0.1) / 100)
    return ChanceAssumptions(
        base=Assumed(math.log(-math.log1p(-first_month) / MONTH_DAYS), _spread(chance)),
        elasticity=Assumed(math.log(fall / math.log(1.1)), _spread(price)),
        error=Assumed(
            math.log(_log(estimate.number("error_percent", 0.1, 100))), _spread(estimate)
        ),
        sees=_share(estimate, "firm_sees_percent"),
        best_day=_day_of_year(season, "best_day"),
        swing=Assumed(_log(season.number("swing_percent", 0, 500)), _spread(season)),
        steps=_steps(tables["time_on_offer"]),
        middling=condition.number("middling", 0, 100),
        condition=Assumed(_log(condition.number("ten_points_more", -90, 500)), _spread(condition)),
        segment_base=_log(segments.number("chance_percent", 0.1, 500)),
        segment_elasticity=_log(segments.number("price_percent", 0.1, 500)),
        segment_season=_log(segments.number("season_percent", 0.1, 500)),
    )


def _log(percent: float) -> float:
    return math.log1p(percent / 100)


def _spread(e: Entries) -> float:
    return _log(e.number("give_or_take_percent", 0.1, 500))


def _share(e: Entries, key: str) -> Assumed:
    """Return a share as a logit; a share so uncertain that it may be nearly all or nothing."""
    return Assumed(float(logit(e.number(key, 1, 99) / 100)), 1.0)


def _day_of_year(e: Entries, key: str) -> float:
    text = e.text(key)
    try:
        # A year without 29 February, so that the day is the same in every year.
        return float(date.fromisoformat(f"2001-{text}").timetuple().tm_yday)
    except ValueError:
        e.wrong(key, shown(text), 'month and day such as "05-15"')
        return 1.0


def _steps(e: Entries) -> tuple[tuple[int, Assumed], ...]:
    faults: list[Wrong] = []
    out: list[tuple[int, Assumed]] = []
    for number, entry in enumerate(e.listed("steps"), start=1):
        step = Entries.of({"step": entry}, "step", faults, place=f"time_on_offer.steps {number}")
        start = _whole(step, "from_day", 1, 3650)
        effect = _log(step.number("effect_percent", -95, 500))
        out.append((start, Assumed(effect, _spread(step))))
        step.end()
    for f in faults:
        e.wrong(f.key.removeprefix("time_on_offer."), f.got, f.allowed)
    days = [start for start, _ in out]
    if not faults and days != sorted(set(days)):
        e.wrong("steps", shown(days), "steps whose from_day rises")
    return tuple(out)


def _asking(e: Entries) -> AskingSettings:
    made = AskingSettings(
        target_days=_whole(e, "target_days", 1, 3650),
        target_percent=e.number("target_percent", 1, 99),
        horizon_days=_whole(e, "horizon_days", 1, 3650),
        lowest_percent=e.number("lowest_percent", -90, 0),
        highest_percent=e.number("highest_percent", 0, 500),
        step_percent=e.number("step_percent", 0.1, 100),
    )
    if made.horizon_days < made.target_days:
        e.wrong("horizon_days", str(made.horizon_days), "no fewer days than target_days")
    return made


def _auction(e: Entries) -> AuctionSettings:
    commission = Decimal(str(e.number("commission_percent", 0, 90)))
    return AuctionSettings(commission, _whole(e, "days", 0, 3650))


def _whole(e: Entries, key: str, low: int, high: int) -> int:
    value = e.number(key, low, high)
    if value != int(value):
        e.wrong(key, f"{value:g}", "a whole number")
    return int(value)
