"""What moved between two models: effects, levels, a panel of cars, and the sales behind it."""

from __future__ import annotations

from collections.abc import Sequence

from valuation.appraisal.market import MarketModel
from valuation.errors import SettingsError
from valuation.records import Car
from valuation.results.change import ModelChange
from valuation.results.index import MarketIndex
from valuation.study.change_causes import moves_between
from valuation.study.change_effects import attribute_changes
from valuation.study.change_panel import car_changes, typical_panel
from valuation.study.index import market_index, revision
from valuation.study.segments import Segment, make_segments

__all__ = ["model_changes"]

REST = (
    "What the sales did is exact for kept columns, penalties and weights of the sales; the line "
    "“re-estimated” is what learning those and the calibration anew did beside it."
)

MONTHS = 24
"""Months of the levels that are compared."""


def model_changes(
    old: MarketModel,
    new: MarketModel,
    *,
    panel: Sequence[Car] = (),
    typical: int = 6,
    segments: Sequence[Segment] | None = None,
    levels: bool = True,
) -> ModelChange:
    """Say what moved between two models of one market, and why.

    Parameters
    ----------
    old, new : MarketModel
        The earlier and the later model.
    panel : sequence of Car
        Cars of the firm that are priced by both.
    typical : int
        Of how many model lines, those with most sales, the typical car is priced too.
    segments : sequence of Segment, optional
        Segments whose levels are compared; by make if not given.
    levels : bool
        Whether levels by segment are compared; False where an index stands beside it anyway.

    Returns
    -------
    ModelChange
        Effects attribute by attribute, levels by segment, the panel in money line by line, and
        the sales that moved each car.

    Raises
    ------
    SettingsError
        If the models are in different currencies, or only one of them is dated.
    """
    _check(old, new)
    found, moves = moves_between(old, new)
    cars = car_changes(
        old,
        new,
        moves,
        typical=typical_panel(new.frame, most=typical),
        named=panel,
        as_of=new.as_of if new.dated else None,
    )
    return ModelChange(
        old_as_of=old.as_of,
        new_as_of=new.as_of,
        currency=new.currency,
        old_sales=len(old.frame),
        new_sales=len(new.frame),
        came=len(found.came),
        went=len(found.went),
        corrected=len(found.corrected),
        attributes=attribute_changes(old, new),
        cars=cars,
        index=_levels(old, new, segments) if levels and new.dated else None,
        notes=(REST, *_notes(old, new)),
    )


def _check(old: MarketModel, new: MarketModel) -> None:
    if old.currency != new.currency:
        raise SettingsError(
            "the two models",
            "their amounts are in different currencies",
            got=f"{old.currency} and {new.currency}",
            remedy="Fit both in one currency",
        )
    if old.dated != new.dated:
        raise SettingsError(
            "the two models",
            "one of them is of an undated list",
            remedy="Compare models of dated sales, or of undated ones",
        )


def _levels(
    old: MarketModel, new: MarketModel, segments: Sequence[Segment] | None
) -> MarketIndex | None:
    """Return the levels of the later model with what they were by the earlier one."""
    chosen = make_segments(new.frame) if segments is None else tuple(segments)
    if not any(s.rows(new.frame).any() for s in chosen):
        return None
    index = market_index(new, segments=chosen, months=MONTHS, ahead=0)
    known = [s for s in chosen if s.rows(old.frame).any()]
    first, last = (old.frame["sale_date"].agg(f).strftime("%Y-%m") for f in ("min", "max"))
    if not known or not first <= index.base <= last:
        return index
    return revision(index, market_index(old, segments=known, base=index.base, ahead=12))


def _notes(old: MarketModel, new: MarketModel) -> tuple[str, ...]:
    said = []
    if old.estimand != new.estimand:
        said.append(
            f"The earlier model estimates the {old.estimand}, the later one the {new.estimand}: "
            "part of each step is that difference."
        )
    if old.as_of is not None and new.as_of is not None and old.as_of > new.as_of:
        said.append("The model called earlier here used later sales than the other.")
    return tuple(said)
