"""From where on a sale is worth a look; every limit is one that a firm can move."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["LookSettings"]


@dataclass(frozen=True, slots=True)
class LookSettings:
    """Limits of the list of sales to look at.

    Parameters
    ----------
    typical_change, line_change, own_change : float
        From which change on, in per cent, a sale is influential: of the typical car of its model
        line, of a line of its explanation, of its own estimate.  One sale in a hundred moves the
        typical car of a line of some tens of sales by 2 per cent; all three are set where it is
        one in some hundreds.
    odd : float
        How many usual spreads a price has to lie from what the other sales say.  At 4.5 it
        is one sale in hundred thousand where errors are normal, some of a thousand with the tails
        of auction prices.
    factors : tuple of float
        Factors by which a price is mistyped: a digit too many or too few, a separator of
        thousands read as a decimal sign, one counted twice.
    mistyped : float
        Share of all prices that each factor spoils, before one has looked: 1 in 1,000.
    likely : float
        Probability from which on a price is listed as off by a factor.
    years, sizes, miles : float
        How far two sales of one chassis may differ before they tell two stories: years of make
        (model year and first registration differ by one), share of the engine size, share of the
        mileage that may be lost.
    days : float
        Two sales of one chassis within so many days should bring much the same.
    apart : float
        How many usual spreads of such pairs they may lie apart.
    one_chassis : int
        A number that stands at more sales than this is no chassis but a placeholder.
    group : int
        Fewest sales from which a source is judged.
    surely : float
        How many standard errors a source has to be off; some tens of sources are judged at once.
    spike : float
        Factor by which the level of prices in one source has to lie above or below that of the
        sources before and after it: no market rises and falls back so far between two months.
    basis, currency : tuple of float
        From which factor to which a source that is off looks like another basis (a buyer's
        premium or a tax, either way), and beyond which it looks like another currency.
    examined : int
        So many sales with the largest own change are examined for the line they move most.
    """

    typical_change: float = 3.0
    line_change: float = 6.0
    own_change: float = 20.0
    odd: float = 4.5
    factors: tuple[float, ...] = (2.0, 10.0, 100.0, 1000.0)
    mistyped: float = 0.001
    likely: float = 0.3
    years: float = 1.0
    sizes: float = 0.05
    miles: float = 0.02
    days: float = 400.0
    apart: float = 4.0
    one_chassis: int = 6
    group: int = 8
    surely: float = 3.0
    spike: float = 1.12
    basis: tuple[float, float] = (1.04, 1.32)
    currency: float = 1.32
    examined: int = 3000
