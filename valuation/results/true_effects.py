"""Effects that a market learned, held against the truth of an invented one."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from statistics import median
from typing import Any, Literal

__all__ = ["TrueEffect", "TrueEffects", "off_by", "percent_of"]

FORMAT = 1
"""Version of the machine-readable form."""


@dataclass(frozen=True, slots=True)
class TrueEffect:
    """One difference between two cars: in truth, as fitted, and as plain means have it.

    Parameters
    ----------
    attribute, label : str
        What differs: name in the contract and for people.
    contrast : str
        What is compared with what, such as ``automatic against manual``.
    kind : {"stated", "silence", "version"}
        Whether both sides are stated, one is not, or two versions of a model line are compared.
    true : float
        True difference of the log price.
    fitted, low, high : float
        The same as fitted, with its 90 % interval.
    plain : float or None
        Difference of plain means of the log prices, for a number along a straight line through
        all sales; None if one side was never sold.
    sales : int
        Sales on the first side.
    """

    attribute: str
    label: str
    contrast: str
    kind: Literal["stated", "silence", "version"]
    true: float
    fitted: float
    low: float
    high: float
    plain: float | None
    sales: int

    @property
    def inside(self) -> bool:
        """Whether the true effect lies inside the interval."""
        return self.low <= self.true <= self.high

    @property
    def sure(self) -> bool:
        """Whether there is an interval; there is none where the fit left the effect out."""
        return self.high > self.low

    @property
    def name(self) -> str:
        """What is compared, with the name of the attribute."""
        return f"{self.label}: {self.contrast}"

    def words(self) -> str:
        """Return the effect in a sentence.

        Examples
        --------
        >>> effect = TrueEffect("body", "Body", "coupe against sedan", "stated",
        ...                     true=0.1, fitted=0.08, low=0.0, high=0.2, plain=0.4, sales=9)
        >>> effect.words()
        'Body: coupe against sedan: true +11%, fitted +8% (0% to +22%), plain means +49%; 9 sales.'
        """
        plain = "" if self.plain is None else f", plain means {percent_of(self.plain)}"
        sales = "1 sale" if self.sales == 1 else f"{self.sales:,} sales"
        interval = f" ({percent_of(self.low)} to {percent_of(self.high)})" if self.sure else ""
        return (
            f"{self.name}: true {percent_of(self.true)}, fitted {percent_of(self.fitted)}"
            f"{interval}{plain}; {sales}."
        )


@dataclass(frozen=True)
class TrueEffects:
    """Effects that a market learned beside those that made its prices.

    Parameters
    ----------
    effects : tuple of TrueEffect
        In the order in which they are to be read.
    sales : int
        Sales from which they were learned.
    """

    effects: tuple[TrueEffect, ...]
    sales: int

    def __len__(self) -> int:
        return len(self.effects)

    @property
    def inside(self) -> int:
        """How many true effects lie inside their 90 % interval."""
        return sum(e.inside for e in self.effects)

    @property
    def fitted_error(self) -> float:
        """Median of the absolute difference of fitted and true effect, log units; NaN of none."""
        return _middle([abs(e.fitted - e.true) for e in self.effects])

    @property
    def plain_error(self) -> float:
        """The same of plain means, where both sides were sold."""
        return _middle([abs(e.plain - e.true) for e in self.effects if e.plain is not None])

    def where(self, keep: Callable[[TrueEffect], bool]) -> TrueEffects:
        """Return the effects of which something holds."""
        return replace(self, effects=tuple(e for e in self.effects if keep(e)))

    def thinnest(self, count: int) -> TrueEffects:
        """Return the effects with fewest sales behind them, the thinnest first."""
        ordered = sorted(self.effects, key=lambda e: (e.sales, e.name))
        return replace(self, effects=tuple(ordered[:count]))

    def most_misleading(self, count: int) -> TrueEffects:
        """Return the effects of which plain means are furthest from the truth, worst first."""
        told = [e for e in self.effects if e.plain is not None]
        ordered = sorted(told, key=lambda e: (-abs((e.plain or 0.0) - e.true), e.name))
        return replace(self, effects=tuple(ordered[:count]))

    def summary(self) -> str:
        """Return what was counted, in sentences."""
        if not self.effects:
            return "No effect can be held against the truth."
        share = self.inside / len(self)
        said = (
            f"{self.inside:,} of {len(self):,} true effects ({share:.0%}) lie inside their 90% "
            f"interval, learned from {self.sales:,} sales. Half of the fitted effects are off by "
            f"less than {off_by(self.fitted_error)}"
        )
        plain = self.plain_error
        end = "" if math.isnan(plain) else f", half of the plain means by less than {off_by(plain)}"
        return f"{said}{end}."

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        effects = [asdict(e) | {"inside": e.inside} for e in self.effects]
        return {"format": FORMAT, "sales": self.sales, "inside": self.inside, "effects": effects}


def percent_of(effect: float) -> str:
    """Return a log effect as a change of the price.

    Examples
    --------
    >>> percent_of(0.0953), percent_of(-0.6931), percent_of(0.001)
    ('+10%', '-50%', '0%')
    """
    percent = round(100 * math.expm1(effect))
    return f"{percent:+d}%" if percent else "0%"


def off_by(error: float) -> str:
    """Return an error on the log scale as a change of the price without a sign.

    Examples
    --------
    >>> off_by(0.0345), off_by(0.7)
    ('3.5%', '101%')
    """
    percent = 100 * math.expm1(error)
    return f"{percent:.1f}%" if percent < 10 else f"{percent:.0f}%"


def _middle(errors: list[float]) -> float:
    return median(errors) if errors else math.nan
