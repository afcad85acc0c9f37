from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.errors import MapError
from valuation.premium import PremiumSlice, applicable, check_premiums, with_premium

D = Decimal
TIERS = (PremiumSlice(D(15), D(50_000)), PremiumSlice(D(10)))
WHOLE = (
    PremiumSlice(D(15), D(50_000), "on the whole price"),
    PremiumSlice(D(10), None, "on the whole price"),
)


@pytest.mark.parametrize(
    ("tiers", "hammer", "total"),
    [
        # 15 % of 50,000 and 10 % of the 30,000 beyond it.
        (TIERS, "80000", "90500.00"),
        (TIERS, "50000", "57500.00"),
        (TIERS, "40000", "46000.00"),
        (WHOLE, "80000", "88000.00"),
        (WHOLE, "50000", "57500.00"),
        (WHOLE, "50001", "55001.10"),
        ((PremiumSlice(D(5), minimum=D(250)),), "1000", "1250.00"),
        ((PremiumSlice(D(5), cap=D(5000)),), "200000", "205000.00"),
        ((PremiumSlice(D("12.5")),), "33333", "37499.63"),
    ],
)
def test_hand_worked_premiums(tiers: tuple[PremiumSlice, ...], hammer: str, total: str) -> None:
    assert with_premium(D(hammer), tiers) == D(total)


@given(st.integers(1, 10_000_000))
def test_by_slice_a_higher_bid_never_costs_less(hammer: int) -> None:
    assert with_premium(D(hammer + 1), TIERS) > with_premium(D(hammer), TIERS)


def test_the_schedule_of_the_own_venue_goes_before_the_general_one() -> None:
    own = PremiumSlice(D(20), venue="Harbour Rooms")
    assert applicable((*TIERS, own), "harbour rooms", None) == (own,)
    assert applicable((*TIERS, own), "Elsewhere", None) == TIERS
    assert applicable((own,), None, None) == ()


def test_a_schedule_holds_between_its_days() -> None:
    old = PremiumSlice(D(10), last=date(2023, 12, 31))
    new = PremiumSlice(D(12), first=date(2024, 1, 1))
    assert applicable((old, new), None, date(2023, 12, 31)) == (old,)
    assert applicable((old, new), None, date(2024, 1, 1)) == (new,)


@pytest.mark.parametrize(
    ("tiers", "message"),
    [
        (
            (PremiumSlice(D(15), D(50_000)),),
            "m.toml, [[premium]]: the last tier alone must be without up_to (got: 50000). "
            "Let the last tier have no end, and give up_to to the others.",
        ),
        (
            (PremiumSlice(D(15), D(50)), PremiumSlice(D(12), D(40)), PremiumSlice(D(10))),
            "m.toml, [[premium]]: up_to does not rise from tier to tier (got: 50, 40). "
            "Write the tiers from the lowest to the highest.",
        ),
        (
            (TIERS[0], WHOLE[1]),
            "m.toml, [[premium]]: tiers are applied in two ways. Use one applied for all of them.",
        ),
    ],
)
def test_schedules_out_of_order(tiers: tuple[PremiumSlice, ...], message: str) -> None:
    with pytest.raises(MapError) as error:
        check_premiums(tiers, "m.toml")
    assert str(error.value) == message


def test_schedules_in_order() -> None:
    check_premiums(TIERS, "m.toml")
    check_premiums((), "m.toml")
