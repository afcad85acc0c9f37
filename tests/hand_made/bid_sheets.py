"""Hand-made bid sheets of invented cars, for everything that shows one.

All rest on one purchase that can be followed in the head: the car brings 40,000, 50,000 or 60,000,
each as likely; the premium is a tenth of the price; transport costs 800 and work 2,200 in the mean.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal

from valuation.results.bid_parts import (
    AccountLine,
    BidCheck,
    MarketCourse,
    Resale,
    Rung,
    Stop,
    Swing,
    WorkStep,
)
from valuation.results.bid_sheet import BidSheet
from valuation.results.valuation import Evidence

POINTS = (Decimal(40_000), Decimal(50_000), Decimal(60_000))
TARGET = Decimal(5_000)
RESALE = Resale(
    central=Decimal(50_000),
    lower=Decimal(40_000),
    upper=Decimal(60_000),
    mean=Decimal(50_000),
    before_winning=Decimal("51546.39"),
    winning_percent=-3.0,
    winning_source="41 lots that the firm won, compared with their estimates of the day",
    sale_on=date(2026, 1, 20),
    channel="dealer",
    basis="price paid",
)
COURSES = (
    MarketCourse("falling", "as the worst tenth of such spans did", -4.2, Decimal(36_000)),
    MarketCourse("as expected", "the mean course of this segment", 0.0, Decimal(38_000)),
    MarketCourse("rising", "as the best tenth of such spans did", 3.8, Decimal(39_500)),
)
SWINGS = (
    Swing("Resale range", "its lower end", "its upper end", Decimal(29_000), Decimal(47_000)),
    Swing("Work", "2,700 EUR", "1,700 EUR", Decimal(37_500), Decimal(38_000)),
    Swing("Days until the sale", "150 days", "60 days", Decimal(37_500), Decimal(38_500)),
    Swing("Engine turns out replaced", "it does", "it does not", None, Decimal(38_500)),
)
CHECKS = (
    BidCheck(
        "Engine originality", "contradicted", "later replacement", "numbers-matching", None,
        Decimal(41_500), 0.402, 0.598, "The block was cast on 3 May 1968, after the car was built.",
        "Engine block, stamped pad, with torch and soft brush: read the casting date.", 15.0,
    ),
    BidCheck(
        "Condition grade", "open", "76 points or less", "85 points or more", Decimal(36_000),
        Decimal(39_500), 0.11, 0.12, "", "Sills and floors: mark every zone.", None,
    ),
    BidCheck(
        "Documents", "not looked at", "none", "bills; build record", Decimal(37_500),
        Decimal(40_000), 0.9985, 0.0015, "", "Have every paper shown.", 20.0,
    ),
)  # fmt: skip
WORK = (
    WorkStep("Carburettors rebuilt", "engine running", "8 of 10", Decimal(900), Decimal(1_500)),
    WorkStep("Brake hoses, tyres", "brakes", "9 of 10", Decimal(800), Decimal(1_200)),
    WorkStep("Valeting and photographs", "", "", Decimal(0), Decimal(0)),
)
EVIDENCE = Evidence(
    "fair", "model line", 214, False, ("Two of the closest sales are older than a year.",)
)
CAUTIONS = (
    "This is an estimate from past sales, not an appraisal.",
    "The seller's claims have not been checked by anyone.",
)


def tenth(bid: Decimal) -> Decimal:
    """Return the premium of the ordinary purchase."""
    return bid / 10


def rung(
    bid: int,
    *,
    limit: float = 0.4,
    premium: Callable[[Decimal], Decimal] = tenth,
    rate: str = "1",
    most: int | None = None,
    points: tuple[Decimal, ...] = POINTS,
) -> Rung:
    """Return what a bid leads to; `rate` is the value of its currency in that of the resale."""
    price = Decimal(bid)
    outlay = (price + premium(price)) * Decimal(rate) + 3_000
    margins = [p - outlay for p in points]
    mean = points[1] - outlay
    loss = sum(m < 0 for m in margins) / len(margins)
    found = {"margin": mean < TARGET, "risk": loss > limit, "outlay": bool(most and outlay > most)}
    broken = tuple(name for name, breaks in found.items() if breaks)
    return Rung(price, outlay, mean, margins[0], margins[-1], loss, broken)


def account(bid: int, *, rate: str = "1", currency: str = "") -> tuple[AccountLine, ...]:
    """Return the lines from the resale to the margin at a bid."""
    worth = Decimal(rate)
    price, fee = Decimal(bid) * worth, Decimal(bid) / 10 * worth
    hammer = f"Hammer price, {bid:,} {currency} at {rate}" if currency else "Hammer price"
    lines = (
        ("Resale", 40_000, 60_000, 50_000, "resale"),
        (hammer, -price, -price, -price, "purchase"),
        ("Buyer's premium", -fee, -fee, -fee, "purchase"),
        ("Transport", -1_000, -600, -800, "purchase"),
        ("Carburettors rebuilt", -1_500, -900, -1_200, "work"),
        ("Brake hoses, tyres", -1_200, -800, -1_000, "work"),
    )
    return tuple(
        AccountLine(what, Decimal(low), Decimal(high), Decimal(mean), part)
        for what, low, high, mean, part in lines
    )


def ladder(bids: Sequence[int], **options: object) -> tuple[Rung, ...]:
    """Return the rungs of some bids."""
    return tuple(rung(bid, **options) for bid in bids)


def ordinary(**changes: object) -> BidSheet:
    """Return a sheet on which the margin binds, with some fields changed."""
    sheet = BidSheet(
        car="1967 Torvane GT convertible",
        as_of=date(2025, 9, 12),
        way="lot at Northgate Hall",
        currency="EUR",
        resale_currency="EUR",
        answer="bid",
        walk_away=Decimal(38_000),
        once_cured=None,
        binds=("margin",),
        reasons=("At 38,500 EUR the expected margin would be 4,650 EUR, below the target.",),
        warnings=("The engine's casting date contradicts the claim of a numbers-matching car.",),
        target_margin=TARGET,
        loss_limit=0.4,
        ladder=ladder(range(36_000, 40_500, 500)),
        broken=(),
        resale=RESALE,
        account=account(38_000),
        courses=COURSES,
        swings=SWINGS,
        checks=CHECKS,
        stops=(),
        work=WORK,
        evidence=EVIDENCE,
        cautions=CAUTIONS,
        account_at=Decimal(38_000),
    )
    return replace(sheet, **changes)


def risky() -> BidSheet:
    """Return a sheet on which the risk of loss binds, well below the target margin."""
    return ordinary(
        walk_away=Decimal(33_500),
        binds=("risk",),
        reasons=("At 34,000 EUR the risk of loss would be 33.3%, above the limit of 20%.",),
        loss_limit=0.2,
        ladder=ladder(range(31_500, 36_000, 500), limit=0.2),
        account=account(33_500),
        account_at=Decimal(33_500),
        warnings=(),
        checks=(),
    )


def until_cured() -> BidSheet:
    """Return a sheet of a car that can't be bought before its title is cured."""
    return ordinary(
        answer="no bid until cured",
        lot="14A",
        walk_away=None,
        once_cured=Decimal(38_000),
        reasons=("The number on the title differs from the one on the car.",),
        stops=(
            Stop(
                "The number on the title differs from the one on the car.",
                45.0,
                Decimal(300),
                Decimal(1_200),
                "EUR",
            ),
            Stop("The registration is in another person's name."),
        ),
    )


def senseless() -> BidSheet:
    """Return a sheet of a car that no bid makes sense for."""
    return ordinary(
        answer="no bid makes sense",
        walk_away=None,
        binds=("margin", "risk"),
        reasons=("Even the lowest bid of 500 EUR breaks a limit.",),
        ladder=tuple(
            replace(r, expected_margin=r.expected_margin - 52_000, outlay=r.outlay + 52_000,
                    margin_p10=r.margin_p10 - 52_000, margin_p90=r.margin_p90 - 52_000,
                    loss_probability=2 / 3, breaks=("margin", "risk"))
            for r in ladder(range(500, 2_500, 500))
        ),
        account=(*account(500),
                 AccountLine("Chassis replaced", Decimal(-60_000), Decimal(-44_000),
                             Decimal(-52_000), "work")),
        account_at=Decimal(500),
        courses=tuple(replace(c, walk_away=None) for c in COURSES),
        swings=(),
        checks=(),
        warnings=(),
    )  # fmt: skip


def thin() -> BidSheet:
    """Return a sheet of a car that the evidence can't carry."""
    return ordinary(
        answer="evidence too thin to bid on",
        as_of=None,
        walk_away=None,
        binds=(),
        reasons=("Only 2 sales of this make are known; 8 are needed.",),
        warnings=(),
        ladder=(),
        resale=None,
        account=(),
        account_at=None,
        courses=(),
        swings=(),
        checks=(),
        work=(),
        evidence=Evidence("none", "market", 2, True, ()),
        cautions=(),
    )


def foreign() -> BidSheet:
    """Return a sheet of a car bought in one currency and sold in another."""
    return ordinary(
        way="lot at Ashgrove Fair, shipped home",
        currency="USD",
        walk_away=Decimal(42_000),
        reasons=("At 42,500 USD the expected margin would be 4,925 EUR, below the target.",),
        ladder=ladder(range(40_000, 44_500, 500), rate="0.9"),
        account=account(42_000, rate="0.9", currency="USD"),
        account_at=Decimal(42_000),
        courses=tuple(replace(c, walk_away=c.walk_away and c.walk_away + 4_000) for c in COURSES),
        swings=(),
        checks=(),
        work=(*WORK, WorkStep("Lamps for this side of the road", "instruments and electrics", "",
                              Decimal(300), Decimal(500), "USD")),
    )  # fmt: skip


def whole_price(price: Decimal) -> Decimal:
    """Return a premium that falls at the edge of a tier: 15 % up to 50,000, 10 % of all above."""
    return price * (Decimal("0.15") if price <= 50_000 else Decimal("0.10"))


def in_tiers() -> BidSheet:
    """Return a sheet on which some lower bids break a limit and higher ones do not."""
    bids = range(46_500, 52_000, 500)
    dear = tuple(p + 30_000 for p in POINTS)
    return ordinary(
        walk_away=Decimal(50_500),
        binds=("outlay",),
        reasons=("At 51,000 EUR the outlay would be 59,100 EUR, above 59,000 EUR for one car.",),
        ladder=ladder(bids, premium=whole_price, most=59_000, points=dear),
        outlay_limit=Decimal(59_000),
        resale=replace(RESALE, central=dear[1], lower=dear[0], upper=dear[2], mean=dear[1],
                       before_winning=dear[1], winning_percent=0.0, winning_source=""),
        broken=((Decimal(49_000), Decimal(50_000)),),
        account=(),
        account_at=None,
        courses=(),
        swings=(),
        checks=(),
        work=(),
        evidence=None,
        warnings=(),
    )  # fmt: skip


ALL: dict[str, Callable[[], BidSheet]] = {
    "ordinary": ordinary,
    "risky": risky,
    "until cured": until_cured,
    "senseless": senseless,
    "thin": thin,
    "foreign": foreign,
    "in tiers": in_tiers,
}
"""Every kind of answer."""
