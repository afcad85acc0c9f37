"""What each attribute does to a price by two models, on the same sales."""

from __future__ import annotations

import numpy as np

from valuation.appraisal.market import MarketModel
from valuation.appraisal.wordings import label_of
from valuation.results.change import AttributeChange
from valuation.study.contrasts import (
    AttributeContrast,
    attribute_contrasts,
    contrast_effects,
    sample_of,
)

__all__ = ["attribute_changes"]

_Z90 = 1.6448536269514722


def attribute_changes(old: MarketModel, new: MarketModel) -> tuple[AttributeChange, ...]:
    """Compare the effects of all attributes by two models.

    Each contrast is the mean over one sample of the later model's sales, spread evenly over time:
    all of them stated one way against all of them stated the other way.  So effects that depend
    on make, era or model line are averaged over the same cars by both models.

    Parameters
    ----------
    old, new : MarketModel
        Models of one market.

    Returns
    -------
    tuple of AttributeChange
        Those that moved beyond an interval first, then by the size of the step.
    """
    sample = sample_of(new.frame)
    contrasts = list(attribute_contrasts(old.frame, new.frame))
    if not contrasts:
        return ()
    before, after = (contrast_effects(m, sample, contrasts) for m in (old, new))
    made = [
        _change(c, b if c.known else None, a)
        for c, b, a in zip(contrasts, before, after, strict=True)
    ]
    return tuple(sorted(made, key=lambda a: (not a.moved, -abs(a.step), a.label, a.contrast)))


def _change(
    c: AttributeContrast, old: tuple[float, float] | None, new: tuple[float, float]
) -> AttributeChange:
    before = (None, None, None) if old is None else _percent(old)
    after = _percent(new)
    return AttributeChange(
        attribute=c.attribute,
        label=label_of(c.attribute),
        contrast=c.words,
        old=before[0],
        old_low=before[1],
        old_high=before[2],
        new=after[0],
        new_low=after[1],
        new_high=after[2],
        sales=c.sales,
    )


def _percent(effect: tuple[float, float]) -> tuple[float, float, float]:
    """Return an effect and its 90 % interval in per cent."""
    middle, sd = effect
    low, high = middle - _Z90 * sd, middle + _Z90 * sd
    at, lower, upper = (100.0 * float(np.expm1(v)) for v in (middle, low, high))
    return at, lower, upper
