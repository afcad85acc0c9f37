"""How likely a car of the firm is sold by some day, and what that rests on."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

__all__ = ["MONTH_DAYS", "ChanceEffect", "ChanceReport", "DaysToSell", "SaleChance"]

FORMAT = 1
"""Version of the machine-readable form."""

MONTH_DAYS = 30.4375
"""Days of a mean month."""


@dataclass(frozen=True, slots=True)
class SaleChance:
    """A chance to be sold, with its 80 % band.

    Parameters
    ----------
    chance : float
        From 0 to 1: what to reckon with, uncertainty about the effects included.
    lower, upper : float
        Ends of the band; they hold `chance`.  The band is how sure we are of the chance, and not a
        range of what can happen to one car: that is sold or it isn't.
    """

    chance: float
    lower: float
    upper: float

    def words(self) -> str:
        """Say it in whole per cent.

        Examples
        --------
        >>> SaleChance(0.42, 0.331, 0.5).words()
        '42% (33% to 50%)'
        """
        return f"{100 * self.chance:.0f}% ({100 * self.lower:.0f}% to {100 * self.upper:.0f}%)"

    def to_dict(self) -> dict[str, float]:
        """Return the machine-readable form."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class DaysToSell:
    """Days on offer until the sale or the end of patience, with the 80 % band of their mean.

    Parameters
    ----------
    days : float
        Mean; a car that is not sold by `horizon` counts with it.
    lower, upper : float
        Ends of the band of that mean.
    horizon : int
        Days after which the car is offered no longer.
    """

    days: float
    lower: float
    upper: float
    horizon: int

    def words(self) -> str:
        """Say it in whole days.

        Examples
        --------
        >>> DaysToSell(81.4, 60.2, 110.0, 365).words()
        '81 days (60 to 110)'
        """
        return f"{self.days:.0f} days ({self.lower:.0f} to {self.upper:.0f})"

    def to_dict(self) -> dict[str, float]:
        """Return the machine-readable form."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class ChanceEffect:
    """One effect on the sales a day.

    Parameters
    ----------
    name : str
        In words.
    percent : float
        By how much the sales a day change, in per cent.
    lower, upper : float
        Its 80 % band.
    assumed_percent : float
        What is assumed without own sales.
    assumption_share : float
        From 0 to 1: share of the assumption in how sure we are of it; 1 is assumption alone.
    """

    name: str
    percent: float
    lower: float
    upper: float
    assumed_percent: float
    assumption_share: float

    def words(self) -> str:
        """Return the effect as one line of text."""
        band = f"({self.lower:+.0f}% to {self.upper:+.0f}%)"
        share = f"{100 * self.assumption_share:.0f}% assumption"
        return f"{self.name:<44}{self.percent:>+6.0f}%  {band:<20}{share}"


@dataclass(frozen=True)
class ChanceReport:
    """What the firm's own sales say of the chance to sell.

    Parameters
    ----------
    basis : str
        What it rests on, in words.
    own : bool
        False where the assumptions speak alone.
    cars, sales, offers : int
        Cars that were offered, how many of them were sold, and stretches of one asking price.
    days : float
        Days on offer of all cars together.
    first_month : tuple of (str, SaleChance)
        For the whole stock and each kind of car: the chance to be sold in the first month of a
        car of middling condition, asked at its estimate, mean over the seasons.
    effects : tuple of ChanceEffect
        On the sales a day.
    left_out : tuple of (str, int)
        Reasons for which cars are left out, with their number.
    """

    basis: str
    own: bool
    cars: int
    sales: int
    offers: int
    days: float
    first_month: tuple[tuple[str, SaleChance], ...]
    effects: tuple[ChanceEffect, ...]
    left_out: tuple[tuple[str, int], ...] = ()

    def summary(self) -> str:
        """Return the report as plain text."""
        lines = [
            f"Chance to sell: {self.basis}",
            f"  {self.cars:,} cars on offer for {self.days:,.0f} days at {self.offers:,} asking "
            f"prices, {self.sales:,} sold",
            "  sold in the first month when asked at the estimate",
            *(f"    {name:<42}{chance.words()}" for name, chance in self.first_month),
            "  sales a day change by",
            *(f"    {e.words()}" for e in self.effects),
        ]
        lines += [f"  left out: {n:,} because {why}" for why, n in self.left_out]
        return "\n".join(lines)

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        return {
            "format": FORMAT,
            "basis": self.basis,
            "own": self.own,
            "cars": self.cars,
            "sales": self.sales,
            "offers": self.offers,
            "days": self.days,
            "first_month": [{"of": n, **c.to_dict()} for n, c in self.first_month],
            "effects": [asdict(e) for e in self.effects],
            "left_out": [{"why": why, "cars": n} for why, n in self.left_out],
        }
