"""Where the explanation of a car starts: the typical car of its model line, in the usual sale."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from valuation.appraisal.fitting import Fitted
from valuation.appraisal.lines import Moved
from valuation.appraisal.typical import TypicalCars
from valuation.features.table import SALE_FACTORS, FeatureTable
from valuation.features.terms import Design, FeatureSpec

__all__ = ["Starts", "starts_of"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True)
class Starts:
    """The typical cars from which some cars are explained, and what sets each apart.

    Parameters
    ----------
    rows : ndarray of int, shape (n,)
        Row of the typical car of each.
    levels : tuple of str
        What it is typical of: ``model line``, ``make`` or ``market``.
    mean : scipy.sparse.csr_array, shape (n, n_columns)
        Its columns, those of the sale as in the usual sale.
    design : Design
        The cars.
    step : scipy.sparse.csr_array, shape (n, n_columns)
        What each car has more or less in each column, zeros left out, columns ascending.
    """

    rows: Ints
    levels: tuple[str, ...]
    mean: sparse.csr_array
    design: Design
    step: sparse.csr_array

    def moved(self, i: int) -> Moved:
        """Return the columns that set a car apart."""
        columns, step = _cells(self.step, i)
        return Moved(columns, step, _cells(self.design.X, i)[0], int(self.design.line[i]))

    def log_price(self, fitted: Fitted, i: int) -> float:
        """Return the fitted log price of the typical car of one car."""
        mean = np.zeros(len(fitted.coef))
        columns, values = _cells(self.mean, i)
        mean[columns] = values
        return float(mean @ fitted.coef)


def starts_of(
    spec: FeatureSpec,
    typical: TypicalCars,
    table: FeatureTable,
    design: Design,
    usual: sparse.csr_array,
) -> Starts:
    """Find the typical car of each car.

    Parameters
    ----------
    spec : FeatureSpec
        What the columns hold.
    typical : TypicalCars
        Typical cars.
    table : FeatureTable
        Cars.
    design : Design
        The same as they are sold.
    usual : scipy.sparse.csr_array, shape (n, n_columns)
        The same in the usual sale.
    """
    line, make = table.factors["line"].text(), table.factors["make"].text()
    found = [typical.find(a, b) for a, b in zip(line, make, strict=True)]
    rows = np.array([row for row, _ in found], dtype=np.intp)
    of_sale = np.array([_belongs_to_sale(a) for a in spec.attributes])[spec.column_attribute]
    mean = _only(typical.rows[rows], ~of_sale) + _only(usual, of_sale)
    step = sparse.csr_array(design.X - mean)
    step.eliminate_zeros()
    step.sort_indices()
    return Starts(rows, tuple(level for _, level in found), sparse.csr_array(mean), design, step)


def _belongs_to_sale(attribute: str) -> bool:
    return attribute == "market" or any(a in SALE_FACTORS for a in attribute.split(" and "))


def _only(X: sparse.csr_array, columns: NDArray[np.bool_]) -> sparse.csr_array:
    """Return the same rows with some columns alone."""
    keep = columns[X.indices]
    before = np.concatenate([[0], np.cumsum(keep)])
    return sparse.csr_array((X.data[keep], X.indices[keep], before[X.indptr]), shape=X.shape)


def _cells(X: sparse.csr_array, row: int) -> tuple[Ints, Floats]:
    """Return columns and values of a row."""
    start, stop = X.indptr[row], X.indptr[row + 1]
    return X.indices[start:stop].astype(np.intp), X.data[start:stop]
