"""What is looked at each month beside the decision itself."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pandas as pd

from valuation.appraisal.market import MarketModel
from valuation.appraisal.named_variant import with_named_variant
from valuation.errors import TooFewSalesError
from valuation.evidence.opening import reading
from valuation.evidence.pairs import PairSettings, find_pairs
from valuation.evidence.stock_known import stock_known
from valuation.evidence.workspace import Workspace
from valuation.importing.car_file import read_car
from valuation.refresh.candidate import Candidate
from valuation.refresh.settings import MonthSettings
from valuation.refresh.stock_settings import stock_settings
from valuation.results.chance_check import ChanceCheck
from valuation.results.change import ModelChange
from valuation.results.coverage import CoverageReport
from valuation.results.index import MarketIndex
from valuation.results.look import LookList
from valuation.results.ratio_strata import RatioReport
from valuation.results.realised import Realised
from valuation.stocking.chance_check import check_chances
from valuation.stocking.offered import offered_cars
from valuation.store.published import Published
from valuation.study.change import model_changes
from valuation.study.coverage import study_coverage
from valuation.study.index import market_index, revision
from valuation.study.index_counts import ledger_days
from valuation.study.look import sales_to_look_at
from valuation.study.ratio_strata import study_ratios
from valuation.study.realised import realised_study
from valuation.study.segments import segments_of

__all__ = ["Found", "pair_settings", "studies"]


@dataclass(frozen=True)
class Found:
    """What the studies of a month found.

    Parameters
    ----------
    ratios : RatioReport or None
        Of the forward forecasts; None if there are too few.
    coverage : CoverageReport or None
        How often their ranges held.
    index : MarketIndex or None
        The market by segment; None if no segment has a sale.
    look : LookList
        Sales to look at.
    change : ModelChange or None
        What moved since the model in use; None for a first model.
    realised : Realised or None
        What was said against what came; None if nothing was said.
    chances : ChanceCheck or None
        Chances of a sale against the sales that came; None if no car of the ledger was on offer.
    notes : tuple of str
        What could not be done, in sentences.
    """

    ratios: RatioReport | None
    coverage: CoverageReport | None
    index: MarketIndex | None
    look: LookList
    change: ModelChange | None
    realised: Realised | None
    chances: ChanceCheck | None = None
    notes: tuple[str, ...] = ()

    @property
    def panel(self) -> tuple[float, ...]:
        """Log change of each car of the panel."""
        cars = self.change.cars if self.change else ()
        return tuple(math.log(car.new / car.old) for car in cars)


def studies(
    workspace: Workspace,
    settings: MonthSettings,
    candidate: Candidate,
    in_use: MarketModel | None,
    version: Published | None,
    forecasts: pd.DataFrame | None,
) -> Found:
    """Make the studies of a month.

    Parameters
    ----------
    workspace : Workspace
        The evidence, for what was said.
    settings : MonthSettings
        Segments, panel, seed.
    candidate : Candidate
        The candidate.
    in_use : MarketModel or None
        The model in use.
    version : Published or None
        Its version.
    forecasts : pandas.DataFrame or None
        Forward forecasts of the candidate.
    """
    notes: list[str] = []
    currency = candidate.market.currency
    ratios, coverage = None, None
    try:
        if forecasts is not None:
            coverage = study_coverage(forecasts, currency=currency)
            ratios = study_ratios(forecasts, seed=settings.seed, currency=candidate.market.currency)
    except TooFewSalesError as error:
        notes.append(error.sentence())
    index = _index(workspace, settings, candidate.market, in_use, version, notes)
    market = candidate.market
    return Found(
        ratios,
        coverage,
        index,
        sales_to_look_at(market),
        None if in_use is None else _change(settings, market, in_use),
        _realised(workspace, settings, market),
        _chances(workspace, settings, market),
        tuple(notes),
    )


def _change(settings: MonthSettings, market: MarketModel, in_use: MarketModel) -> ModelChange:
    cars = [
        with_named_variant(market, read_car(path, known_makes=market.makes))
        for path in settings.panel_cars
    ]
    return model_changes(in_use, market, panel=cars, typical=settings.panel_lines, levels=False)


def pair_settings(settings: MonthSettings) -> PairSettings:
    """Return how long after what was said a sale counts."""
    return PairSettings(settings.within_days, settings.lot_days)


def _realised(
    workspace: Workspace, settings: MonthSettings, market: MarketModel
) -> Realised | None:
    if market.as_of is None:
        return None
    with reading(workspace) as con:
        found = find_pairs(con, as_of=market.as_of, settings=pair_settings(settings))
    if not found.said:
        return None
    return realised_study(
        found.pairs,
        as_of=market.as_of,
        said=found.said,
        waiting=found.waiting,
        seed=settings.seed,
    )


def _chances(
    workspace: Workspace, settings: MonthSettings, market: MarketModel
) -> ChanceCheck | None:
    """Return how chances of a sale did in the months that are forecast forward."""
    if market.as_of is None:
        return None
    ledger, said = stock_known(workspace, market.as_of)
    if not ledger.cars:
        return None
    check = check_chances(
        offered_cars(
            market,
            ledger.cars,
            segments=segments_of(settings.segments) if settings.segments else (),
            said=said,
        ),
        stock_settings(None, workspace),
        currency=market.currency,
        as_of=market.as_of,
        months=settings.months,
        seed=settings.seed,
    )
    return check if check.overall else None


def _days(workspace: Workspace, market: MarketModel) -> dict[str, float] | None:
    """Return how long the firm's own cars stood, by their sales."""
    if market.as_of is None:
        return None
    ledger, _ = stock_known(workspace, market.as_of)
    return ledger_days(market.frame, market.currency, ledger.cars)


def _index(
    workspace: Workspace,
    settings: MonthSettings,
    market: MarketModel,
    in_use: MarketModel | None,
    version: Published | None,
    notes: list[str],
) -> MarketIndex | None:
    """Return the index on the base it was first made with, and how it was revised."""
    segments = segments_of(settings.segments) if settings.segments else None
    before = (version.read("study.json").get("index") or {}) if version else {}
    base = before.get("base")
    try:
        made = market_index(
            market, segments=segments, base=base, days_to_sell=_days(workspace, market)
        )
        if in_use is None or base is None:
            return made
        return revision(made, market_index(in_use, segments=segments, base=base))
    except TooFewSalesError as error:
        notes.append(error.sentence())
        return None
