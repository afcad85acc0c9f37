r"""Which sales moved a price: the exact update of the penalised normal equations, sale by sale.

With kept columns, penalties and weights a fit of more sales differs from the fit before by

    x'(b_new - b_old) = sum_i  x'V x_i w_i (y_i - x_i'b_old)

with V = (X'WX + penalty)^-1 of the new fit: the sum over the sales that came, less the same sum
over those that went (with their own weights and columns); a corrected sale went and came.  That is
the recursive least squares update (Plackett 1950) with a penalty, and exact.  What a real refit
does beside it, because penalties, weights and columns are learned anew, is what remains.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import sparse

from valuation.appraisal.data import market_data
from valuation.appraisal.fitting import Fitted
from valuation.appraisal.market import MarketModel
from valuation.features.table import FeatureTable
from valuation.models.evidence import weights_of
from valuation.records import SalesBook
from valuation.running.threads import one_thread
from valuation.study.sale_matching import Matched, match_sales

__all__ = ["Moves", "contributions_to", "frame_table", "moves_between"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Moves:
    """The sales in which two models differ, as the new fit sees them.

    Attributes
    ----------
    kinds : tuple of str
        ``new``, ``gone`` or ``corrected`` for each.
    frame : pandas.DataFrame
        The sales, of a corrected one the new form.
    X : scipy.sparse.csr_array, shape (n_parts, n_columns)
        Columns of the parts: a corrected sale has two.
    push : ndarray, shape (n_parts,)
        Weight times what the sale brought beyond the old model's expectation, negative for what
        went.
    of : ndarray of int, shape (n_parts,)
        Which sale each part belongs to.
    expected : ndarray, shape (n_sales,)
        Log price of each sale by the old model.
    """

    kinds: tuple[str, ...]
    frame: pd.DataFrame
    X: sparse.csr_array
    push: Floats
    of: NDArray[np.intp]
    expected: Floats


def frame_table(frame: pd.DataFrame, market: MarketModel) -> FeatureTable:
    """Return the features of sales of a market's frame, in its order."""
    book = SalesBook(frame, market.currency, market.dated)
    return market_data(book, unsold="as bids", least=0).table


def moves_between(old: MarketModel, new: MarketModel) -> tuple[Matched, Moves]:
    """Return the sales in which two models differ.

    Parameters
    ----------
    old, new : MarketModel
        Models of one market.

    Returns
    -------
    Matched
        Which sales came, went and were corrected.
    Moves
        The same sales with what each pushes.
    """
    found = match_sales(old.frame, new.frame)
    first = np.array([i for i, _ in found.corrected], dtype=np.intp)
    second = np.array([j for _, j in found.corrected], dtype=np.intp)
    incoming = np.concatenate([found.came, second])
    outgoing = np.concatenate([found.went, first])
    n_came, n_went, n_fixed = len(found.came), len(found.went), len(found.corrected)
    fixed = n_came + n_went + np.arange(n_fixed)
    of = np.concatenate([np.arange(n_came), fixed, n_came + np.arange(n_went), fixed])
    frame = pd.concat(
        [new.frame.iloc[found.came], old.frame.iloc[found.went], new.frame.iloc[second]],
        ignore_index=True,
    )
    with one_thread():
        came, came_expected, came_push = _incoming(old, new, incoming)
        went, went_expected, went_push = _outgoing(old, new, outgoing)
    moves = Moves(
        ("new",) * n_came + ("gone",) * n_went + ("corrected",) * n_fixed,
        frame,
        sparse.csr_array(sparse.vstack([came, went])),
        np.concatenate([came_push, -went_push]),
        of.astype(np.intp),
        np.concatenate([came_expected[:n_came], went_expected[:n_went], came_expected[n_came:]]),
    )
    return found, moves


def _incoming(
    old: MarketModel, new: MarketModel, rows: NDArray[np.intp]
) -> tuple[sparse.csr_array, Floats, Floats]:
    """Return columns, old expectation and push of sales of the new model."""
    table = _table_of(new, rows)
    X = new.fitted.spec.transform(table).X
    expected = np.asarray(old.fitted.spec.transform(table).X @ old.fitted.coef)
    # What a lower bound stands for is what the fit took it for.
    brought = X @ new.fitted.coef + new.fitted.sales.residuals[rows]
    return X, expected, _weights(new)[rows] * (brought - expected)


def _outgoing(
    old: MarketModel, new: MarketModel, rows: NDArray[np.intp]
) -> tuple[sparse.csr_array, Floats, Floats]:
    """Return new columns, old expectation and push of sales of the old model."""
    table = _table_of(old, rows)
    expected = np.asarray(old.fitted.spec.transform(table).X @ old.fitted.coef)
    push = _weights(old)[rows] * old.fitted.sales.residuals[rows]
    return new.fitted.spec.transform(table).X, expected, push


def _table_of(market: MarketModel, rows: NDArray[np.intp]) -> FeatureTable:
    """Return the features of some sales in the order asked for."""
    ordered = np.sort(rows)
    table = frame_table(market.frame.iloc[ordered], market)
    return table.take(np.searchsorted(ordered, rows))


def _weights(market: MarketModel) -> Floats:
    f = market.fitted
    return weights_of(f.sales.residuals, f.sigma**2, market.settings.robust_df)


def contributions_to(fitted: Fitted, moves: Moves, cars: sparse.csr_array) -> Floats:
    """Return by how much each sale moved the log price of some cars.

    Parameters
    ----------
    fitted : Fitted
        The new fit.
    moves : Moves
        The sales in which it differs from the old one.
    cars : scipy.sparse.csr_array, shape (n_cars, n_columns)
        Cars in the new fit's columns.

    Returns
    -------
    ndarray, shape (n_cars, n_sales)
        Log price; a row adds up to the change of the fitted log price where columns, penalties
        and weights were kept.
    """
    with one_thread():
        parts = (moves.X @ fitted.covariance_times(cars.toarray().T)) * moves.push[:, None]
    out = np.zeros((cars.shape[0], len(moves.kinds)))
    np.add.at(out.T, moves.of, parts)
    return out
