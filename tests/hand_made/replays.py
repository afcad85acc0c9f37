"""Hand-made replays of bids on invented lots, for everything that shows one."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from valuation.results.replay import AuctionResult, LossBand, Measured, Replay, RuleResult

LIMIT = RuleResult(
    kind="loss limit",
    level=0.15,
    corrected=True,
    matches=None,
    seen=400,
    bids=390,
    bid_to_estimate=0.56,
    risk_binds=350,
    won=20,
    share_won=Measured(0.05, 0.03, 0.076),
    expected_margin=9_000.0,
    known=20,
    expected_of_known=9_000.0,
    realised_margin=Measured(-1_200.0, -2_400.0, 100.0),
    predicted_loss=0.11,
    realised_loss=Measured(0.6, 0.36, 0.81),
    realised_total=-24_000.0,
    outlay_total=600_000.0,
    return_on_outlay=Measured(-0.04, -0.08, 0.003),
    surprise=Measured(-30.0, -36.0, -25.0),
)
FEW = replace(
    LIMIT,
    level=0.05,
    won=3,
    share_won=Measured(0.0075, 0.0015, 0.022),
    known=3,
    realised_margin=None,
    realised_loss=None,
    return_on_outlay=None,
    surprise=None,
)
HIGH = replace(
    LIMIT,
    level=0.3,
    won=44,
    share_won=Measured(0.11, 0.08, 0.145),
    known=40,
    predicted_loss=0.2,
    realised_loss=Measured(0.3, 0.17, 0.46),
    return_on_outlay=Measured(0.02, -0.01, 0.05),
)
RULES = (
    FEW,
    LIMIT,
    HIGH,
    replace(LIMIT, corrected=False, return_on_outlay=Measured(-0.05, -0.09, 0.0)),
    replace(LIMIT, kind="matched share", level=0.5871, matches=0.15,
            return_on_outlay=Measured(-0.045, -0.09, 0.0)),
    replace(LIMIT, kind="plain share", level=0.6, bid_to_estimate=0.6),
    replace(LIMIT, kind="plain share", level=0.7, bid_to_estimate=0.7,
            share_won=Measured(0.2, 0.16, 0.24), won=80, known=80,
            return_on_outlay=Measured(-0.03, -0.05, -0.01)),
    replace(LIMIT, kind="every lot", level=None, corrected=False, won=400, known=400,
            bid_to_estimate=1.02, share_won=Measured(1.0, 0.99, 1.0),
            return_on_outlay=Measured(-0.09, -0.1, -0.08)),
)  # fmt: skip


def replayed(**changes: object) -> Replay:
    """Return a replay with everything in it, some fields changed."""
    whole = Replay(
        currency="EUR",
        first=date(2024, 1, 6),
        last=date(2024, 12, 28),
        fitted_on=4_000,
        fits=12,
        resale="A resale is what it is.",
        seen=400,
        left_out=(("not sold", 91), ("the title stops the purchase", 12)),
        rules=RULES,
        bands=(
            LossBand(0.05, 0.15, 30, 0.1, Measured(0.5, 0.31, 0.69)),
            LossBand(0.5, 1.0, 370, 0.8, Measured(0.85, 0.81, 0.88)),
        ),
        made_good=Measured(0.21, 0.15, 0.27),
        own_share=Measured(0.86, 0.82, 0.9),
        own_share_stated=0.3,
        intervals="Intervals are drawn.",
        notes=("The firm pays the next bid.",),
    )
    return replace(whole, **changes)


def bare() -> Replay:
    """Return a replay of which nobody knows what the lots brought."""
    unknown = [
        replace(
            rule, known=0, expected_of_known=None, realised_margin=None,
            realised_loss=None, realised_total=0.0, outlay_total=0.0, return_on_outlay=None,
            surprise=None,
        )
        for rule in RULES
    ]  # fmt: skip
    none_won = replace(
        unknown[0], won=0, bids=0, bid_to_estimate=None, expected_margin=None, predicted_loss=None
    )
    return replayed(
        rules=(none_won, *unknown[1:]), bands=(), made_good=None, own_share=None,
        own_share_stated=None, left_out=(),
    )  # fmt: skip


AUCTIONS = (
    AuctionResult(
        1, False, 900, 890,
        Measured(7_900.0, 7_700.0, 8_100.0), Measured(5_500.0, 5_200.0, 5_800.0),
        Measured(-2_400.0, -2_700.0, -2_100.0), 0.13, Measured(0.17, 0.15, 0.19),
    ),
    AuctionResult(
        1, True, 900, 890,
        Measured(7_500.0, 7_300.0, 7_700.0), Measured(7_400.0, 7_100.0, 7_700.0),
        Measured(-100.0, -400.0, 200.0), 0.13, Measured(0.12, 0.1, 0.14),
    ),
)  # fmt: skip
