"""The answer to what to ask: every price tried in whole units, with bands and what to mind."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from valuation.results.stock_ask import AskPoint, Band, StockAsk
from valuation.results.stock_chance import ChanceReport, DaysToSell, SaleChance
from valuation.results.words import PAID_COUNTS
from valuation.stocking.asking import Asking, OnOffer, Tried, left_of_auction, try_asks
from valuation.stocking.asking_choice import Choice, beyond_elsewhere, choose
from valuation.stocking.asking_money import PaidBelow, holding_a_day

__all__ = ["Asked", "answer"]

Floats = NDArray[np.float64]

_BAND = (0.1, 0.9)


@dataclass(frozen=True, slots=True)
class Asked:
    """What the answer says of the car beside the arithmetic.

    Parameters
    ----------
    car, stock : str
        Name, and number in the ledger.
    channel, auction_channel : str
        Of the estimate, and of an auction; the latter is empty if the evidence has none.
    spread : tuple of (int, int) or None
        Ends of the 80 % range of the estimate.
    asked_now : int or None
        Asking price that stands.
    target_days : int or None
        Days within which the car has to be sold.
    """

    car: str
    stock: str
    channel: str
    auction_channel: str
    spread: tuple[int, int] | None
    asked_now: int | None
    target_days: int | None


def answer(car: OnOffer, firm: Asking, report: ChanceReport, asked: Asked) -> StockAsk:
    """Say what to ask for a car.

    Parameters
    ----------
    car : OnOffer
        The car.
    firm : Asking
        The firm.
    report : ChanceReport
        What the chance to sell rests on.
    asked : Asked
        What else is said of the car.

    Returns
    -------
    StockAsk
        Means at the estimate.  Bands hold the draws of the chance to sell, each of them at every
        place where the value may lie in its range.
    """
    days = asked.target_days or firm.settings.target_days
    tried = try_asks(car, firm, target_days=days)
    around = [try_asks(car, firm, target_days=days, off=i) for i in range(len(car.log_off))]
    percent = firm.settings.target_percent if asked.target_days else None
    target = percent / 100 if percent else None
    choice = choose(tried, car.outlay, firm.elsewhere, target=target)
    a_day, now = holding_a_day(firm.costs, car.outlay), car.days_held + firm.auction.days
    by_rank = [left_of_auction(car, firm, car.log_hammer[i : i + 1]) for i in range(len(around))]
    return StockAsk(
        asked.car,
        asked.stock,
        firm.costs.currency,
        car.day,
        car.kind,
        asked.channel,
        round(math.exp(car.log_value)),
        asked.spread,
        days,
        percent,
        firm.horizon(car),
        _points(car, firm, tried, around),
        choice.recommended,
        choice.quicker,
        choice.patient,
        choice.best_net,
        choice.best_a_day,
        choice.without_target,
        asked.auction_channel,
        _band(tried.auction / 100, np.array(by_rank) / 100),
        (tried.auction - car.outlay - a_day * now) / 100,
        round(car.outlay / 100),
        car.days_held,
        a_day / 100,
        asked.asked_now,
        report.basis,
        report.own,
        firm.elsewhere,
        tuple(_notes(car, firm, tried, choice, asked)),
    )


def _points(
    car: OnOffer, firm: Asking, tried: Tried, around: Sequence[Tried]
) -> tuple[AskPoint, ...]:
    beyond = beyond_elsewhere(tried, car.outlay, firm.elsewhere)
    horizon = firm.horizon(car)
    chances, days, nets, tied = (
        np.concatenate([getattr(t, name) for t in around])
        for name in ("chance", "days", "net", "tied")
    )
    rates = 1000 * nets / (car.outlay * tied)
    out = []
    for i, ask in enumerate(tried.asks):
        net, kept = float(tried.net[:, i].mean()), float(tried.tied[:, i].mean())
        chance = _band(float(tried.chance[:, i].mean()), chances[:, i])
        offered = _band(float(tried.days[:, i].mean()), days[:, i])
        out.append(
            AskPoint(
                int(ask) // 100,
                100 * (float(ask) / 100 / math.exp(car.log_value) - 1),
                SaleChance(chance.value, chance.lower, chance.upper),
                DaysToSell(offered.value, offered.lower, offered.upper, horizon),
                round(int(tried.received[i]) / 100),
                _band(net / 100, nets[:, i] / 100),
                _band(1000 * net / (car.outlay * kept), rates[:, i]),
                round(float(beyond[i]) / 100),
            )
        )
    return tuple(out)


def _band(value: float, drawn: Floats) -> Band:
    low, high = np.quantile(drawn, _BAND)
    return Band(value, min(float(low), value), max(float(high), value))


def _notes(car: OnOffer, firm: Asking, tried: Tried, choice: Choice, asked: Asked) -> Iterator[str]:
    """Yield what to mind."""
    s = firm.settings
    if not choice.reached:
        yield (
            f"No price tried is sold within {asked.target_days} days with a chance of "
            f"{s.target_percent:.0f}%: the lowest one stands here. Think of another way out."
        )
    elif choice.recommended in (0, len(tried.asks) - 1):
        end = "lowest" if choice.recommended == 0 else "highest"
        yield f"The recommended price is the {end} that was tried: a better one may lie beyond."
    nets = tried.net.mean(axis=0)
    if nets.max() < 0:
        yield "The car is expected to lose money at every price tried."
    elif nets[choice.recommended] < 0:
        yield (
            "At the recommended price the car is expected to lose money: the days that a better "
            "net takes are worth more elsewhere, or the target leaves no dearer price."
        )
    yield _below_words(firm.below)
    if not firm.costs.holding.finance:
        yield (
            "The cost settings state no stock finance, so the cost of capital is not known: "
            "waiting looks cheaper here than it may be. State finance_percent under [holding]."
        )
    if asked.stock:
        yield PAID_COUNTS
    if asked.spread is None:
        yield "The estimate has no range: bands hold the doubt about the chance alone."
    if not asked.auction_channel:
        yield (
            "The evidence has no sale at auction: the low end of the range stands for what an "
            "auction brings."
        )
    yield (
        f"What is not sold within {firm.horizon(car)} more days is taken to go to auction. All "
        "amounts are at the market's level of the day, and the price is taken to stand unchanged."
    )


def _below_words(below: PaidBelow) -> str:
    if below.sales:
        return (
            f"Customers paid {100 * below.at_estimate:.1f}% less than asked for cars asked at "
            f"their estimate, and {100 * below.of_excess:.0f}% of what was asked beyond it less "
            f"again ({below.sales} own sales, weighed with the cost settings)."
        )
    if below.at_estimate:
        return f"Customers pay {100 * below.at_estimate:g}% less than asked, by the cost settings."
    return (
        "Customers are taken to pay what is asked: state below_asking_percent in the cost settings "
        "if they beat prices down."
    )
