"""What a sale record holds beside the car: price, its meaning, when and where."""

from __future__ import annotations

from valuation.schema.kinds import Field

__all__ = ["BASES", "BY_FIELD", "OUTCOMES", "RESERVES", "SALE_FIELDS"]

BASES = (
    "hammer price",
    "hammer price plus buyer's premium",
    "asking price",
    "price paid",
    "unknown",
)
OUTCOMES = ("sold", "not sold", "offered", "unknown")
RESERVES = ("none", "yes", "not stated")

SALE_FIELDS: tuple[Field, ...] = (
    Field(
        "sale_id",
        "Sale",
        "text",
        "Any number or word that tells this sale from the others; made from file and row if empty.",
        "L-1042",
    ),
    Field("sale_date", "Sale date", "date", "Day of the sale or of the offer.", "2025-06-14"),
    Field(
        "price",
        "Price",
        "money",
        "The amount on the record; for a car that did not sell, the highest bid.",
        "41250",
    ),
    Field("currency", "Currency", "text", "Three-letter ISO 4217 code.", "EUR"),
    Field("basis", "Price basis", "category", "What the amount is.", BASES[0], BASES),
    Field(
        "outcome",
        "Outcome",
        "category",
        "Sold, not sold (the amount is the highest bid), or offered at an asking price.",
        OUTCOMES[0],
        OUTCOMES,
    ),
    Field("reserve", "Reserve", "category", "Whether the seller set a reserve.", "yes", RESERVES),
    Field(
        "channel",
        "Channel",
        "category",
        "Where it was offered: live auction, online auction, dealer, private.",
        "live auction",
    ),
    Field("venue", "Venue", "category", "Which house or firm.", "Harbour Rooms"),
    Field("region", "Region", "category", "State, county or country of the sale.", "North Shore"),
    Field(
        "chassis", "Chassis number", "text", "As written on the car or its papers.", "TR4-1180-K"
    ),
    Field("title", "Title", "text", "Heading of the advert or catalogue entry.", "1967 Torvane GT"),
    Field("description", "Description", "text", "Text of the advert or catalogue entry.", ""),
)

BY_FIELD: dict[str, Field] = {f.name: f for f in SALE_FIELDS}
