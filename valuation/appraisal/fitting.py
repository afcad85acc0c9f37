"""One fit: spec, coefficients, and the sales that can be compared."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from valuation.appraisal.data import MarketData
from valuation.appraisal.settings import ModelSettings
from valuation.appraisal.settling import Start, by_name, inflation_of, settle, sketch
from valuation.features.assumptions import Assumptions
from valuation.features.encoders import Silent
from valuation.features.learn import learn_spec
from valuation.features.table import FeatureTable
from valuation.features.terms import Design, FeatureSpec
from valuation.models.comparables import ComparableSales, Comparands, Neighbourhood
from valuation.models.hedonic import HedonicRegressor
from valuation.models.layout import Layout
from valuation.models.posterior import Posterior
from valuation.running.threads import one_thread

__all__ = ["Fitted", "Forecast", "fit_market_data"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True)
class Forecast:
    """What a fit says of some cars before their range is known.

    Attributes
    ----------
    effects : ndarray, shape (n, n_attributes)
        Log effect of each line of the explanation.
    around : list of Neighbourhood
        The sales around each car.
    difficulty : ndarray, shape (n, 9)
        Columns of the difficulty estimate.
    design : Design
        The cars in columns.
    """

    effects: Floats
    around: list[Neighbourhood]
    difficulty: Floats
    design: Design

    @property
    def log_price(self) -> Floats:
        """Fitted log price without the local deviation, shape (n,)."""
        return np.asarray(self.effects.sum(1))

    @property
    def deviation(self) -> Floats:
        """Local deviation of each car, shape (n,)."""
        return np.array([a.deviation for a in self.around])

    def take(self, rows: Ints) -> Forecast:
        """Return the forecast of the chosen cars."""
        return Forecast(
            self.effects[rows],
            [self.around[i] for i in rows],
            self.difficulty[rows],
            Design(self.design.X[rows], self.design.line[rows]),
        )


@dataclass(frozen=True)
class Fitted:
    """A fitted market without its calibration.

    Attributes
    ----------
    spec : FeatureSpec
        Columns.
    coef : ndarray, shape (n_columns,)
        Coefficients.
    penalties : mapping of str to float
        Penalty of each block, in units of the noise variance.
    sigma : float
        Scale of the noise.
    posterior : Posterior
        Covariance of the coefficients without the noise variance.
    inflation : float
        Factor of the covariance for sales of one chassis and for estimated weights.
    sales : ComparableSales
        The sales that can be compared.
    codes : mapping of str to dict
        For ``make``, ``version`` and ``chassis`` the code of each level.
    held : tuple of str
        Where a direction of which the trade is certain was enforced.
    last_day : float
        Day of the last sale.
    n_iter : int
        Number of solves.
    edf : mapping of str to float
        Effective degrees of freedom of each block.
    """

    spec: FeatureSpec
    coef: Floats
    penalties: Mapping[str, float]
    sigma: float
    posterior: Posterior
    inflation: float
    sales: ComparableSales
    codes: Mapping[str, Mapping[str, int]]
    held: tuple[str, ...]
    last_day: float
    n_iter: int
    edf: Mapping[str, float]

    @cached_property
    def layout(self) -> Layout:
        """How the columns are grouped, held and owned."""
        return self.spec.layout()

    @cached_property
    def prior_variance(self) -> Floats:
        """Prior variance of each coefficient, infinite where nothing holds it."""
        layout = self.layout
        lam = np.array([self.penalties[n] for n in layout.names])[layout.block]
        with np.errstate(divide="ignore"):
            out = np.where(lam > 0, self.sigma**2 / np.maximum(lam, 1e-300), np.inf)
        return np.where(layout.which("assumed")[layout.block], layout.sd**2, out)

    def by_attribute(self, X: sparse.csr_array) -> Floats:
        """Return the log effect of each line of the explanation, shape (n, n_attributes)."""
        return _by_attribute(self.spec, self.coef, X)

    def forecast(
        self, table: FeatureTable, *, leave_out: Ints | None = None, design: Design | None = None
    ) -> Forecast:
        """Forecast some cars.

        Parameters
        ----------
        table : FeatureTable
            Cars, each on its day.
        leave_out : ndarray of int, optional
            Positions of sales that may not be used as comparables.
        design : Design, optional
            The cars in columns, if they are known already or are mixtures of cars.

        Returns
        -------
        Forecast
            One entry a car.
        """
        with one_thread():
            design = self.spec.transform(table.to_come()) if design is None else design
            effects = self.by_attribute(design.X)
            make, version, chassis = (
                _recode(table, name, self.codes) for name in ("make", "version", "chassis")
            )
            day = table.numbers["day"]
            stated = table.stated(self.spec.attributes)
            cars = Comparands(effects, design.line, make, version, day, chassis, stated)
            around = self.sales.around(cars, leave_out=leave_out)
            hard = self._difficulty(design, effects, around, table)
            return Forecast(effects, around, hard, design)

    def _difficulty(
        self, design: Design, effects: Floats, around: list[Neighbourhood], table: FeatureTable
    ) -> Floats:
        day = table.numbers["day"]
        silent = [
            start
            for t, start in zip(self.spec.terms, self.spec.starts[:-1], strict=True)
            if isinstance(t.encoder, Silent)
        ]
        silence = np.asarray(design.X[:, silent].sum(1)).ravel() if silent else np.zeros(len(day))
        newest = [
            float(np.nanmax(self.sales.day[a.rows[:5]], initial=-np.inf)) if len(a.rows) else np.nan
            for a in around
        ]
        age = np.nan_to_num(day - np.array(newest), nan=0.0, posinf=1e4)
        columns = [
            np.log1p([a.size for a in around]),
            np.minimum([a.nearest for a in around], 3.0),
            [a.spread for a in around],
            silence,
            effects.sum(1),
            np.log1p(np.maximum(age, 0.0)),
            np.sqrt([self.variance(design, i) for i in range(len(day))]),
            (design.line < 0).astype(float),
            table.numbers["year"],
        ]
        return np.column_stack(columns).astype(np.float64)

    def variance(self, design: Design, row: int) -> float:
        """Return the variance of the fitted log price of a row."""
        start, stop = design.X.indptr[row], design.X.indptr[row + 1]
        columns, values = design.X.indices[start:stop], design.X.data[start:stop]
        # A car that may be of several model lines has local columns of each; its own line counts.
        owner, line = self.layout.owner[columns], int(design.line[row])
        mine = (owner < 0) | (owner == line)
        return self.quadratic(line, columns[mine], values[mine])

    def quadratic(self, line: int, columns: Ints, values: Floats) -> float:
        """Return the variance of a linear combination of coefficients of one model line."""
        order = np.argsort(columns, kind="stable")
        columns, values = columns[order], values[order]
        local = self.spec.is_local[columns]
        common_at = self.spec.within[columns[~local]]
        local_at = self.spec.within[columns[local]]
        V = self.posterior.covariance(line, common_at, local_at)
        v = np.concatenate([values[~local], values[local]])
        return max(float(v @ V @ v), 0.0) * self.sigma**2 * self.inflation

    def covariance_times(self, vectors: Floats) -> Floats:
        """Multiply the covariance of the coefficients by some combinations of them.

        Unlike :meth:`quadratic` it takes combinations over several model lines.

        Parameters
        ----------
        vectors : ndarray, shape (n_columns, k)
            Combinations of coefficients.

        Returns
        -------
        ndarray, shape (n_columns, k)
            Products, without noise variance and inflation.
        """
        local = self.spec.is_local
        out = np.zeros(vectors.shape)
        out[~local], out[local] = self.posterior.times_all(vectors[~local], vectors[local])
        return out


def _by_attribute(spec: FeatureSpec, coef: Floats, X: sparse.csr_array) -> Floats:
    n, k = X.shape[0], len(spec.attributes)
    row = np.repeat(np.arange(n), np.diff(X.indptr))
    at = row * k + spec.column_attribute[X.indices]
    return np.asarray(np.bincount(at, X.data * coef[X.indices], n * k), np.float64).reshape(n, k)


def _recode(table: FeatureTable, name: str, codes: Mapping[str, Mapping[str, int]]) -> Ints:
    factor = table.factors[name]
    to = np.array([codes[name].get(v, -1) for v in factor.levels] + [-1], dtype=np.intp)
    return to[factor.codes]


def fit_market_data(
    data: MarketData,
    *,
    settings: ModelSettings,
    assumptions: Assumptions,
    penalties: Mapping[str, float] | None = None,
    weights: Floats | None = None,
    scale: float | None = None,
) -> Fitted:
    """Fit the regression and set up the comparable sales.

    Parameters
    ----------
    data : MarketData
        Sales.
    settings : ModelSettings
        How the model is built.
    assumptions : Assumptions
        Effects that are assumed.
    penalties : mapping of str to float, optional
        Penalties of an earlier fit, to be kept.
    weights : ndarray, shape (n,), optional
        Weights of the sales in an earlier fit, to start from.
    scale : float, optional
        Scale of the noise in an earlier fit, to start from.

    Returns
    -------
    Fitted
        Without calibration.

    Raises
    ------
    TooFewSalesError
        If the sales can't carry the columns.
    """
    spec = learn_spec(data.table, settings=settings.features, assumptions=assumptions)
    start = Start(penalties or {}, weights, scale)
    if penalties is None:
        # Half of the blocks carry nothing; a short first fit finds them, and the long one is
        # spared their columns.
        start = sketch(spec, data, settings)
    carry = {t.name for t in spec.terms if t.penalty != "estimated" or t.name in start.penalties}
    spec, design, model, held = settle(
        spec.only(carry), data, settings, start, keep=penalties is not None
    )
    codes = data.table.factors["chassis"].codes
    return Fitted(
        spec,
        model.coef_,
        by_name(spec, model.penalties_),
        model.sigma_,
        model.posterior_,
        inflation_of(model, codes, settings.robust_df),
        _comparable(spec, design, model, data, settings),
        _codes(data),
        tuple(held),
        float(np.nanmax(data.day)) if data.dated else float("nan"),
        model.n_iter_,
        by_name(spec, model.edf_),
    )


def _comparable(
    spec: FeatureSpec,
    design: Design,
    model: HedonicRegressor,
    data: MarketData,
    settings: ModelSettings,
) -> ComparableSales:
    factors = data.table.factors
    return ComparableSales(
        _by_attribute(spec, model.coef_, design.X).astype(np.float32),
        model.residuals_,
        model.residuals_ / (1.0 - np.clip(model.leverage_, 0.0, 0.95)),
        np.minimum(model.weights_, 1.0),
        design.line,
        factors["make"].codes,
        factors["version"].codes,
        data.day,
        settings.comparables,
        factors["chassis"].codes,
        data.table.stated(spec.attributes),
    )


def _codes(data: MarketData) -> dict[str, dict[str, int]]:
    factors = data.table.factors
    names = ("make", "version", "chassis")
    return {n: {v: i for i, v in enumerate(factors[n].levels)} for n in names}
