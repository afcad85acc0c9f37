"""Parts of the answer to a what-if question: frozen, with plain fields."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from valuation.money import format_money
from valuation.results.valuation import NoRange, PriceRange

__all__ = [
    "AskedCar",
    "AttributeStep",
    "ChangedFact",
    "NotAsked",
    "PayBack",
    "StatedSide",
    "range_of",
]


def range_of(answer: PriceRange | NoRange) -> dict[str, Any]:
    """Return the machine-readable form of a range, or why there is none."""
    if isinstance(answer, NoRange):
        return {"reason": answer.reason}
    return {
        "level": answer.level,
        "lower": round(answer.lower),
        "upper": round(answer.upper),
    }


@dataclass(frozen=True, slots=True)
class AskedCar:
    """The car as it is: what every question starts from.

    Parameters
    ----------
    car : str
        Year, make, model, variant and body; never a word of an advert.
    as_of : datetime.date or None
        Day for which it is valued; None for an undated list.
    currency, basis, estimand : str
        What the amounts are, as for :class:`valuation.results.valuation.Valuation`.
    channel : str
        Where it is taken to be sold, empty if the evidence doesn't say.
    meaning : str
        What the amounts are, in words, such as "sold by a dealer, the price paid".
    central : int
        Central estimate as it is, whole currency units.
    range : PriceRange or NoRange
        Its range, or why there is none.
    """

    car: str
    as_of: date | None
    currency: str
    basis: str
    estimand: str
    channel: str
    meaning: str
    central: int
    range: PriceRange | NoRange

    def money(self, amount: float, *, signed: bool = False) -> str:
        """Write an amount in the currency of the valuation."""
        return format_money(amount, self.currency, signed=signed)

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form."""
        return {
            "car": self.car,
            "as_of": self.as_of.isoformat() if self.as_of else None,
            "currency": self.currency,
            "basis": self.basis,
            "estimand": self.estimand,
            "channel": self.channel,
            "meaning": self.meaning,
            "central": self.central,
            "range": range_of(self.range),
        }


@dataclass(frozen=True, slots=True)
class ChangedFact:
    """One fact that is otherwise than today.

    Parameters
    ----------
    name : str
        Attribute of the contract, or zone of the inspection.
    label : str
        The same for people.
    before, after : str
        What it is and what it would be, in words.
    asked : bool
        Whether the question names it; False for what follows from what it names.
    """

    name: str
    label: str
    before: str
    after: str
    asked: bool = True


@dataclass(frozen=True, slots=True)
class AttributeStep:
    """What one line of the explanation has of the change.

    Parameters
    ----------
    attribute, label : str
        Line of the explanation, and its name for people.
    amount : int
        Money in whole currency units; all amounts add up to the change.
    lower, upper : float
        90 % interval of the amount.  Intervals don't add.
    evidence_share : float
        0 where it is assumption alone, 1 where it is evidence alone.
    """

    attribute: str
    label: str
    amount: int
    lower: float
    upper: float
    evidence_share: float


@dataclass(frozen=True, slots=True)
class StatedSide:
    """The sales that are as the car is, or as it would be, in one fact.

    Parameters
    ----------
    name, label : str
        The fact, and its name for people.
    side : {"as it is", "as it would be"}
        Which of the two.
    value : str
        What these sales state, in words.
    sales : int
        How many do, in the whole market.
    of_model_line : int
        How many of them are of the car's model line.
    examples : tuple of str
        Some of them: year, make, model, variant, body and quarter of the sale.
    """

    name: str
    label: str
    side: str
    value: str
    sales: int
    of_model_line: int
    examples: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PayBack:
    """A cost beside what it is spent for.

    Parameters
    ----------
    low, high : float
        What it costs, in the currency of the valuation; every amount between is as likely.
    net : int
        Change of the central estimate less the middle of the cost.
    lower, upper : float
        90 % interval of the net.
    chance : float
        How likely the change is at least the cost, by what the sales show.
    """

    low: float
    high: float
    net: int
    lower: float
    upper: float
    chance: float

    @property
    def sure(self) -> bool:
        """Whether the cost is one amount."""
        return self.low == self.high

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form."""
        return asdict(self) | {
            "lower": round(self.lower),
            "upper": round(self.upper),
            "chance": round(self.chance, 4),
        }


@dataclass(frozen=True, slots=True)
class NotAsked:
    """A question that can't be asked of this car.

    Parameters
    ----------
    name, ask : str
        The question, and its words.
    reason : str
        Why not, in sentences.
    """

    name: str
    ask: str
    reason: str
