"""Parts of the sheet that a customer may see: what is in them was made for strangers' eyes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

__all__ = [
    "STANDINGS",
    "AdjustedSale",
    "AskingPrice",
    "CarFact",
    "CarPicture",
    "GridSale",
    "GridStep",
    "LineCourse",
    "LineMonth",
    "LineQuarter",
    "NoCourse",
    "OpenQuestion",
    "PriceLine",
    "SheetEvidence",
]

STANDINGS = {
    "checked": "seen by us at the car",
    "recorded": "on our file",
    "stated": "stated by the seller, not checked by us",
    "unknown": "",
}
"""How a fact is known, in words for the page."""


@dataclass(frozen=True, slots=True)
class CarFact:
    """One fact about the car and how it is known.

    Parameters
    ----------
    label, value : str
        What it is, in words of the contract.
    standing : {"checked", "recorded", "stated", "unknown"}
        How it is known, see :data:`STANDINGS`; ``unknown`` where the value says that it isn't.
    """

    label: str
    value: str
    standing: str


@dataclass(frozen=True, slots=True)
class CarPicture:
    """A picture of the car, made anew so that nothing but what it shows is in it.

    Parameters
    ----------
    content : bytes
        A JPEG without any metadata.
    width, height : int
        In pixels.
    """

    content: bytes
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class SheetEvidence:
    """How much stands behind the sheet.

    Parameters
    ----------
    strength : {"strong", "fair", "thin", "none"}
        In one word.
    level : {"variant", "model line", "make", "market"}
        Of what the sales are.
    sales : int
        Sales of that level.
    all_sales : int
        Sales behind the whole model.
    outside : bool
        True if the car lies outside what the sales have seen.
    """

    strength: str
    level: str
    sales: int
    all_sales: int
    outside: bool


@dataclass(frozen=True, slots=True)
class AdjustedSale:
    """One sale brought to this car and to the day of the sheet.

    Parameters
    ----------
    on : datetime.date or None
        Day of the sale; the middle of its quarter for a sale to a customer of the firm; None in an
        undated list.
    adjusted : int
        What it comes to, whole currency units.
    ours : bool
        True for a sale of the firm to one of its customers.
    number : int
        Its number among the sales shown side by side, 0 for the others.
    """

    on: date | None
    adjusted: int
    ours: bool
    number: int


@dataclass(frozen=True, slots=True)
class AskingPrice:
    """The asking price beside the estimate and beside the sales.

    Parameters
    ----------
    amount : int
        Whole currency units.
    above : int
        The same less the central estimate; below zero where less is asked.
    inside : bool or None
        Whether it lies inside the range; None without a range.
    lower, higher, same : int
        How many adjusted sales came out lower, higher and at the very amount.
    """

    amount: int
    above: int
    inside: bool | None
    lower: int
    higher: int
    same: int

    @property
    def sales(self) -> int:
        """Sales it is set beside."""
        return self.lower + self.higher + self.same


@dataclass(frozen=True, slots=True)
class PriceLine:
    """One line between the typical car and this one.

    Parameters
    ----------
    name : str
        Attribute of the contract, or ``sale``, ``wording``, ``earlier sale``, ``closest sales``,
        ``correction``, ``smaller``.
    label, value : str
        What it is about and what this car is, in plain words.
    amount : int
        Whole currency units; start and all amounts add up to the central estimate.
    lower, upper : int or None
        90 % interval of the amount; None for a remainder, which has none.
    sales : int
        Sales behind it.
    evidence_share : float or None
        0 where it is assumption alone, 1 where it is evidence alone; None for a sum of small lines.
    """

    name: str
    label: str
    value: str
    amount: int
    lower: int | None
    upper: int | None
    sales: int
    evidence_share: float | None


@dataclass(frozen=True, slots=True)
class GridStep:
    """One step that brings a sale to this car.

    Parameters
    ----------
    name : str
        As for :class:`PriceLine`, or ``market``.
    label : str
        What it is about, in plain words.
    theirs, ours : str
        Value of the car that was sold and of this car; empty where words would say nothing.
    amount : int
        Money added to the price of the sale.
    """

    name: str
    label: str
    theirs: str
    ours: str
    amount: int


@dataclass(frozen=True, slots=True)
class GridSale:
    """One of the closest sales with every step to this car.

    Parameters
    ----------
    number : int
        Its number on the sheet, the first is 1.
    title : str
        Year, make, model, variant and body, never words of an advert.
    when : str
        Day of the sale, or its quarter for a sale to a customer of the firm.
    how : str
        What kind of sale it was and what the price is.
    price : int
        Whole currency units; rounded for a sale to a customer of the firm.
    adjusted : int
        Price and all steps together.
    net, gross : float
        Signed and absolute sum of all steps, in per cent of the price.
    ours : bool
        True for a sale to a customer of the firm.
    steps : tuple of GridStep
        The same rows for every sale; price plus all amounts is the adjusted price.
    """

    number: int
    title: str
    when: str
    how: str
    price: int
    adjusted: int
    net: float
    gross: float
    ours: bool
    steps: tuple[GridStep, ...]


@dataclass(frozen=True, slots=True)
class LineMonth:
    """What the typical car of the line would have brought in one month.

    Parameters
    ----------
    month : str
        Such as ``2025-03``.
    amount, lower, upper : int
        Whole currency units, and the 80 % band against the day of the sheet.
    """

    month: str
    amount: int
    lower: int
    upper: int


@dataclass(frozen=True, slots=True)
class LineQuarter:
    """How many sales of the line one quarter had.

    Parameters
    ----------
    quarter : str
        Such as ``2025-Q1``.
    sales : int
        Sales that may be shown.
    """

    quarter: str
    sales: int


@dataclass(frozen=True)
class LineCourse:
    """The market of the model line over time.

    Parameters
    ----------
    name : str
        The model line.
    months : tuple of LineMonth
        Oldest first; the last one holds the day of the sheet, and its amount is the start.
    quarters : tuple of LineQuarter
        Oldest first.
    """

    name: str
    months: tuple[LineMonth, ...]
    quarters: tuple[LineQuarter, ...]


@dataclass(frozen=True, slots=True)
class NoCourse:
    """The answer where the market over time can't be shown.

    Parameters
    ----------
    reason : str
        Why not, in one sentence.
    """

    reason: str


@dataclass(frozen=True, slots=True)
class OpenQuestion:
    """A fact about the car that is not settled.

    Parameters
    ----------
    label : str
        Which fact.
    state : {"contradicted", "open", "not looked at"}
        How it stands.
    possible : str
        What it can still be; empty for anything.
    claim : str
        What is claimed, in words of the contract; empty for nothing.
    low, high : int or None
        Central estimate if it turns out badly and if it turns out well; None where nothing
        hangs on it.
    """

    label: str
    state: str
    possible: str
    claim: str
    low: int | None
    high: int | None
