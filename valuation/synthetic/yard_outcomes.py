"""What became of an invented firm's cars under a policy of asking prices, and what it earned."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

import numpy as np

from valuation.errors import SettingsError

__all__ = ["Outcome", "Played"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one car under a policy.

    Parameters
    ----------
    stock, segment : str
        Number and segment.
    asks : tuple of (datetime.date, float)
        Every asking price and its first day.
    given_up : datetime.date or None
        Day on which it was sent to auction.
    sold : datetime.date
        Day of the sale.
    price : float
        Price paid, or hammer price at the auction.
    listed_days : int
        Days from the first listing to the sale, or until it was given up.
    outlay : float
        Purchase and work.
    holding : float
        Finance, insurance and storage from the purchase to the sale.
    net : float
        What it earned after every cost.
    days : int
        Days from the purchase to the sale.
    """

    stock: str
    segment: str
    asks: tuple[tuple[date, float], ...]
    given_up: date | None
    sold: date
    price: float
    listed_days: int
    outlay: float
    holding: float
    net: float
    days: int

    @property
    def by(self) -> str:
        """``sale`` from the yard, or ``auction``."""
        return "auction" if self.given_up else "sale"

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        out = asdict(self) | {"by": self.by, "sold": self.sold.isoformat()}
        out["asks"] = [[day.isoformat(), ask] for day, ask in self.asks]
        out["given_up"] = self.given_up.isoformat() if self.given_up else None
        out["net"], out["holding"] = round(self.net, 2), round(self.holding, 2)
        out["price"] = round(self.price, 2)
        return out


@dataclass(frozen=True)
class Played:
    """What a policy earned with the firm's cars.

    Parameters
    ----------
    outcomes : tuple of Outcome
        One a car, in the order of their purchases.
    """

    outcomes: tuple[Outcome, ...]

    @property
    def net_a_car(self) -> float:
        """Mean of what a car earned."""
        return float(np.mean([o.net for o in self.outcomes]))

    @property
    def capital_days(self) -> float:
        """Money laid out times the days for which it was tied."""
        return float(sum(o.outlay * o.days for o in self.outcomes))

    @property
    def net_a_day(self) -> float:
        """What every 1,000 tied up earned a day."""
        return 1000 * sum(o.net for o in self.outcomes) / self.capital_days

    @property
    def days_held(self) -> float:
        """Mean days from purchase to sale."""
        return float(np.mean([o.days for o in self.outcomes]))

    @property
    def sold_at_auction(self) -> float:
        """Share of the cars that went to auction."""
        return float(np.mean([o.given_up is not None for o in self.outcomes]))

    def above(self, other: Played) -> tuple[float, float]:
        """Return how much more a car earned than under another policy, and the standard error.

        Raises
        ------
        SettingsError
            If the policies were not played on the same cars.
        """
        if [o.stock for o in self.outcomes] != [o.stock for o in other.outcomes]:
            raise SettingsError(
                "synthetic yard",
                "the two policies were played on different cars",
                remedy="Play both on the same cars of the same yard",
            )
        gains = [a.net - b.net for a, b in zip(self.outcomes, other.outcomes, strict=True)]
        spread = float(np.std(gains, ddof=1)) if len(gains) > 1 else math.inf
        return float(np.mean(gains)), spread / math.sqrt(len(gains))

    def summary(self) -> str:
        """Return the money as one line."""
        return (
            f"{len(self.outcomes)} cars: net {self.net_a_car:,.0f} a car, "
            f"{self.net_a_day:.3f} a day for every 1,000 tied up, {self.days_held:.0f} days held, "
            f"{100 * self.sold_at_auction:.0f} % at auction"
        )

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        return {
            "cars": len(self.outcomes),
            "net_a_car": round(self.net_a_car, 2),
            "net_a_day_of_1000": round(self.net_a_day, 5),
            "days_held": round(self.days_held, 2),
            "share_at_auction": round(self.sold_at_auction, 4),
            "outcomes": [o.to_dict() for o in self.outcomes],
        }
