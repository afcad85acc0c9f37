"""From a market, a ledger and a car to the asking prices that can be tried for it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from valuation.appraisal.brief import Brief, brief_all
from valuation.appraisal.market import MarketModel
from valuation.appraisal.named_variant import with_named_variant
from valuation.bidding.costs import Costs
from valuation.errors import CarFileError, CostsError, SettingsError
from valuation.features.columns import key
from valuation.models.ranges import GRID
from valuation.records import Car
from valuation.results.ledger import StockCar
from valuation.results.said import Said
from valuation.results.stock_ask import StockAsk
from valuation.selling.own_stock import known_by
from valuation.selling.selling_sale import customers_sale
from valuation.stocking.asking import Asking, OnOffer
from valuation.stocking.asking_answer import Asked, answer
from valuation.stocking.asking_money import MoneyIn, money_elsewhere, money_in, paid_below
from valuation.stocking.chance import ChanceToSell, fit_chance
from valuation.stocking.kinds import kinds_of
from valuation.stocking.offered import offered_cars
from valuation.stocking.settings import StockSettings
from valuation.stocking.spells import spells_of
from valuation.study.segments import Segment

__all__ = ["KnownFirm", "ask_for", "asked_until", "auction_sale", "known_firm"]

Floats = NDArray[np.float64]

_HAMMER = "hammer price"

_RANKS = (np.arange(5) + 0.5) / 5
"""Equally likely places of a car's value in its range."""

_ENDS = (0.1, 0.9)


_LEAST_PERCENT, _MOST_PERCENT = 1, 99
"""A chance that is sure, or none, is no target."""


@dataclass(frozen=True)
class KnownFirm:
    """What is known of a firm on a day.

    Parameters
    ----------
    market : MarketModel
        Dated, in the currency of the costs.
    asking : Asking
        How fast its cars sell, and its money.
    chance : ChanceToSell
        The same chance to sell with what it rests on.
    segments : tuple of Segment
        Its kinds of cars.
    day : datetime.date
        The day.
    """

    market: MarketModel
    asking: Asking
    chance: ChanceToSell
    segments: tuple[Segment, ...]
    day: date


def known_firm(
    market: MarketModel,
    costs: Costs,
    settings: StockSettings,
    *,
    ledger: Sequence[StockCar] = (),
    said: Sequence[Said] = (),
    segments: Sequence[Segment] = (),
    as_of: date | None = None,
    seed: int = 0,
) -> KnownFirm:
    """Learn from a firm's ledger how fast its cars sell and what its money earns.

    Parameters
    ----------
    market : MarketModel
        Fitted and calibrated.
    costs : Costs
        Cost settings.
    settings : StockSettings
        Assumptions.
    ledger : sequence of StockCar
        Every car of the ledger; without any the assumptions speak alone.
    said : sequence of Said
        What was said of cars.
    segments : sequence of Segment
        Kinds of cars; each make is one by default.
    as_of : datetime.date, optional
        Day of the question; that of the model by default.
    seed : int
        Of the draws behind chances.

    Raises
    ------
    CostsError
        If costs and market are in different currencies.
    SettingsError
        If the market is undated.
    """
    if costs.currency != market.currency:
        raise CostsError(
            costs.where,
            f"the costs are in another currency than the market model, {market.currency}",
            got=costs.currency,
            remedy=f"State the costs in {market.currency}, or fit the sales in {costs.currency}",
        )
    day = as_of or market.as_of
    if market.as_of is None or day is None:
        raise SettingsError(
            "model",
            "a model without days can't tell how long cars stood at which price",
            remedy="Fit one on dated sales",
        )
    cars = offered_cars(market, ledger, segments=segments, said=said) if ledger else ()
    least, auction = settings.least_sales, settings.auction
    chance = fit_chance(spells_of(cars, currency=costs.currency, as_of=day), settings, seed=seed)
    asking = Asking(
        chance,
        costs,
        settings.asking,
        auction,
        paid_below(cars, costs, as_of=day, least=least),
        money_elsewhere(ledger, costs, auction, as_of=day, least=least),
    )
    return KnownFirm(market, asking, chance, tuple(segments), day)


def ask_for(
    firm: KnownFirm,
    car: Car,
    *,
    stock: StockCar | None = None,
    money: MoneyIn | None = None,
    target_days: int | None = None,
    target_percent: float | None = None,
) -> StockAsk:
    """Say what to ask for a car.

    Parameters
    ----------
    firm : KnownFirm
        From :func:`known_firm`.
    car : Car
        As its file describes it.
    stock : StockCar, optional
        What the ledger says of it.
    money : MoneyIn, optional
        Money in it, where no ledger says so.
    target_days : int, optional
        Days within which it has to be sold.
    target_percent : float, optional
        How likely it has to be sold by then, in per cent; as in the settings by default.  It
        counts with `target_days` alone.

    Returns
    -------
    StockAsk
        Each asking price with what follows from it, and the recommended one.

    Raises
    ------
    SettingsError
        If nothing says what money is in the car, or it is sold, or the target can't be one.
    CarFileError
        If the evidence can't carry an estimate of it.
    """
    _check_target(target_days, target_percent)
    put_in = _money_of(firm, stock, money)
    valued = _valued(firm, car, stock)
    offer = _offer(firm, valued, stock, put_in)
    asked = Asked(
        valued.car.name,
        stock.mark.stock if stock else "",
        valued.channel,
        valued.rooms,
        _ends(valued.brief),
        _stands(stock, firm.market.currency),
        target_days,
    )
    return answer(offer, _asking(firm, target_percent), firm.chance.report, asked)


def _check_target(days: int | None, percent: float | None) -> None:
    if percent is None:
        return
    if days is None:
        raise SettingsError(
            "least chance",
            "nothing says until when",
            got=f"{percent:g}%",
            remedy="Say within how many days, too",
        )
    if not _LEAST_PERCENT <= percent <= _MOST_PERCENT:
        raise SettingsError(
            "least chance",
            f"it has to be a number from {_LEAST_PERCENT} to {_MOST_PERCENT}",
            got=f"{percent:g}",
            remedy="Write it in per cent, such as 60",
        )


def _asking(firm: KnownFirm, target_percent: float | None) -> Asking:
    """Return the firm with another target than its settings have."""
    if target_percent is None:
        return firm.asking
    settings = replace(firm.asking.settings, target_percent=target_percent)
    return replace(firm.asking, settings=settings)


@dataclass(frozen=True)
class _Valued:
    """A car with what it brings from the yard and at auction; `rooms` is empty without one."""

    car: Car
    channel: str
    brief: Brief
    rooms: str
    hammer: Brief | None

    @property
    def log_hammer(self) -> Floats:
        """Log hammer prices at equally likely places."""
        if self.hammer is not None:
            return self.hammer.base + _at(self.hammer.offsets)
        # Without a sale at auction the low end of the range stands for one.
        low = self.brief.base + _quantile(self.brief, _ENDS[0])
        return np.full(len(_at(self.brief.offsets)), low)


def _valued(firm: KnownFirm, car: Car, stock: StockCar | None) -> _Valued:
    """Value a car with all that is known, what the firm paid for it too."""
    market = firm.market
    whole = with_named_variant(market, known_by(car, stock))
    sale, rooms = customers_sale(market, whole), auction_sale(market)
    return _Valued(
        whole,
        sale["channel"],
        _brief(market, whole, sale, firm.day),
        rooms["channel"] if rooms else "",
        _brief(market, whole, rooms, firm.day) if rooms else None,
    )


def _offer(firm: KnownFirm, valued: _Valued, stock: StockCar | None, money: MoneyIn) -> OnOffer:
    brief = valued.brief
    grade = valued.car.values.get("condition_grade")
    listed = stock.first_listed if stock is not None and stock.state == "listed" else None
    (kind,) = kinds_of([valued.car], firm.segments)
    return OnOffer(
        kind,
        float(grade) if isinstance(grade, float) else None,
        firm.day,
        max((firm.day - listed).days, 0) if listed else 0,
        max((firm.day - money.bought).days, 0) if money.bought else 0,
        brief.central,
        brief.base - brief.central + _at(brief.offsets),
        valued.log_hammer,
        money.paid,
        money.outlay,
        asked_until(stock, brief.central, firm.market.currency, firm.day) if listed else (),
    )


def _money_of(firm: KnownFirm, stock: StockCar | None, money: MoneyIn | None) -> MoneyIn:
    if stock is not None and not stock.in_stock:
        raise SettingsError(
            "stock number",
            "the car is sold",
            got=stock.mark.stock,
            remedy="Name a car that is in stock",
        )
    known = money or (money_in(stock, firm.asking.costs.currency) if stock else None)
    if known is None:
        raise SettingsError(
            "money in the car",
            "nothing says what was paid for it",
            got="nothing",
            remedy="Name the car of the ledger with --stock, or state --paid AMOUNT",
        )
    return known


def _brief(market: MarketModel, car: Car, sale: dict[str, str], day: date) -> Brief:
    (brief,) = brief_all(market, [car], sale=sale, as_of=day)
    if not isinstance(brief, Brief):
        raise CarFileError(car.name, brief.reason.rstrip("."), remedy="State it in the car file")
    if brief.outside:
        raise CarFileError(
            car.name,
            "the evidence is too thin to ask a price by: " + " ".join(brief.outside).rstrip("."),
            remedy="Ask by your own judgement, or add sales of such cars to the evidence",
        )
    return brief


def auction_sale(market: MarketModel) -> dict[str, str] | None:
    """Return a sale by the hammer in the commonest auction channel; None if there is none."""
    names = market.frame["channel"].dropna()
    counts = Counter(str(name) for name in names if "auction" in key(name))
    if not counts:
        return None
    channel = max(sorted(counts), key=counts.__getitem__)
    return market.sale_of({"channel": channel, "basis": _HAMMER})


def _at(offsets: Floats) -> Floats:
    """Return offsets at equally likely places, nothing but 0 without a range."""
    return np.interp(_RANKS, GRID, offsets) if len(offsets) else np.zeros(1)


def _quantile(brief: Brief, share: float) -> float:
    return float(np.interp(share, GRID, brief.offsets)) if len(brief.offsets) else 0.0


def _ends(brief: Brief) -> tuple[int, int] | None:
    if not len(brief.offsets):
        return None
    low, high = (round(float(np.exp(brief.base + _quantile(brief, s)))) for s in _ENDS)
    return low, high


def _stands(stock: StockCar | None, currency: str) -> int | None:
    """Return the asking price that stands."""
    asks = stock.asking_prices if stock is not None and stock.state == "listed" else ()
    if not asks or asks[-1].amount is None or asks[-1].currency != currency:
        return None
    return round(asks[-1].amount)


def asked_until(
    stock: StockCar | None, log_value: float, currency: str, day: date
) -> tuple[tuple[int, float], ...]:
    """Return for how many days which price was asked, as a log over the estimate."""
    asks = [
        (e.on, float(np.log(float(e.amount))) - log_value)
        for e in (stock.asking_prices if stock else ())
        if e.on and e.amount and e.on <= day and e.currency == currency
    ]
    ends = [*asks, (day, 0.0)]
    spans = ((later - on, ask) for (on, ask), (later, _) in pairwise(ends))
    return tuple((days.days, ask) for days, ask in spans if days > timedelta())
