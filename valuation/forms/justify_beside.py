"""The part of the form that puts another car, or the words of an advert, beside this one."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import ipywidgets

from valuation.errors import ListingError, SettingsError
from valuation.forms.justify_said import SayLine
from valuation.forms.widgets import button, field, long_field, narrow_choice
from valuation.importing.listing_car import car_of_listing
from valuation.reading.money import read_amount
from valuation.records import Car

__all__ = ["ADVERT", "PRICE_KINDS", "BesidePart", "advert_car", "typed_price"]

ADVERT = "An advert, written below"
"""Stands in the list of cars for one of which only the words are known."""

PRICE_KINDS = {"what is asked for it": "asking", "what was paid for it": "sold"}
"""What a price of another car can be, in words and as the comparison has it."""

WHERE = "The other car"

Compare = Callable[[Car, float | None, str], str]
"""Called with the other car, its price and the kind of that price; returns markup."""


def typed_price(text: str, currency: str, *, where: str) -> float | None:
    """Return a price as it was typed; None for an empty field.

    Parameters
    ----------
    text : str
        As people write prices.
    currency : str
        Of the evidence; another one that is named is refused.
    where : str
        Name of the field.

    Raises
    ------
    SettingsError
        If it is no price above zero, or in another currency.

    Examples
    --------
    >>> typed_price("48.500,00 €", "EUR", where="Asking price"), typed_price(" ", "EUR", where="")
    (48500.0, None)
    """
    if not text.strip():
        return None
    amount, named = read_amount(text)
    if not amount:
        raise SettingsError(
            where, "it is no price", got=text.strip(), remedy="Write it in figures, such as 48,500"
        )
    if named and named != currency:
        raise SettingsError(
            where,
            f"it has to be in {currency}, as the sales are",
            got=text.strip(),
            remedy="Convert it first",
        )
    return float(amount)


def advert_car(text: str, known_makes: Mapping[str, tuple[str, ...]]) -> Car:
    """Return the car that an advert describes.

    Parameters
    ----------
    text : str
        Its words; a short first line is the heading.
    known_makes : mapping of str to tuple of str
        Models by make, from a fitted model.

    Raises
    ------
    ListingError
        If nothing is written.
    """
    if not text.strip():
        raise ListingError(
            WHERE,
            "nothing is written of its advert",
            remedy="Paste the words of the advert, its heading first",
        )
    return car_of_listing(text.strip(), known_makes=known_makes, where=WHERE)


class BesidePart:
    """Another car, its price, and the comparison.

    Parameters
    ----------
    known_makes : mapping of str to tuple of str
        Models by make.
    currency : str
        In which prices are.
    compare : callable
        Called with the other car, its price and the kind of that price; returns markup.

    Attributes
    ----------
    other, kind : ipywidgets.Dropdown
        The other car, and what its price is.
    advert : ipywidgets.Textarea
        The words of its advert.
    price : ipywidgets.Text
        Its price.
    button : ipywidgets.Button
        Compares.
    said : SayLine
        What is wrong.
    box : ipywidgets.VBox
        All of it.
    """

    def __init__(
        self, known_makes: Mapping[str, tuple[str, ...]], currency: str, compare: Compare
    ) -> None:
        self._makes, self._currency, self._compare = known_makes, currency, compare
        self._cars: dict[str, Car] = {}
        self.other = narrow_choice(WHERE, [ADVERT], ADVERT)
        self.advert = long_field("Words of its advert", "its heading, then its text")
        self.price = field(f"Its price, {currency}", "such as 48,500; may be left empty")
        self.kind = narrow_choice("That price is", list(PRICE_KINDS), next(iter(PRICE_KINDS)))
        self.button = button("Put it beside", self._clicked)
        self.said = SayLine()
        self._shown = ipywidgets.HTML()
        fields = [self.other, self.advert, self.price, self.kind, self.button]
        self.box = ipywidgets.VBox([*fields, self.said.widget, self._shown])
        self.other.observe(self._follow, "value")

    def start(self, others: Sequence[tuple[str, Car]]) -> None:
        """Offer the cars beside which another one than before is put."""
        self._cars = dict(others)
        self.other.options = [ADVERT, *self._cars]
        self.other.value = ADVERT
        self._shown.value = ""
        self.said.say("")

    def _follow(self, _: object) -> None:
        self.advert.layout.display = "flex" if self.other.value == ADVERT else "none"

    def _clicked(self, _: object) -> None:
        self._shown.value = ""
        self.said.doing("Comparing …", self._put_beside)

    def _put_beside(self) -> str:
        price = typed_price(self.price.value, self._currency, where="Its price")
        known = self._cars.get(self.other.value)
        car = known or advert_car(self.advert.value, self._makes)
        self._shown.value = self._compare(car, price, PRICE_KINDS[self.kind.value])
        return ""
