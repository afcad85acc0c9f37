"""The vocabulary in which the contract is written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = [
    "CANNOT_BE_TOLD",
    "NOT_LOOKED_AT",
    "NOT_ON_THIS_CAR",
    "Attribute",
    "Field",
    "Kind",
    "Scale",
    "Silence",
]

Kind = Literal["number", "category", "set"]
"""How a value is stored: a float, one word, or a set of words."""

Scale = Literal["plain", "log", "root"]
"""How a number enters the model: as it is, as its logarithm, or as its square root."""

Silence = Literal["effect", "typical", "required"]
"""What a missing value means.

``effect``: the seller was silent, and silence has an effect of its own that the model learns.
``typical``: nobody expects it to be stated; the usual value of the model line stands in, and what
silence tells beyond that is learned beside it.
``required``: without it a record can't be used.
"""

NOT_LOOKED_AT = "not looked at"
"""Nobody has looked yet: no information, so the mixture over what such cars have."""

CANNOT_BE_TOLD = "cannot be told"
"""It can no longer be found out; priced like a silent seller, and said aloud."""

NOT_ON_THIS_CAR = "not on this car"
"""Such a car never had it; it counts for nothing."""


@dataclass(frozen=True, slots=True)
class Attribute:
    """One thing about a car that can move its price.

    Parameters
    ----------
    name : str
        Name in tables, car files and settings.
    label : str
        Name for people.
    kind : {"number", "category", "set"}
        How a value is stored.
    theme : str
        Heading under which it stands in forms and explanations.
    help : str
        One sentence for the person who fills it in.
    example : str
        A value as it would be typed.
    unit : str
        Unit of a number, empty otherwise.
    low, high : float
        Allowed range of a number; outside it the value is an error in the file.
    typical : float
        Centre from which a number is measured before any sales are seen.
    levels : tuple of str
        Closed vocabulary of a category or set; empty means any word.
    baseline : str
        Level against which the others are measured, empty for none.
    direction : {-1, 0, 1}
        1 where more is never worth less, -1 where more is never worth more, 0 where unknown.
    when_silent : {"effect", "typical", "required"}
        Meaning of a missing value.
    scale : {"plain", "log", "root"}
        How a number enters the model.
    curve : bool
        Whether a smooth curve is added to the straight effect.
    by_line : bool
        Whether each model line may depart from the common effect.
    """

    name: str
    label: str
    kind: Kind
    theme: str
    help: str
    example: str
    unit: str = ""
    low: float = 0.0
    high: float = 0.0
    typical: float = 0.0
    levels: tuple[str, ...] = ()
    baseline: str = ""
    direction: int = 0
    when_silent: Silence = "effect"
    scale: Scale = "plain"
    curve: bool = False
    by_line: bool = False


@dataclass(frozen=True, slots=True)
class Field:
    """One thing about a sale that is not about the car itself.

    Parameters
    ----------
    name, label, help, example : str
        As for :class:`Attribute`.
    kind : {"text", "date", "money", "category"}
        How a value is stored.
    levels : tuple of str
        Closed vocabulary of a category; empty means any word.
    """

    name: str
    label: str
    kind: Literal["text", "date", "money", "category"]
    help: str
    example: str
    levels: tuple[str, ...] = ()
