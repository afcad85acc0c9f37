"""The market model: fitted on sales, calibrated on forecasts of its own past, ready to price."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import sparse

from valuation.appraisal.data import MarketData, market_data
from valuation.appraisal.fitting import Fitted, fit_market_data
from valuation.appraisal.levels import MarketLevels
from valuation.appraisal.settings import ModelSettings, Progress
from valuation.appraisal.stated import StatedValues
from valuation.appraisal.typical import TypicalCars, typical_cars
from valuation.appraisal.walk import past_errors
from valuation.errors import SettingsError
from valuation.features.assumptions import Assumptions, default_assumptions
from valuation.features.columns import key
from valuation.features.table import SALE_FACTORS, day_number
from valuation.features.terms import Design
from valuation.models.ranges import Calibration, calibrate
from valuation.records import SalesBook
from valuation.running.kept import Kept
from valuation.running.runner import Runner

__all__ = ["MarketModel", "fit_market", "market_of"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class MarketModel:
    """A market that can price cars.

    Attributes
    ----------
    fitted : Fitted
        The regression and the sales that can be compared.
    calibration : Calibration
        What past errors teach.
    typical : TypicalCars
        Where an explanation starts, and what the evidence has seen.
    frame : pandas.DataFrame
        The sales as they were read, in the order of the comparable sales.
    currency : str
        Currency of all amounts.
    dated : bool
        False for a list of asking prices without dates.
    usual : mapping of str to str
        The usual sale: most frequent channel, basis and so on.
    estimand : str
        What is estimated.
    as_of : datetime.date or None
        Day up to which sales were used.
    settings : ModelSettings
        How it was built.
    """

    fitted: Fitted
    calibration: Calibration
    typical: TypicalCars
    frame: pd.DataFrame
    currency: str
    dated: bool
    usual: Mapping[str, str]
    estimand: str
    as_of: date | None
    settings: ModelSettings

    @property
    def makes(self) -> dict[str, tuple[str, ...]]:
        """Makes of the evidence with their models, as they were written most often."""
        pairs = self.frame[["make", "model"]].dropna(subset=["make"])
        out: dict[str, tuple[str, ...]] = {}
        for make, part in pairs.groupby("make", sort=True):
            out[str(make)] = tuple(sorted({str(m) for m in part["model"].dropna()}))
        return out

    @cached_property
    def variants(self) -> dict[tuple[str, str], tuple[str, ...]]:
        """Variants that the sales state, by the keys of make and model."""
        stated = self.frame[["make", "model", "variant"]].dropna()
        out: dict[tuple[str, str], set[str]] = {}
        for make, model, variant in stated.drop_duplicates().itertuples(index=False):
            out.setdefault((key(make), key(model)), set()).add(str(variant))
        return {line: tuple(sorted(names)) for line, names in out.items()}

    @cached_property
    def columns(self) -> dict[str, NDArray[Any]]:
        """The sales as they were read, by column: a row of arrays is a hundred times cheaper."""
        return {str(name): self.frame[name].to_numpy() for name in self.frame}

    @cached_property
    def data(self) -> MarketData:
        """The sales as models fit them, in the order of the frame."""
        book = SalesBook(self.frame, self.currency, self.dated)
        return market_data(book, unsold=self.settings.unsold, least=1)

    @cached_property
    def design(self) -> Design:
        """The sales in the columns of the fit."""
        return self.fitted.spec.transform(self.data.table)

    @cached_property
    def stated(self) -> StatedValues:
        """What the sales state of each attribute, and how often."""
        return StatedValues(self.columns)

    @cached_property
    def _usual_of(self) -> dict[str, dict[str, str]]:
        """Usual sale of each channel."""
        return {key(c): _usual(part) for c, part in self.frame.groupby("channel", sort=True)}

    @cached_property
    def _channel_of(self) -> dict[str, str]:
        """Usual channel of each venue."""
        channels = self.frame.groupby("venue", sort=True)["channel"]
        return {key(v): key(c.mode().iloc[0]) for v, c in channels if c.notna().any()}

    @cached_property
    def levels(self) -> MarketLevels:
        """The level of the market day by day, by make and model line."""
        return MarketLevels(self.fitted)

    def sale_of(self, stated: Mapping[str, str]) -> dict[str, str]:
        """Complete what is stated of a sale by what is usual for its channel.

        Parameters
        ----------
        stated : mapping of str to str
            Sale factors by name; what is absent or empty is completed.

        Returns
        -------
        dict of str to str
            Every sale factor.  A sale by a dealer gets no auction house, and a channel that no
            sale has gets neither venue nor reserve.
        """
        given = {k: v for k, v in stated.items() if v}
        usual = key(self.usual["channel"])
        channel = key(given.get("channel", "")) or self._channel_of.get(
            key(given.get("venue", "")), usual
        )
        base: Mapping[str, str] = self.usual
        if channel != usual:
            base = self._usual_of.get(channel, {**base, "venue": "", "reserve": ""})
        return {k: given.get(k, base[k]) for k in SALE_FACTORS}

    def summary(self) -> str:
        """Return what the model rests on, as plain text."""
        f = self.fitted
        until = f" up to {self.as_of.isoformat()}" if self.as_of else ", undated"
        return "\n".join(
            [
                f"Market model of {len(self.frame):,} sales{until} "
                f"({self.estimand}, {_basis_words(self.usual['basis'])}, {self.currency})",
                f"  {len(self.typical.lines):,} model lines, {f.spec.n_columns:,} columns, "
                f"noise {100 * f.sigma:.1f}%",
                f"  ranges calibrated on {self.calibration.n:,} forecasts of past sales",
            ]
        )


def _basis_words(basis: str) -> str:
    return "price basis not known" if basis == "unknown" else basis


def _usual(frame: pd.DataFrame) -> dict[str, str]:
    """Return the most frequent sale among the newer half of the sales, its channel first."""
    recent = frame.iloc[len(frame) // 2 :]
    sold = recent[recent["outcome"] == "sold"]
    recent = sold if len(sold) >= 10 else recent
    out: dict[str, str] = {}
    for name in SALE_FACTORS:
        if name != "channel" and out["channel"]:  # no dealer sells in an auction house
            recent = recent[recent["channel"] == out["channel"]]
        counts = recent[name].dropna().value_counts()
        best = sorted(counts.index[counts == counts.max()]) if len(counts) else []
        out[name] = str(best[0]) if best else ("unknown" if name in ("basis", "outcome") else "")
    out["region"] = ""  # a region is a fact of one sale, not of the usual one
    return out


def _estimand(frame: pd.DataFrame, settings: ModelSettings) -> str:
    if (frame["basis"] == "asking price").mean() > 0.5:
        return "asking price"
    if settings.unsold == "as bids" and (frame["outcome"] != "sold").any():
        return "market bid"
    return "price if sold"


def fit_market(
    book: SalesBook,
    *,
    as_of: date | None = None,
    settings: ModelSettings | None = None,
    assumptions: Assumptions | None = None,
    run: Runner | None = None,
    kept: Kept | None = None,
    progress: Progress | None = None,
) -> MarketModel:
    """Fit a market model and calibrate its ranges.

    Parameters
    ----------
    book : SalesBook
        Sales.
    as_of : datetime.date, optional
        Use sales up to this day; all by default.
    settings : ModelSettings, optional
        How it is built.
    assumptions : Assumptions, optional
        Effects that are assumed; the weak defaults of the package if None.
    run : Runner, optional
        How forecasts of the past are run; in this process if not given.  The result is the same.
    kept : Kept, optional
        Where finished forecasts are kept, and taken from, so that a run that was stopped goes on.
    progress : callable, optional
        Told how far it is.

    Returns
    -------
    MarketModel
        Fitted and calibrated.

    Raises
    ------
    TooFewSalesError
        If there are too few sales, or they can't tell the attributes apart.
    SettingsError
        If `as_of` is given for an undated list.
    """
    settings = settings or ModelSettings()
    assumptions = default_assumptions() if assumptions is None else assumptions
    if as_of is not None and not book.dated:
        raise SettingsError(
            "as_of", "an undated list has no day", got=as_of.isoformat(), remedy="Leave it out"
        )
    if as_of is not None:
        book = book.subset((book.table["sale_date"] <= pd.Timestamp(as_of)).to_numpy())
    data = market_data(book, unsold=settings.unsold, least=settings.least_sales)
    if progress is not None:
        progress(0, 1, "fitting the market")
    fitted = fit_market_data(data, settings=settings, assumptions=assumptions)
    errors = past_errors(
        data,
        fitted.penalties,
        settings=settings,
        assumptions=assumptions,
        run=run,
        kept=kept,
        progress=progress,
    )
    last = data.frame["sale_date"].max()
    if as_of is None and data.dated:
        as_of = last.date()
    day = day_number(as_of) if as_of else float("nan")
    return market_of(data, fitted, calibrate(errors, day=day), book.currency, as_of, settings)


def market_of(
    data: MarketData,
    fitted: Fitted,
    calibration: Calibration,
    currency: str,
    as_of: date | None,
    settings: ModelSettings,
    *,
    X: sparse.csr_array | None = None,
) -> MarketModel:
    """Return the market of a fit and its calibration.

    Parameters
    ----------
    data : MarketData
        The sales that were fitted.
    fitted : Fitted
        The fit.
    calibration : Calibration
        What past errors teach.
    currency : str
        Currency of all amounts.
    as_of : datetime.date or None
        Day up to which sales were used.
    settings : ModelSettings
        How it was built.
    X : scipy.sparse.csr_array, shape (n, n_columns), optional
        The sales in columns, if they are known already.
    """
    return MarketModel(
        fitted,
        calibration,
        typical_cars(fitted, data, X=X),
        data.frame,
        currency,
        data.dated,
        _usual(data.frame),
        _estimand(data.frame, settings),
        as_of,
        replace(settings),
    )
