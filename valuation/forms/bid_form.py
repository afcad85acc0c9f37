"""A form in which a buyer moves what is asked of a purchase and sees the bid follow."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import ipywidgets

from valuation.appraisal.market import MarketModel
from valuation.bidding.costs import Costs
from valuation.bidding.from_market import Candidate, market_prospects
from valuation.bidding.sheet import bid_sheet
from valuation.bidding.ways import way_for, way_named
from valuation.forms.asked import Asked, applied_to_costs, applied_to_work, usual_work
from valuation.forms.bid_view import bid_html
from valuation.forms.scales import money_scale, whole
from valuation.forms.widgets import (
    WIDTH_OF_WORDS,
    amount_slider,
    choice,
    hint,
    per_cent_slider,
    with_unit,
)
from valuation.inspection.settings import InspectionSettings
from valuation.records import Car
from valuation.results.bid_sheet import BidSheet

__all__ = ["BidForm", "bid_form"]

MARGIN_SHARE = Decimal("0.4")
"""Up to which share of the resale a target margin can be moved."""

WORK_SHARE = Decimal("0.3")
"""Up to which share of the resale the work on the car can be moved."""

HINT = (
    "Arrow keys move a slider by one step, Page Up and Page Down by five; the number beside it can "
    "be written over. What the work costs changes here, not what it restores."
)


class BidForm:
    """Sliders for what is asked, and the bid that follows; made by :func:`bid_form`.

    The resale is worked out once; each move works out the bid anew.  A slider that stands where
    the cost settings put it leaves them as they are, to the cent.

    Parameters
    ----------
    candidate : Candidate
        The car, what it may bring, and what has to be done to it.
    costs : Costs
        The firm's settings.
    way : str
        Name of the way of buying that is chosen first.
    as_of : datetime.date or None
        Day of the bid.

    Attributes
    ----------
    margin, work : ipywidgets.IntSlider
        Target margin, and what all work on the car costs, in the resale's currency.
    loss_probability : ipywidgets.FloatSlider
        Largest accepted probability of losing money, in per cent.
    way : ipywidgets.Dropdown
        Way of buying.
    box : ipywidgets.VBox
        All of it.
    """

    def __init__(
        self, candidate: Candidate, costs: Costs, *, way: str, as_of: date | None = None
    ) -> None:
        self._candidate, self._costs, self._as_of = candidate, costs, as_of
        self._usual: dict[str, BidSheet] = {}
        self._held = False
        usual = self._usual_of(way)
        resale = usual.resale.mean if usual.resale else Decimal(0)
        self._work = usual_work(costs, candidate.preparation)
        self._risk = float(round(100 * costs.target.loss_probability, 6))
        self.margin = amount_slider(
            "Target margin", money_scale(usual.target_margin, MARGIN_SHARE * resale)
        )
        self.loss_probability = per_cent_slider("Largest risk of loss", self._risk)
        self.work = amount_slider("Work on the car", money_scale(self._work, WORK_SHARE * resale))
        self.way = choice("Way of buying", list(costs.ways), way)
        self._shown = ipywidgets.HTML()
        self._sheet = usual
        self.box = self._boxed()
        self._show()

    @property
    def asked(self) -> Asked:
        """What is asked as the sliders stand."""
        margin, work = Decimal(self.margin.value), Decimal(self.work.value)
        risk = Decimal(str(self.loss_probability.value)) / 100
        target = self._usual_of(self.way.value).target_margin
        return Asked(
            None if margin == whole(target) else margin,
            None if self.loss_probability.value == self._risk else risk,
            None if work == whole(self._work) else work,
        )

    @property
    def sheet(self) -> BidSheet:
        """The whole bid sheet as the sliders stand, with what moves the bid."""
        return self._worked_out(self.way.value, self.asked, moves=True)

    def reset(self, *_: Any) -> None:
        """Put every slider back to where the cost settings have it."""
        self._held = True
        self.margin.value = whole(self._usual_of(self.way.value).target_margin)
        self.loss_probability.value = self._risk
        self.work.value = whole(self._work)
        self._held = False
        self._show()

    def __repr__(self) -> str:
        return self._sheet.summary()

    def _repr_mimebundle_(self, **options: Any) -> dict[str, Any]:
        """Return the form, and the bid as it stands for whoever shows no forms."""
        bundle: dict[str, Any] = self.box._repr_mimebundle_(**options)
        return {**bundle, "text/plain": repr(self), "text/html": self._shown.value}

    def _usual_of(self, way: str) -> BidSheet:
        """Return the sheet of a way of buying with the cost settings as they stand."""
        if way not in self._usual:
            self._usual[way] = self._worked_out(way, Asked())
        return self._usual[way]

    def _worked_out(self, way: str, asked: Asked, *, moves: bool = False) -> BidSheet:
        costs = applied_to_costs(self._costs, asked)
        return bid_sheet(
            self._candidate.prospect,
            car=self._candidate.car.name,
            way=way_named(costs, way),
            costs=costs,
            as_of=self._as_of,
            preparation=applied_to_work(self._candidate.preparation, asked),
            moves=moves,
        )

    def _boxed(self) -> ipywidgets.VBox:
        """Return all widgets in one box, watched."""
        money = self._costs.currency
        sliders = {self.margin: money, self.loss_probability: "%", self.work: money}
        back = ipywidgets.Button(description="Back to the cost settings", layout=WIDTH_OF_WORDS)
        back.on_click(self.reset)
        for widget in (*sliders, self.way):
            widget.disabled = self._sheet.resale is None
            widget.observe(self._moved, "value")
        rows = [with_unit(widget, unit) for widget, unit in sliders.items()]
        return ipywidgets.VBox([*rows, self.way, back, hint(HINT), self._shown])

    def _moved(self, change: Any) -> None:
        if self._held:
            return
        if change.owner is self.way:
            self._follow(change.old)
        self._show()

    def _follow(self, before: str) -> None:
        """Keep a margin that was not moved where the settings have it for the way chosen now.

        A margin that is a share of the resale depends on the way of buying: where nobody bids
        against the firm, the resale is not corrected for winning.
        """
        if self.margin.value != whole(self._usual_of(before).target_margin):
            return
        target = whole(self._usual_of(self.way.value).target_margin)
        self._held = True
        self.margin.max = max(self.margin.max, target)
        self.margin.value = target
        self._held = False

    def _show(self) -> None:
        way, asked = self.way.value, self.asked
        usual = self._usual_of(way)
        self._sheet = usual if asked == Asked() else self._worked_out(way, asked)
        self._shown.value = bid_html(self._sheet, usual, asked)


def bid_form(
    market: MarketModel,
    car: Car,
    costs: Costs,
    *,
    as_of: date | None = None,
    way: str | None = None,
    inspection: InspectionSettings | None = None,
) -> BidForm:
    """Return a form in which a buyer moves what is asked of a car and sees the bid follow.

    Parameters
    ----------
    market : MarketModel
        Fitted and calibrated.
    car : Car
        As it stands; the resale is that of the car after the work it lists.
    costs : Costs
        The firm's settings, in the currency of the market.
    as_of : datetime.date, optional
        Day of the bid; the day of the model by default.
    way : str, optional
        Name of a way of buying; the one that fits the car by default.
    inspection : InspectionSettings, optional
        What zone marks count; those that come with the package without it.

    Returns
    -------
    BidForm
        The last expression of a cell shows it.

    Raises
    ------
    CostsError
        If costs and market have different currencies, or the costs know no such way of buying.
    """
    chosen = way_named(costs, way) if way else way_for(costs, car)
    (candidate,) = market_prospects(market, [car], costs, as_of=as_of, inspection=inspection)
    return BidForm(candidate, costs, way=chosen.name, as_of=as_of or market.as_of)
