"""What an invented dealer of the synthetic market pays until a bought car is sold again."""

from __future__ import annotations

from collections.abc import Iterator

from valuation.synthetic.world import VENUES, Venue

__all__ = ["costs_toml"]

_HEAD = """\
# The costs of FIRM, an invented dealer of the synthetic market: buys in the rooms and
# online, sells from its own yard.  What each entry means: valuation costs --example
currency = "CODE"

[target]
margin = 2500
margin_share = 0.08
loss_probability = 0.25
outlay = 120000

[buying.default]
increments = [
    { up_to = 5000, step = 100 },
    { up_to = 20000, step = 250 },
    { up_to = 100000, step = 500 },
    { up_to = 500000, step = 1000 },
    { step = 5000 },
]
premium = [{ up_to = 50000, percent = 15 }, { percent = 10 }]
transport = { low = 250, high = 600 }
inspection = 180
other = [{ what = "entry in the books", cost = 60 }]
"""

_TAIL = """\
[buying."private purchase"]
transport = { low = 150, high = 450 }

[buying."part-exchange"]
transport = 0
inspection = 0

[[work]]
what = "service and check by a mechanic"
low = 300
high = 700

[[work]]
what = "cleaning and polishing"
cost = 250

[holding]
days = { low = 30, high = 110 }
finance_percent = 7.5
insurance_percent = 0.8
storage_a_month = 90

[selling]
channel = "dealer"
VENUEbasis = "price paid"
card_fee = { percent = 0.5, cap = 250 }
warranty = { percent = 1, amount = 150 }
tax = { percent = 20, on = "margin" }

[winning]
rivals = 2
own_share = 0.3

[title."not in the seller's name"]
days = 10
cost = 80

[title."lien"]
days = 20
cost = 150

[title."missing"]
days = 60
low = 300
high = 900

[title."bill of sale only"]
days = 90
low = 400
high = 1500

[title."foreign, duty unpaid"]
days = 30
low = 1000
high = 4000
"""


def costs_toml(currency: str, *, firm: str = "Heron Lane Cars") -> str:
    """Return the cost settings of an invented dealer, with the premiums that the houses charge.

    Parameters
    ----------
    currency : str
        Currency of the market.
    firm : str
        Name of the dealer; one of the market's venues sells there, any other from a yard of its
        own that no sale is recorded at.
    """
    houses = [v for v in VENUES if v.premium_low]
    head = _HEAD.replace("CODE", currency).replace("FIRM", firm)
    known = any(v.name == firm for v in VENUES)
    tail = _TAIL.replace("VENUE", f'venue = "{firm}"\n' if known else "")
    return "\n".join([head, *("\n".join(_house(v)) + "\n" for v in houses), tail])


def _house(venue: Venue) -> Iterator[str]:
    low, high = (f"{100 * share:.4g}" for share in (venue.premium_low, venue.premium_high))
    yield f'[buying."{venue.name}"]'
    tiers = f"{{ up_to = {venue.limit:.0f}, percent = {low} }}, {{ percent = {high} }}"
    yield f"premium = [{tiers}]"
    if venue.channel == "online auction":
        yield "surcharge = { percent = 0.5, cap = 200 }"
