"""From the events of a ledger to days at risk, by hand."""

from __future__ import annotations

import math
from datetime import date
from decimal import Decimal

import pytest

from valuation.results.ledger import CarMark, StockCar, StockEvent
from valuation.stocking.spells import OfferedCar, Spells, asked_before, spells_of

AS_OF = date(2024, 6, 30)
VALUE = math.log(20_000)


def event(kind: str, on: date | None, amount: int | None = None, **more: str) -> StockEvent:
    currency = "" if amount is None else more.pop("currency", "EUR")
    return StockEvent(kind, on, None if amount is None else Decimal(amount), currency, **more)


def spells(*events: StockEvent, as_of: date = AS_OF, known: bool = True) -> Spells:
    car = StockCar(CarMark(stock="A-1"), events, AS_OF)

    def value(day: date) -> float | None:
        return VALUE + 0.001 * (day - AS_OF).days if known else None

    return spells_of([OfferedCar(car, "roadsters", 70.0, value)], currency="EUR", as_of=as_of)


def told(found: Spells) -> list[tuple[date, int, int, int, bool]]:
    return [(s.first, s.days, s.listed_days, s.offer, s.sold) for s in found.spells]


LISTED = event("listed", date(2024, 3, 20))
ASKED = event("asking price", date(2024, 3, 20), 22_000)
CUT = event("asking price", date(2024, 4, 10), 21_000)


def test_a_cut_opens_a_new_spell_and_the_sale_ends_the_last_one() -> None:
    found = spells(LISTED, ASKED, CUT, event("sold", date(2024, 4, 14), 20_500))
    assert told(found) == [
        (date(2024, 3, 20), 12, 0, 0, False),  # 20 to 31 March
        (date(2024, 4, 1), 9, 12, 0, False),  # 1 to 9 April
        (date(2024, 4, 10), 5, 21, 1, True),  # 10 to 14 April, the day of the sale among them
    ]
    asked = [s.log_ask_over_value for s in found.spells]
    days = [(s.first - AS_OF).days for s in found.spells]
    assert asked == pytest.approx(
        [
            math.log(amount) - VALUE - 0.001 * day
            for amount, day in zip((22_000, 22_000, 21_000), days, strict=True)
        ]
    )
    assert (found.cars, found.sales, found.offers, found.days) == (1, 1, 2, 26)
    assert found.left_out == ()


def test_a_car_still_for_sale_is_at_risk_through_the_last_known_day() -> None:
    assert told(spells(LISTED, ASKED, as_of=date(2024, 3, 29))) == [
        (date(2024, 3, 20), 10, 0, 0, False)
    ]


def test_what_happened_later_counts_for_nothing() -> None:
    sold = event("sold", date(2024, 4, 14), 20_500)
    assert told(spells(LISTED, ASKED, CUT, sold, as_of=date(2024, 4, 1))) == told(
        spells(LISTED, ASKED, as_of=date(2024, 4, 1))
    )


def test_a_withdrawn_car_is_not_at_risk_until_it_is_listed_again() -> None:
    again = event("listed", date(2024, 5, 2))
    found = spells(
        LISTED,
        ASKED,
        event("withdrawn", date(2024, 3, 25)),
        again,
        event("sold", date(2024, 5, 3), 20_000),
    )
    assert told(found) == [
        (date(2024, 3, 20), 5, 0, 0, False),
        (date(2024, 5, 2), 2, 43, 1, True),
    ]


@pytest.mark.parametrize(
    "more",
    [{"channel": "live auction"}, {"party": "auction house"}, {"lot": "112"}],
)
def test_a_sale_at_an_auction_took_no_asking_price(more: dict[str, str]) -> None:
    found = spells(LISTED, ASKED, event("sold", date(2024, 3, 29), 17_000, **more))
    assert told(found) == [(date(2024, 3, 20), 10, 0, 0, False)]


def test_a_sale_after_a_withdrawal_is_none_of_the_offer() -> None:
    found = spells(
        LISTED,
        ASKED,
        event("withdrawn", date(2024, 3, 25)),
        event("sold", date(2024, 3, 29), 17_000),
    )
    assert (found.sales, found.days) == (0, 5)


def test_time_without_a_known_price_is_left_out() -> None:
    undated = event("asking price", None, 21_500)
    found = spells(LISTED, ASKED, undated, event("asking price", date(2024, 5, 1), 20_000))
    assert [s.first for s in found.spells] == [date(2024, 5, 1), date(2024, 6, 1)]
    assert found.left_out == (("no asking price with its day is known for some of the time", 1),)


@pytest.mark.parametrize(
    ("found", "why"),
    [
        (spells(event("bought", date(2024, 1, 1), 15_000)), "it was never on offer"),
        (
            spells(event("asking price", date(2024, 6, 1), 22_000, currency="GBP")),
            "asking prices are in another currency than the market",
        ),
        (spells(LISTED, ASKED, known=False), "nothing tells what the car was worth then"),
        (spells(LISTED), "no asking price with its day is known for some of the time"),
    ],
)
def test_what_is_left_out_is_told(found: Spells, why: str) -> None:
    assert found.spells == ()
    assert found.left_out == ((why, 1),)


def test_what_was_asked_before_a_day() -> None:
    car = OfferedCar(
        StockCar(CarMark(stock="A-1"), (LISTED, ASKED, CUT), AS_OF),
        "roadsters",
        None,
        lambda _: VALUE,
    )
    asked = asked_before(car, currency="EUR", day=date(2024, 4, 12))
    logs = [math.log(amount) - VALUE for amount in (22_000, 22_000, 21_000)]
    assert [days for days, _ in asked] == [12, 9, 2]
    assert [ask for _, ask in asked] == pytest.approx(logs)
    assert asked_before(car, currency="EUR", day=date(2024, 3, 20)) == ()
