"""Hand-made answers to what to ask for a car."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

from valuation.results.stock_ask import AskPoint, Band, MoneyElsewhere, StockAsk
from valuation.results.stock_chance import DaysToSell, SaleChance

ESTIMATE = 52_000
OUTLAY = 41_300


def point(percent: int) -> AskPoint:
    """Return a price so many per cent over the estimate: the dearer, the slower and the more."""
    chance = 0.8 * math.exp(-percent / 18)
    days = 60 + 6.5 * max(percent, 0)
    ask = round(ESTIMATE * (1 + percent / 100), -2)
    net = ask * 0.95 - OUTLAY - 14 * days
    return AskPoint(
        int(ask),
        float(percent),
        SaleChance(min(chance, 0.95), 0.6 * min(chance, 0.95), min(1.3 * chance, 0.99)),
        DaysToSell(days, 0.6 * days, 1.5 * days, 365),
        int(ask * 0.96),
        Band(net, net - 2_600, net + 1_900),
        Band(1000 * net / OUTLAY / (days + 90), 0.1, 2.4),
        int(net - 0.0006 * OUTLAY * days),
    )


def answer() -> StockAsk:
    """Return an answer with a target, six prices of its own, and bands."""
    return StockAsk(
        car="1968 Torvane GT <b>Coupe</b>",
        stock="H-7",
        currency="EUR",
        as_of=date(2025, 1, 15),
        kind="grand tourers & co",
        channel="dealer",
        estimate=ESTIMATE,
        spread=(41_200, 66_900),
        target_days=90,
        target_percent=50.0,
        horizon_days=365,
        points=tuple(point(p) for p in range(-8, 33, 4)),
        recommended=4,
        quicker=2,
        patient=7,
        best_net=8,
        best_a_day=3,
        without_target=6,
        auction_channel="live auction",
        auction=Band(43_100.0, 35_000.0, 52_400.0),
        auction_now=1_250.0,
        outlay=OUTLAY,
        days_held=112,
        holding_a_day=14.25,
        asked_now=59_900,
        basis="64 own sales and the starting assumption",
        own=True,
        elsewhere=MoneyElsewhere(0.0006, 67),
        notes=("Customers pay 4% less than asked, by the cost settings.",),
    )


def assumed() -> StockAsk:
    """Return an answer that rests on assumptions alone, of a car without a range or a target."""
    return replace(
        answer(),
        stock="",
        spread=None,
        target_percent=None,
        auction_channel="",
        asked_now=None,
        basis="starting assumption alone: no own sale, 20 are needed",
        own=False,
        elsewhere=MoneyElsewhere(None, 0),
    )
