"""One thing that was said of a car beside what the car brought."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from valuation.results.said import KINDS

__all__ = ["MATCHES", "MarginPair", "Pair"]

MATCHES = ("chassis", "lot", "stock number")
"""By what a sale was found."""


@dataclass(frozen=True, slots=True)
class MarginPair:
    """The margin of a car that was bid on, bought and sold: expected and realised.

    Both are at the price that was paid and hold the same costs: what the purchase cost stands as
    it was paid on both sides, and of work, holding and selling only those parts count of which the
    ledger records any cost, of whatever car.

    Parameters
    ----------
    expected : Decimal
        Mean resale as it was said, less the purchase as paid, less the expected other costs.
    realised : Decimal
        Sale, less the purchase as paid, less the other costs as paid.
    purchase : Decimal
        The purchase with all that the ledger counts to it.
    parts : tuple of str
        Parts of the account beside the purchase that are in both.
    """

    expected: Decimal
    realised: Decimal
    purchase: Decimal
    parts: tuple[str, ...]


@dataclass(frozen=True)
class Pair:
    """What was said last of a car before its sale, and that sale.

    Parameters
    ----------
    said_id : str
        Identity of what was said.
    kind : str
        One of :data:`valuation.results.said.KINDS`.
    car : str
        Name of the car.
    said_on : datetime.date
        Day on which it was said, where it was said.
    by, version : str
        Who asked, and which model answered.
    sold_on : datetime.date
        Day of the sale.
    price : Decimal
        What it brought.
    currency : str
        Of every amount of the pair.
    basis, channel : str
        Of the sale, as recorded.
    source : {"sales", "ledger"}
        Where the sale stands.
    sale_key : str
        The sale in the evidence, or batch and row of the ledger.
    matched_by : str
        One of :data:`MATCHES`.
    central, lower, upper : Decimal or None
        Estimate and range as said.
    level : float or None
        Nominal coverage of the range.
    own_figure : Decimal or None
        The person's own figure, given before the model's was shown.
    override : Decimal or None
        The last figure that a person set in its place before the sale.
    override_reason : str
        Why.
    earlier : int
        How many things were said of the same sale before; they are kept and not compared.
    left_out : str
        Why it is not compared, empty if it is.
    margin : MarginPair or None
        For a car that was bid on, bought and sold.
    no_margin : str
        Why there is none, for a bid on a car that was bought and sold.
    expected : Decimal or None
        For a lot that was bid on and won: the central estimate of its resale before the
        correction for winning.
    """

    said_id: str
    kind: str
    car: str
    said_on: date
    by: str
    version: str
    sold_on: date
    price: Decimal
    currency: str
    basis: str
    channel: str
    source: str
    sale_key: str
    matched_by: str
    central: Decimal | None
    lower: Decimal | None = None
    upper: Decimal | None = None
    level: float | None = None
    own_figure: Decimal | None = None
    override: Decimal | None = None
    override_reason: str = ""
    earlier: int = 0
    left_out: str = ""
    margin: MarginPair | None = None
    no_margin: str = ""
    expected: Decimal | None = None

    @property
    def of_resale(self) -> bool:
        """True where a resale by the firm was foretold, False for the price of a sale as such."""
        return self.kind != KINDS[0]

    @property
    def days(self) -> int:
        """Days from what was said to the sale."""
        return (self.sold_on - self.said_on).days

    @property
    def inside(self) -> bool | None:
        """Whether the price lies inside the range, bounds included; None without a range."""
        if self.lower is None or self.upper is None:
            return None
        return self.lower <= self.price <= self.upper

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON; amounts are exact decimal texts."""
        out = {key: _plain(value) for key, value in asdict(self).items()}
        return {**out, "days": self.days, "inside": self.inside}

    @classmethod
    def from_dict(cls, content: Mapping[str, Any]) -> Pair:
        """Return what :meth:`to_dict` wrote."""
        kept = {k: v for k, v in content.items() if k not in ("days", "inside")}
        for name in ("said_on", "sold_on"):
            kept[name] = date.fromisoformat(kept[name])
        for name in _AMOUNTS:
            kept[name] = None if kept[name] is None else Decimal(kept[name])
        margin = kept["margin"]
        if margin is not None:
            amounts = {n: Decimal(margin[n]) for n in ("expected", "realised", "purchase")}
            kept["margin"] = MarginPair(**amounts, parts=tuple(margin["parts"]))
        return cls(**kept)


_AMOUNTS = ("price", "central", "lower", "upper", "own_figure", "override", "expected")


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, dict):
        return {k: _plain(v) for k, v in value.items()}
    return list(value) if isinstance(value, tuple) else value
