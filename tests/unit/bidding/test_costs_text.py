"""Cost settings in plain words and as data."""

from __future__ import annotations

import json
import re
from pathlib import Path

from valuation.bidding.costs import Costs
from valuation.bidding.costs_file import costs_from_toml, example_costs
from valuation.bidding.costs_text import costs_dict, costs_summary

LEAST = 'currency = "USD"\n[target]\nmargin = 1\n[buying.default]\n'


def read(text: str) -> Costs:
    return costs_from_toml(text, where="ours.toml", folder=Path("nowhere"))


def block(summary: str, heading: str) -> list[str]:
    (found,) = [part for part in summary.split("\n\n") if part.startswith(f"{heading}\n")]
    return [line.strip() for line in found.splitlines()[1:]]


def test_little_is_said_of_little() -> None:
    assert costs_summary(read(LEAST)) == (
        "Cost settings of ours.toml, in USD where nothing else is said.\n\n"
        "A purchase has to promise\n"
        "  expected margin: at least 1 USD\n"
        "  probability of losing money: no limit is stated\n\n"
        "Buying, default, in USD\n"
        "  steps of bids: any amount\n"
        "  buyer's premium: none\n\n"
        "Buying, private purchase, in USD\n"
        "  steps of bids: any amount\n"
        "  buyer's premium: none\n\n"
        "Buying, part-exchange, in USD\n"
        "  steps of bids: any amount\n"
        "  buyer's premium: none"
    )


def test_the_example_in_words() -> None:
    said = costs_summary(read(example_costs()))
    assert block(said, "A purchase has to promise") == [
        "expected margin: at least 5,000 EUR, and at least 10% of the resale",
        "probability of losing money: at most 15%",
        "money in one car: at most 80,000 EUR",
    ]
    assert block(said, "Buying, Tanglewater Hall, in EUR")[:4] == [
        "steps of bids: 100 up to 5,000, 250 up to 20,000, 500 up to 100,000, 1,000 beyond",
        "buyer's premium: 12% up to 50,000, 10% beyond, by slice, at least 500",
        "surcharge: 1.5% of the hammer price, at most 900",
        "tax: 20% of premium",
    ]
    assert block(said, "Buying, Saltglass Rooms, in GBP") == [
        "one GBP until payment: 1.12 to 1.19 EUR",
        "steps of bids: 200 up to 10,000, 500 beyond",
        "buyer's premium: 12.5%",
        "surcharge: 1% of the hammer price",
        "tax: 20% of premium, reclaimed",
        "transport: 600 to 900 EUR",
        "inspection: 250 EUR",
        "photographs and entry in the books: 120 EUR",
        "freight: 700 to 1,100",
        "duty: 2.5% of price and premium",
        "import tax: 7% of everything so far",
    ]
    assert block(said, "Holding") == [
        "from payment to the money of the resale: 30 to 120 days",
        "stock finance: 9% of the outlay a year",
        "insurance: 1% of the outlay a year",
        "storage: 120 a month",
    ]
    assert block(said, "Selling") == [
        "valued for: dealer, price paid",
        "commission: 2% of the resale",
        "card fee: 1.2% of the resale, at most 400",
        "warranty reserve: 1% of the resale plus 300",
        "tax within the resale: 20% on the margin",
    ]
    assert block(said, "Winning") == [
        "rivals of equal skill: 2",
        "own misjudgement: 30% of the spread of the range",
    ]
    assert block(said, "Curing a title")[1:3] == [
        "lien: 20 days, 150",
        "missing: 60 days, 300 to 900",
    ]


def test_cents_and_small_per_cents_are_not_lost() -> None:
    said = costs_summary(
        read(
            LEAST + "transport = 99.5\nsurcharge = { percent = 0.0125, amount = 1e3 }\n"
            "[winning]\ncorrection_percent = 40\n[selling]\nbelow_asking_percent = 10\n"
        )
    )
    assert "  transport: 99.50\n" in said
    assert "  surcharge: 0.0125% of the hammer price plus 1,000\n" in said
    assert "  correction: 40%" in said
    assert "  paid below the asking price: 10%" in said


def test_data_hold_every_decimal_as_it_was_written() -> None:
    data = costs_dict(read(example_costs()))
    assert list(data)[:3] == ["format", "currency", "ways"]
    assert data["target"] == {
        "margin": "5000", "share": "0.10", "loss_probability": "0.15", "outlay": "80000",
    }  # fmt: skip
    assert data["ways"]["Evening Lots"]["premium"][0] == {
        "percent": "6", "up_to": "80000", "applied": "by slice", "minimum": None, "cap": "6000",
    }  # fmt: skip
    assert data["cures"]["lien"] == {
        "days": 20.0, "low": "150", "high": "150", "currency": "EUR",
    }  # fmt: skip
    assert not re.search(r"Decimal|NaN", json.dumps(data, allow_nan=False))
