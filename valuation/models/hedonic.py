"""The hedonic regression as an estimator."""

from __future__ import annotations

from typing import Any, Self

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from sklearn.base import BaseEstimator, RegressorMixin
from sklearn.utils.validation import _check_sample_weight, check_is_fitted, validate_data

from valuation.models.arrow import ArrowFactors, ArrowSystem
from valuation.models.layout import Layout, plain_layout
from valuation.models.posterior import Posterior
from valuation.models.reml import Recipe, fit_penalised
from valuation.running.threads import one_thread

__all__ = ["HedonicRegressor"]

Floats = NDArray[np.float64]


class HedonicRegressor(RegressorMixin, BaseEstimator):  # type: ignore[misc]
    """Penalised, partially pooled, robust regression of a log price.

    Weighted penalised least squares with one penalty a block, estimated by REML, Student t
    weights, and effects that may shrink towards stated assumptions.  Columns tied to one group
    are eliminated exactly (see :mod:`valuation.models.arrow`).

    Parameters
    ----------
    layout : Layout, optional
        Blocks of the columns of `X`.  Without it all columns form one estimated block beside an
        unpenalised intercept.
    robust_df : float or None
        Degrees of freedom of the Student t noise; None for normal noise.
    penalties : ndarray or None
        Penalty of each block to start from, or to keep.
    keep_penalties : bool
        Keep `penalties` rather than estimate them.
    max_iter : int
        Largest number of solves.
    tol : float
        Stop when no block's effective degrees of freedom move by ``tol * sqrt(edf)``.
    weights : ndarray or None
        Weights of the rows to start from, as an earlier fit left them.
    scale : float or None
        Scale of the noise to start from.

    Attributes
    ----------
    coef_ : ndarray, shape (n_columns,)
        Coefficients in the order of the layout (with an intercept first if `layout` is None).
    penalties_, edf_ : ndarray, shape (n_blocks,)
        Penalty and effective degrees of freedom of each block.
    sigma_ : float
        Scale of the noise.
    weights_ : ndarray, shape (n,)
        Final weights, frequency times the weight of the noise.
    residuals_, leverage_ : ndarray, shape (n,)
        In-sample residuals, and the diagonal of the hat matrix.
    posterior_ : Posterior
        Covariance of the coefficients without the noise variance.
    groups_ : ndarray of int, shape (n,)
        Group of each row, -1 for none.
    n_iter_ : int
        Number of solves.
    """

    def __init__(
        self,
        layout: Layout | None = None,
        *,
        robust_df: float | None = 4.0,
        penalties: Floats | None = None,
        keep_penalties: bool = False,
        max_iter: int = 60,
        tol: float = 0.025,
        weights: Floats | None = None,
        scale: float | None = None,
    ) -> None:
        self.layout = layout
        self.robust_df = robust_df
        self.penalties = penalties
        self.keep_penalties = keep_penalties
        self.max_iter = max_iter
        self.tol = tol
        self.weights = weights
        self.scale = scale

    def __sklearn_tags__(self) -> Any:
        """Say that sparse matrices are welcome."""
        tags = super().__sklearn_tags__()
        tags.input_tags.sparse = True
        return tags

    def fit(self, X: Any, y: Any, sample_weight: Any = None, bound: Any = None) -> Self:
        """Fit the regression.

        Parameters
        ----------
        X : array or sparse matrix, shape (n, n_features)
            Design.
        y : array, shape (n,)
            Log prices.
        sample_weight : array, shape (n,), optional
            Frequency of each row.
        bound : array of bool, shape (n,), optional
            True where `y` is only a lower bound of the price (a highest bid below the reserve).

        Returns
        -------
        HedonicRegressor
            Itself, fitted.
        """
        X, y = validate_data(
            self, X, y, accept_sparse="csr", dtype=np.float64, y_numeric=True, ensure_min_samples=2
        )
        freq = _check_sample_weight(sample_weight, X, dtype=np.float64)
        if bound is not None:
            bound = np.asarray(bound, dtype=bool)
        keep = freq > 0
        if not keep.all():
            X, y, freq = X[keep], y[keep], freq[keep]
            bound = None if bound is None else bound[keep]
        design, layout = self._design(X)
        recipe = Recipe(
            self.robust_df,
            self.penalties,
            self.keep_penalties,
            self.max_iter,
            self.tol,
            None if self.weights is None else self.weights[keep],
            self.scale,
        )
        groups = layout.groups(design)
        with one_thread():
            system = ArrowSystem(design, layout.owner, groups)
            done = fit_penalised(
                system, design, np.asarray(y, float), layout, recipe, freq=freq, bound=bound
            )
        self._held: tuple[ArrowSystem, ArrowFactors] | None = (system, done.factors)
        self.layout_ = layout
        self.groups_ = groups
        self.coef_ = done.coef
        self.penalties_ = done.penalties
        self.edf_ = done.edf
        self.sigma_ = float(np.sqrt(done.sigma2))
        self.weights_ = done.weights
        self.residuals_ = done.residuals
        self.n_iter_ = done.iterations
        return self

    @property
    def leverage_(self) -> Floats:
        """Diagonal of the hat matrix, shape (n,)."""
        self._infer()
        return self._leverage

    @property
    def posterior_(self) -> Posterior:
        """Covariance of the coefficients without the noise variance."""
        self._infer()
        return self._posterior

    def _infer(self) -> None:
        """Work out leverages and the posterior when they are first asked for.

        They cost as much as several solves, and a fit that is only a step to another needs none.
        """
        check_is_fitted(self)
        if self._held is None:
            return
        system, factors = self._held
        with one_thread():
            self._leverage = system.leverage(factors, self.weights_)
            self._posterior = system.posterior(factors)
        self._held = None

    def _design(self, X: Any) -> tuple[Any, Layout]:
        X = sparse.csr_array(X)
        if self.layout is not None:
            if X.shape[1] != len(self.layout.block):
                raise ValueError(
                    f"HedonicRegressor: the layout doesn't fit X (got: {X.shape[1]} columns, "
                    f"layout has {len(self.layout.block)}). Build both from one feature table."
                )
            return X, self.layout
        ones = sparse.csr_array(np.ones((X.shape[0], 1)))
        return sparse.hstack([ones, X]).tocsr(), plain_layout(X.shape[1])

    def predict(self, X: Any) -> Floats:
        """Return the fitted log price of each row, shape (n,)."""
        check_is_fitted(self)
        X = validate_data(self, X, accept_sparse="csr", dtype=np.float64, reset=False)
        if self.layout is None:
            return np.asarray(X @ self.coef_[1:] + self.coef_[0], dtype=np.float64)
        return np.asarray(X @ self.coef_, dtype=np.float64)
