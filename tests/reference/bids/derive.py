"""Work out four worked bids in exact decimals and write expected.json beside each.

Every bid on the steps is tried from the lowest to one far too high: what it costs, what it leaves
in the mean, how many of the alike likely resale prices lose money, and which limits it breaks.
Nothing of the package is imported, nor are its files read: the settings stand here once more, by
hand.

Run with ``python tests/reference/bids/derive.py`` and compare the files.
"""

from __future__ import annotations

import json
import platform
from collections.abc import Callable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

HERE = Path(__file__).parent
CENT = Decimal("0.01")
TOO_HIGH = 200_000
Parts = dict[str, Decimal]


@dataclass(frozen=True)
class Case:
    """One purchase: alike likely resale prices, the cost of a bid, limits and the step of bids."""

    resale: tuple[int, ...]
    cost_of: Callable[[Decimal], Parts]
    step: int
    margin: Decimal = Decimal(0)
    loss: Decimal = Decimal(1)
    outlay: Decimal | None = None
    tax_on_resale: Callable[[Decimal, Parts], Decimal] = lambda resale, parts: Decimal(0)


def cents(amount: Decimal) -> Decimal:
    """Round half up to the cent."""
    return amount.quantize(CENT, ROUND_HALF_UP)


def ten_per_cent(bid: Decimal) -> Parts:
    """Premium 10%, transport 800, work 2,200."""
    return {"price": bid, "premium": cents(bid * 10 / 100), "other": Decimal(3000)}


def by_slice(bid: Decimal) -> Parts:
    """Premium 15% to 50,000 and 10% of the rest; tax of 20% on the premium; other costs 4,000."""
    low, high = min(bid, Decimal(50_000)), max(bid - 50_000, Decimal(0))
    premium = cents(low * 15 / 100 + high * 10 / 100)
    return {
        "price": bid,
        "premium": premium,
        "tax": cents(premium * 20 / 100),
        "other": Decimal(4000),
    }


def with_tax_inside(bid: Decimal) -> Parts:
    """Premium 12% with its tax inside; other costs 3,000."""
    return {"price": bid, "premium": cents(bid * 12 / 100), "other": Decimal(3000)}


def margin_scheme(resale: Decimal, parts: Parts) -> Decimal:
    """20/120 of the resale less the purchase, which is price and premium."""
    return cents(max(resale - parts["price"] - parts["premium"], Decimal(0)) * 20 / 120)


def on_the_whole_price(bid: Decimal) -> Parts:
    """Premium of the whole price: 15% up to and including 50,000, 10% above."""
    return {"price": bid, "premium": cents(bid * (15 if bid <= 50_000 else 10) / 100)}


CASES = {
    "case_1a": Case((40_000, 50_000, 60_000), ten_per_cent, 500, Decimal(5000), Decimal("0.4")),
    "case_1b": Case((40_000, 50_000, 60_000), ten_per_cent, 500, Decimal(5000), Decimal("0.2")),
    "case_2": Case((120_000,), by_slice, 1000, Decimal(12_000)),
    "case_3": Case((60_000,), with_tax_inside, 500, Decimal(6000), tax_on_resale=margin_scheme),
    "case_4": Case((100_000,), on_the_whole_price, 500, outlay=Decimal(56_000)),
}


def figures(case: Case, bid: int) -> dict[str, object]:
    """Return what one bid leads to."""
    parts = case.cost_of(Decimal(bid))
    outlay = sum(parts.values(), Decimal(0))
    taxes = [case.tax_on_resale(Decimal(r), parts) for r in case.resale]
    left = [r - outlay - tax for r, tax in zip(case.resale, taxes, strict=True)]
    margin = cents(sum(left, Decimal(0)) / len(left))
    losing = sum(amount < 0 for amount in left)
    breaks = [
        name
        for name, broken in (
            ("margin", margin < case.margin),
            ("risk", Decimal(losing) > case.loss * len(left)),
            ("outlay", case.outlay is not None and outlay > case.outlay),
        )
        if broken
    ]
    return {
        "bid": bid,
        **{name: str(cents(amount)) for name, amount in parts.items() if name != "price"},
        "tax_on_resale": str(cents(sum(taxes, Decimal(0)) / len(taxes))),
        "outlay": str(cents(outlay)),
        "margin": str(margin),
        "losing": [losing, len(left)],
        "breaks": breaks,
    }


def answer(case: Case) -> dict[str, object]:
    """Return the highest bid that breaks no limit, the next one, and the lower ones that break."""
    tried = [figures(case, bid) for bid in range(case.step, TOO_HIGH, case.step)]
    best = max(i for i, found in enumerate(tried) if not found["breaks"])
    return {
        "walk_away": tried[best],
        "next": tried[best + 1],
        "broken_below": [found["bid"] for found in tried[:best] if found["breaks"]],
    }


def main() -> None:
    """Write the answer of each case."""
    made = {"script": "derive.py", "python": platform.python_version()}
    for name, case in CASES.items():
        text = json.dumps({"made_with": made, "values": answer(case)}, indent=2)
        (HERE / name / "expected.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
