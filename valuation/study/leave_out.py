"""What a fit would be without one of its sales, exactly, with penalties and weights as they are.

A sale left out moves the coefficients by ``-V x w r / (1 - h)``: V their covariance without the
noise variance, x the sale's columns, w its weight, r its residual and h its leverage (Cook and
Weisberg 1982, section 2.2, for a penalised fit).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from valuation.appraisal.data import MarketData
from valuation.appraisal.market import MarketModel
from valuation.appraisal.starts import Starts, starts_of
from valuation.features.columns import Factor
from valuation.features.table import SALE_FACTORS, FeatureTable, day_number
from valuation.features.terms import Design
from valuation.models.evidence import weights_of

__all__ = ["FittedSales", "Moves"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

TOGETHER = 2000
"""Sales whose typical cars are worked out in one go."""

_CLIPPED = 0.9499
"""From this leverage on the leave-one-out residuals of a fit are clipped."""

_MOST_LEVERAGE = 0.9999
"""A sale that alone holds a coefficient can't be left out: nothing else would hold it."""


@dataclass(frozen=True)
class Moves:
    """What leaving one sale out moves, on the log scale.

    Parameters
    ----------
    own : float
        The fitted price of the very car on its day.
    typical : float
        The fitted price of the typical car of its model line.
    typical_price : float
        That price, in money.
    lines : ndarray, shape (n_attributes,)
        Each line of its explanation; all but ``start``, with `typical`, add up to `own`.
    """

    own: float
    typical: float
    typical_price: float
    lines: Floats


class FittedSales:
    """The sales of a market with all that tells what each of them does to the fit.

    Parameters
    ----------
    market : MarketModel
        Fitted.

    Attributes
    ----------
    data : MarketData
        The sales in the order of the market's frame.
    design : Design
        Their columns.
    weights : ndarray, shape (n,)
        Their weights in the robust fit.
    leverage : ndarray, shape (n,)
        Diagonal of the hat matrix.
    """

    def __init__(self, market: MarketModel) -> None:
        self.market = market
        self.data: MarketData = market.data
        self.design: Design = market.design
        sales, sigma = market.fitted.sales, market.fitted.sigma
        self.weights = weights_of(sales.residuals, sigma**2, market.settings.robust_df)
        self.leverage = self._leverage()

    def __len__(self) -> int:
        return len(self.data)

    @cached_property
    def fitted(self) -> Floats:
        """Fitted log price, shape (n,)."""
        return np.asarray(self.design.X @ self.market.fitted.coef, dtype=np.float64)

    @property
    def residuals(self) -> Floats:
        """Log price less fitted log price, shape (n,).

        Of a price that is only a lower bound, what the fit expects it to be counts.
        """
        return self.market.fitted.sales.residuals

    @property
    def errors(self) -> Floats:
        """Log price less what the other sales say of it, shape (n,)."""
        return np.asarray(self.residuals / (1.0 - self.leverage))

    @property
    def unsure(self) -> Floats:
        """Variance of what the other sales say, in noise variances, shape (n,)."""
        return np.asarray(self.leverage / self.weights / (1.0 - self.leverage))

    @property
    def own(self) -> Floats:
        """What leaving each out moves its own fitted log price by, shape (n,)."""
        return np.asarray(-self.leverage * self.errors)

    def _leverage(self) -> Floats:
        """Recover leverages from the two kinds of residuals; work out those that were clipped."""
        sales = self.market.fitted.sales
        plain = np.abs(sales.honest) > 1e-9
        out = np.zeros(len(self.data))
        out[plain] = 1.0 - sales.residuals[plain] / sales.honest[plain]
        for i in np.flatnonzero(~plain | (out > _CLIPPED)).tolist():
            columns, values = _cells(self.design.X, i)
            with_it = self._times(int(self.design.line[i]), columns, values)
            out[i] = self.weights[i] * float(values @ with_it[columns])
        return np.clip(out, 0.0, _MOST_LEVERAGE)

    def _times(self, line: int, columns: Ints, values: Floats) -> Floats:
        """Return the covariance of every column with a combination of columns.

        Without the noise variance; local columns of other model lines are left at 0.
        """
        layout, posterior = self.market.fitted.layout, self.market.fitted.posterior
        x = np.zeros(len(layout.block))
        x[columns] = values
        common = layout.common
        local = layout.local[posterior.columns[line]] if line in posterior.columns else common[:0]
        out = np.zeros(len(x))
        out[common], out[local] = posterior.times(line, x[common], x[local])
        return out

    @cached_property
    def typical(self) -> Floats:
        """What leaving each out moves the typical car of its model line by, log, shape (n,)."""
        lines, first = np.unique(self.design.line, return_index=True)
        starts, X = self._starts(first), self.design.X
        out = np.zeros(len(self))
        for k, line in enumerate(lines.tolist()):
            with_typical = self._times(line, *_cells(starts.mean, k))
            rows = np.flatnonzero(self.design.line == line)
            out[rows] = -(X[rows] @ with_typical)
        return np.asarray(out * self.weights * self.errors)

    def moves(self, rows: Ints) -> list[Moves]:
        """Return what leaving each of some sales out moves.

        Parameters
        ----------
        rows : ndarray of int
            Positions of the sales.
        """
        out: list[Moves] = []
        for at in range(0, len(rows), TOGETHER):
            some = rows[at : at + TOGETHER]
            starts = self._starts(some)
            out += [self._moves(int(i), k, starts) for k, i in enumerate(some.tolist())]
        return out

    def _starts(self, rows: Ints) -> Starts:
        """Return the typical car of each sale, in the usual sale on the day of the model."""
        market, table = self.market, self.data.table.take(rows)
        design = Design(self.design.X[rows], self.design.line[rows])
        day = day_number(market.as_of) if market.as_of else float("nan")
        usual = market.fitted.spec.transform(_in_usual_sale(table, market, day)).X
        return starts_of(market.fitted.spec, market.typical, table, design, usual)

    def _moves(self, i: int, k: int, starts: Starts) -> Moves:
        spec, coef = self.market.fitted.spec, self.market.fitted.coef
        own = _cells(self.design.X, i)
        start = _cells(starts.mean, k)
        columns = np.union1d(own[0], start[0])
        x, t = _spread(columns, *own), _spread(columns, *start)
        with_it = self._times(int(self.design.line[i]), *own)[columns]
        step = -with_it * self.weights[i] * self.errors[i]
        lines = np.zeros(len(spec.attributes))
        np.add.at(lines, spec.column_attribute[columns], (x - t) * step)
        price = float(np.exp(t @ coef[columns]))
        return Moves(float(x @ step), float(t @ step), price, lines)


def _in_usual_sale(table: FeatureTable, market: MarketModel, day: float) -> FeatureTable:
    """Return the same cars as they are sold usually, on another day."""
    usual = {f: Factor.of([market.usual[f] or None] * table.n) for f in SALE_FACTORS}
    return replace(table, factors={**table.factors, **usual}).at(day)


def _cells(X: sparse.csr_array, row: int) -> tuple[Ints, Floats]:
    """Return columns, ascending, and values of a row."""
    start, stop = X.indptr[row], X.indptr[row + 1]
    columns, values = X.indices[start:stop].astype(np.intp), X.data[start:stop]
    order = np.argsort(columns, kind="stable")
    return columns[order], values[order]


def _spread(columns: Ints, own: Ints, values: Floats) -> Floats:
    out = np.zeros(len(columns))
    out[np.searchsorted(columns, own)] = values
    return out
