"""What the invented firm pays while it keeps a car and when it lets it go."""

from __future__ import annotations

from dataclasses import asdict, dataclass

__all__ = ["YardCosts"]

_YEAR = 365


@dataclass(frozen=True, slots=True)
class YardCosts:
    """Costs after a purchase, the same as those of :func:`valuation.synthetic.costs.costs_toml`.

    Parameters
    ----------
    finance, insurance : float
        Share a year of the money laid out.
    storage_a_month : float
        Amount.
    card_fee, card_fee_cap : float
        Share of the price, and its most.
    warranty, warranty_amount : float
        Share of the price, and an amount besides.
    tax : float
        Rate of the tax on the margin over what was paid for the car.
    commission, entry : float
        Share that an auction house keeps of the hammer price, and what it asks besides with the
        way there.
    auction_days : int
        Days from the decision to send a car to auction to its money.
    """

    finance: float = 0.075
    insurance: float = 0.008
    storage_a_month: float = 90.0
    card_fee: float = 0.005
    card_fee_cap: float = 250.0
    warranty: float = 0.01
    warranty_amount: float = 150.0
    tax: float = 0.2
    commission: float = 0.08
    entry: float = 450.0
    auction_days: int = 28

    def holding(self, outlay: float, days: int) -> float:
        """Return finance, insurance and storage of so many days.

        Examples
        --------
        >>> round(YardCosts().holding(10_000, 365), 2)
        1910.0
        """
        a_year = outlay * (self.finance + self.insurance) + 12 * self.storage_a_month
        return a_year * days / _YEAR

    def left_of_sale(self, price: float, paid: float) -> float:
        """Return what a sale from the yard leaves of its price.

        Parameters
        ----------
        price : float
            Price paid by the customer.
        paid : float
            What the car was bought for, with the premium; the tax is on the difference.

        Examples
        --------
        >>> YardCosts().left_of_sale(12_000, 9_000)
        11170.0
        """
        fees = min(self.card_fee * price, self.card_fee_cap)
        fees += self.warranty * price + self.warranty_amount
        return price - fees - self._tax(price, paid)

    def left_of_auction(self, hammer: float, paid: float) -> float:
        """Return what an auction leaves of its hammer price."""
        return hammer - self.auction_fees(hammer) - self._tax(hammer, paid)

    def auction_fees(self, hammer: float) -> float:
        """Return commission, entry and way there."""
        return self.commission * hammer + self.entry

    def _tax(self, price: float, paid: float) -> float:
        return max(price - paid, 0.0) * self.tax / (1 + self.tax)

    def to_dict(self) -> dict[str, float]:
        """Return plain data, ready to become JSON."""
        return asdict(self)
