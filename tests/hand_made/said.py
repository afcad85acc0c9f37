"""Hand-made things that were said of invented cars, and pairs with what they brought."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

from valuation.results.pair import MarginPair, Pair
from valuation.results.said import BidSaid, Said, SaidCar

CAR = SaidCar("1968 Torvane GT", "TR4-1180-K", "Torvane", "GT", 1968, "Harbour Rooms", "112")

PRICE = Said(
    kind="price",
    said_at=datetime(2024, 3, 10, 9, tzinfo=UTC),
    by="Ada",
    version="2024-02-29-1f3a9c0d",
    car=CAR,
    for_day=date(2024, 3, 14),
    channel="live auction",
    basis="hammer price",
    estimand="market bid",
    currency="EUR",
    central=Decimal(32000),
    level=0.8,
    lower=Decimal(26000),
    upper=Decimal(39500),
    own_figure=Decimal(30000),
)
"""A valuation of a lot before its sale."""

BID = Said(
    kind="bid",
    said_at=datetime(2024, 3, 13, 20, tzinfo=UTC),
    by="Ada",
    version="2024-02-29-1f3a9c0d",
    car=CAR,
    for_day=date(2024, 7, 1),
    channel="dealer",
    basis="price paid",
    estimand="price if sold",
    currency="EUR",
    central=Decimal("42000.00"),
    level=0.8,
    lower=Decimal("35000.00"),
    upper=Decimal("50500.00"),
    bid=BidSaid(
        answer="bid",
        walk_away=Decimal(33000),
        currency="EUR",
        at=Decimal(33000),
        expected_margin=Decimal("3100.00"),
        loss_probability=0.21,
        mean=Decimal("42350.00"),
        before_winning=Decimal("43750.00"),
        account=(
            ("resale", "resale", Decimal("42350.00")),
            ("purchase", "price", Decimal("-33000.00")),
            ("purchase", "buyer's premium", Decimal("-4950.00")),
            ("work", "service", Decimal("-500.00")),
            ("work", "transport", Decimal("-425.00")),
            ("holding", "finance, insurance, storage", Decimal("-850.00")),
            ("selling", "card fee", Decimal("-230.00")),
        ),
    ),
)
"""A bid on the same lot."""

PAIR = Pair(
    said_id="0123456789abcdef",
    kind="price",
    car="1968 Torvane GT",
    said_on=date(2024, 3, 10),
    by="Ada",
    version="2024-02-29-1f3a9c0d",
    sold_on=date(2024, 3, 14),
    price=Decimal(31500),
    currency="EUR",
    basis="hammer price",
    channel="live auction",
    source="sales",
    sale_key="1f60af764346:12",
    matched_by="chassis",
    central=Decimal(32000),
    lower=Decimal(26000),
    upper=Decimal(39500),
    level=0.8,
)
"""A valuation beside the sale of its lot."""

_MODELS = ("Torvane GT", "Ombrecq Cigalin", "Vessamir Chancel", "Obrastel Burletta")


def many_pairs(count: int = 14) -> tuple[Pair, ...]:
    """Return valuations and bids on invented cars, with own figures, overrides and margins."""
    out = []
    for i in range(count):
        central = Decimal(20000 + 1900 * i)
        # A fixed pattern of misses: two of them beyond their range.
        off = Decimal((-34, 6, -9, 12, 2, -4, 18, -7, 31, -1, 9, -15, 3, -6)[i % 14]) / 100
        price = (central * (1 + off)).quantize(Decimal("0.01"))
        bid = i % 2 == 1
        own = (price * (Decimal(1) + Decimal((4, -11, 7)[i % 3]) / 100)).quantize(Decimal(1))
        year = 1962 + i
        cost = Decimal(3000 + 100 * i)
        out.append(
            replace(
                PAIR,
                said_id=f"{i:016x}",
                kind="bid" if bid else "price",
                car=f"{year} {_MODELS[i % 4]}",
                said_on=date(2024, 1 + i % 6, 3),
                sold_on=date(2024, 2 + i % 6, 1 + (9 + i) % 28),
                price=price,
                source="ledger" if bid else "sales",
                sale_key=f"1f60af764346:{i}",
                channel="dealer" if bid else "live auction",
                basis="price paid" if bid else "hammer price",
                central=central,
                lower=(central * Decimal("0.8")).quantize(Decimal(1)),
                upper=(central * Decimal("1.25")).quantize(Decimal(1)),
                own_figure=own if i % 4 != 3 else None,
                override=central + 900 if i in (1, 5) else None,
                override_reason="heard it run" if i in (1, 5) else "",
                earlier=1 if i == 2 else 0,
                margin=MarginPair(cost, price - central + cost, central - 2 * cost, ("work",))
                if bid
                else None,
                expected=(central * Decimal("1.03")).quantize(Decimal("0.01")) if bid else None,
            )
        )
    return tuple(out)
