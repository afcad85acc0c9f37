"""Parts of a comparison of two cars: lines of the difference, prices, and what an advert omits."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from valuation.results.valuation import NoRange, PriceRange

__all__ = [
    "PRICE_KINDS",
    "BesideCar",
    "BesidePrice",
    "DifferenceLine",
    "LeftOut",
    "PriceGap",
    "WorthTelling",
]

PRICE_KINDS = ("asking", "sold")
"""What a price can be: what is asked for a car, or what was paid for it."""


@dataclass(frozen=True, slots=True)
class BesideCar:
    """One of the two cars by itself.

    Parameters
    ----------
    heading : str
        Year, make, model, variant and body; never words of an advert.
    central : int
        Central estimate, whole currency units.
    range : PriceRange or NoRange
        Its range, or why there is none.
    strength : {"strong", "fair", "thin", "none"}
        How strong the evidence is.
    level : {"model line", "make", "market"}
        Of what the sales behind it are.
    sales : int
        Sales of that level.
    stopped : str
        Why its purchase has to wait, such as the state of its title; empty for nothing.
    """

    heading: str
    central: int
    range: PriceRange | NoRange
    strength: str
    level: str
    sales: int
    stopped: str = ""

    def to_dict(self) -> dict[str, Any]:
        """Return plain values, the bounds of the range in whole units."""
        r = self.range
        ranged: dict[str, Any] = (
            {"level": r.level, "lower": round(r.lower), "upper": round(r.upper)}
            if isinstance(r, PriceRange)
            else {"reason": r.reason}
        )
        return asdict(self) | {"range": ranged}


@dataclass(frozen=True, slots=True)
class DifferenceLine:
    """One line of the difference between two cars.

    Parameters
    ----------
    attribute : str
        Name in the contract, or ``model``, ``wording``, ``statements``, ``earlier sale``,
        ``closest sales``, ``correction``, ``everything else``.
    label : str
        Name for people.
    theirs, ours : str
        Value of the other car and of this one, in words; empty where words would say nothing.
    amount : int
        What this car has more for it than the other, whole currency units; below zero for less.
    exact : float
        The same before rounding.
    lower, upper : float or None
        90 % interval of the amount; None for a remainder, which has none.  Intervals don't add.
    evidence_share : float or None
        0 where it is assumption alone, 1 where it is evidence alone; None for a remainder.
    """

    attribute: str
    label: str
    theirs: str
    ours: str
    amount: int
    exact: float
    lower: float | None
    upper: float | None
    evidence_share: float | None

    def to_dict(self) -> dict[str, Any]:
        """Return plain values: amounts in whole units, the share to three decimals."""
        share = self.evidence_share
        out = asdict(self) | {
            "lower": None if self.lower is None else round(self.lower),
            "upper": None if self.upper is None else round(self.upper),
            "evidence_share": None if share is None else round(share, 3),
        }
        del out["exact"]
        return out


@dataclass(frozen=True, slots=True)
class BesidePrice:
    """The price of one of the cars.

    Parameters
    ----------
    amount : int
        As it was stated, whole currency units.
    kind : {"asking", "sold"}
        Whether that is asked or was paid.
    day : datetime.date or None
        Its day, if that is another than the day of the comparison.
    moved : int
        What the market has added to it since, below zero for a fall.
    converted : int
        What such cars are asked for above what they sell for; 0 for a price that is asked.
    straight: bool
        False if it can't be held against what is asked, because no sales tell how far the two
        lie apart.
    """

    amount: int
    kind: str
    day: date | None = None
    moved: int = 0
    converted: int = 0
    straight: bool = True

    @property
    def compared(self) -> int:
        """The amount that is compared: on the day of the comparison, in the same terms."""
        return self.amount + self.moved + self.converted

    def to_dict(self) -> dict[str, Any]:
        """Return plain values, with the amount that is compared."""
        day = self.day.isoformat() if self.day else None
        return asdict(self) | {"day": day, "compared": self.compared}


@dataclass(frozen=True, slots=True)
class PriceGap:
    """How far two prices are apart, and how much of that the difference of the cars explains.

    Parameters
    ----------
    apart : int
        Price of this car less the compared price of the other, whole currency units.
    explained : int
        Difference of their central estimates.
    lower, upper : int
        90 % interval of it, from what the sales tell of the attributes.
    """

    apart: int
    explained: int
    lower: int
    upper: int

    @property
    def unexplained(self) -> int:
        """What the cars don't explain: above zero this car is the dearer one for what it is."""
        return self.apart - self.explained

    def to_dict(self) -> dict[str, Any]:
        """Return plain values."""
        return asdict(self) | {"unexplained": self.unexplained}


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A fact that this car states and the advert of the other leaves out.

    Parameters
    ----------
    attribute, label : str
        Name in the contract and name for people.
    ours : str
        What this car has, in words.
    today : int
        Central estimate of the other car as it stands: what silence comes to.
    as_ours : int
        The same if it has what this car has.
    bad : int or None
        The same if it turns out badly; None where nobody can say what it can be.
    if_bad : str
        How it then is, in words.
    bad_chance : float or None
        How likely that is among such cars of the evidence, 0 to 1.
    question : str
        What to ask the seller.
    how : str
        How one sees it oneself.
    """

    attribute: str
    label: str
    ours: str
    today: int
    as_ours: int
    bad: int | None
    if_bad: str
    bad_chance: float | None
    question: str
    how: str

    @property
    def stake(self) -> int:
        """The money that hangs on it: from the lowest of these estimates to the highest."""
        bad = self.today if self.bad is None else self.bad
        known = (self.today, self.as_ours, bad)
        return max(known) - min(known)

    def to_dict(self) -> dict[str, Any]:
        """Return plain values, with what is at stake."""
        chance = self.bad_chance
        rounded = None if chance is None else round(chance, 4)
        return asdict(self) | {"bad_chance": rounded, "stake": self.stake}


@dataclass(frozen=True, slots=True)
class WorthTelling:
    """Which of the two is the better buy at its price, as far as that can be told.

    Parameters
    ----------
    answer : {"other", "this", "open"}
        The other car, this car, or that it can't be told.
    chance : float or None
        Chance that the other car is the better buy, 0 to 1; None if nobody can say.
    reason : str
        Why it can't be told, in one sentence; empty where the chance speaks for itself.
    """

    answer: str
    chance: float | None
    reason: str = ""

    def to_dict(self) -> dict[str, Any]:
        """Return plain values."""
        chance = None if self.chance is None else round(self.chance, 3)
        return asdict(self) | {"chance": chance}
