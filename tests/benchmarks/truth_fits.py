"""The fit under test, and the fit of the same columns with the true variance components held."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from truth_components import TrueComponents, held_spec, true_components
from truth_markets import Trial

from valuation.appraisal.fitting import Fitted, fit_market_data
from valuation.appraisal.settings import ModelSettings
from valuation.features.assumptions import default_assumptions
from valuation.features.direction import hold_direction
from valuation.features.learn import learn_spec
from valuation.features.table import FeatureTable
from valuation.features.terms import FeatureSpec
from valuation.models.hedonic import HedonicRegressor

__all__ = ["TrueFit", "fit_as_shipped", "fit_with_truth"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class TrueFit:
    """A fit with the true variance components held.

    Attributes
    ----------
    spec : FeatureSpec
        Its columns.
    coef : ndarray, shape (n_columns,)
        Coefficients.
    sigma : float
        Scale of the noise that it finds.
    components : TrueComponents
        What was held.
    """

    spec: FeatureSpec
    coef: Floats
    sigma: float
    components: TrueComponents

    def predict(self, table: FeatureTable) -> Floats:
        """Return the fitted log price of some cars."""
        return np.asarray(self.spec.transform(table.to_come()).X @ self.coef)


def fit_as_shipped(trial: Trial) -> Fitted:
    """Fit a market with the settings and assumptions of the package."""
    return fit_market_data(
        trial.data.take(trial.train), settings=ModelSettings(), assumptions=default_assumptions()
    )


def fit_with_truth(trial: Trial, fitted: Fitted) -> TrueFit:
    """Fit the same columns with the true variance components held.

    Parameters
    ----------
    trial : Trial
        Market with its truth.
    fitted : Fitted
        The fit under test.

    Returns
    -------
    TrueFit
        Same noise model, same assumptions, same certain directions.
    """
    settings, data = ModelSettings(), trial.data.take(trial.train)
    spec = learn_spec(data.table, settings=settings.features, assumptions=default_assumptions())
    components = true_components(trial, spec, data.table, fitted)
    spec = held_spec(spec, components)
    for left in range(7, -1, -1):
        model = HedonicRegressor(spec.layout(), robust_df=settings.robust_df)
        model.fit(spec.transform(data.table).X, data.log_price)
        if not settings.monotone or not left:
            break
        tighter, said = hold_direction(spec, model.coef_, data.table)
        if not said:
            break
        spec = tighter
    return TrueFit(spec, model.coef_, model.sigma_, components)
