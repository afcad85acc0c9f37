"""What moved between two models of a market, and the sales that moved it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from valuation.money import format_money
from valuation.results.index import MarketIndex, revised_words

__all__ = ["AttributeChange", "CarChange", "Cause", "LineChange", "ModelChange"]


@dataclass(frozen=True, slots=True)
class AttributeChange:
    """The effect of one contrast of an attribute by both models.

    Parameters
    ----------
    attribute, label : str
        Name in the contract and for people.
    contrast : str
        What is compared with what, such as ``automatic against manual``.
    old, old_low, old_high : float or None
        Effect in per cent and its 90 % interval by the earlier model, None if it knew no such
        sale.
    new, new_low, new_high : float
        The same by the later model.
    sales : int
        Sales of the later model that state the first side of the contrast.
    """

    attribute: str
    label: str
    contrast: str
    old: float | None
    old_low: float | None
    old_high: float | None
    new: float
    new_low: float
    new_high: float
    sales: int

    @property
    def step(self) -> float:
        """By how many points the effect moved, 0 if the earlier model knew no such sale."""
        return 0.0 if self.old is None else self.new - self.old

    @property
    def moved(self) -> bool:
        """Whether one of the effects lies outside the 90 % interval of the other."""
        if self.old is None or self.old_low is None or self.old_high is None:
            return False
        inside = self.old_low <= self.new <= self.old_high
        return not (inside and self.new_low <= self.old <= self.new_high)


@dataclass(frozen=True, slots=True)
class LineChange:
    """One line of an explanation by both models, in whole units of money.

    Parameters
    ----------
    attribute, label, value : str
        What it is about.
    old, new : int
        Amount of the line, 0 where a model has no such line.
    """

    attribute: str
    label: str
    value: str
    old: int
    new: int

    @property
    def step(self) -> int:
        """Change of the amount."""
        return self.new - self.old


@dataclass(frozen=True, slots=True)
class Cause:
    """One sale that moved a price.

    Parameters
    ----------
    kind : str
        ``new``, ``gone`` (in the earlier model only) or ``corrected``.
    title : str
        The sale in words.
    sale_key, sale_id, file : str
        Where it came from, empty where nobody says.
    row : int
        Row of the file.
    sale_date : datetime.date or None
        Its day.
    price : float
        What it brought.
    expected : float
        What the earlier model expects it to bring.
    percent : float
        By how many per cent it moved the price.
    amount : float
        The same in money.
    """

    kind: str
    title: str
    sale_key: str
    sale_id: str
    file: str
    row: int
    sale_date: date | None
    price: float
    expected: float
    percent: float
    amount: float

    @property
    def where(self) -> str:
        """Where to find the sale: its key, else file and row."""
        return self.sale_key or (f"{self.file}, row {self.row}" if self.file else self.sale_id)


@dataclass(frozen=True, slots=True)
class CarChange:
    """One car of the panel, priced by both models for the same day.

    Parameters
    ----------
    car : str
        Its name.
    typical : bool
        Whether it is the typical car of a model line, not a car of the firm.
    old, new : int
        Central estimates in whole units.
    lines : tuple of LineChange
        Lines of the explanation, the start first; their steps add up to the change.
    from_sales : int
        What the sales that came, went or were corrected did, all together.
    closest_sales : int
        What moved in the line of the closest sales and of the car's own earlier sale.
    rest : int
        What re-estimated penalties, weights, columns and calibration did.  The three add up to
        the change.
    up, down : tuple of Cause
        Sales that raised and that lowered it most, the strongest first.
    sales : int
        How many sales moved it at all.
    """

    car: str
    typical: bool
    old: int
    new: int
    lines: tuple[LineChange, ...]
    from_sales: int
    closest_sales: int
    rest: int
    up: tuple[Cause, ...]
    down: tuple[Cause, ...]
    sales: int

    @property
    def step(self) -> int:
        """Change of the central estimate in whole units."""
        return self.new - self.old

    @property
    def percent(self) -> float:
        """Change of the central estimate in per cent."""
        return 100.0 * (self.new / self.old - 1.0)


@dataclass(frozen=True, slots=True)
class ModelChange:
    """What moved between two models.

    Parameters
    ----------
    old_as_of, new_as_of : datetime.date or None
        Days up to which the models used sales; None for undated lists.
    currency : str
        ISO 4217 code of all amounts.
    old_sales, new_sales : int
        Sales of each model.
    came, went, corrected : int
        Sales that only the later model has, that only the earlier one has, and that differ.
    attributes : tuple of AttributeChange
        Contrast by contrast, those that moved most first.
    cars : tuple of CarChange
        The panel.
    index : MarketIndex or None
        Levels by segment with their revision; None for undated lists.
    notes : tuple of str
        What to know, in sentences.
    """

    old_as_of: date | None
    new_as_of: date | None
    currency: str
    old_sales: int
    new_sales: int
    came: int
    went: int
    corrected: int
    attributes: tuple[AttributeChange, ...]
    cars: tuple[CarChange, ...]
    index: MarketIndex | None = None
    notes: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        return {
            "format": 1,
            "old_as_of": _iso(self.old_as_of),
            "new_as_of": _iso(self.new_as_of),
            "currency": self.currency,
            "old_sales": self.old_sales,
            "new_sales": self.new_sales,
            "came": self.came,
            "went": self.went,
            "corrected": self.corrected,
            "attributes": [asdict(a) | {"moved": a.moved} for a in self.attributes],
            "cars": [_car_dict(car) for car in self.cars],
            "index": None if self.index is None else self.index.to_dict(),
            "notes": list(self.notes),
        }

    def summary(self) -> str:
        """Return the change as plain text."""
        lines = [
            f"From the model of {_day(self.old_as_of)} ({self.old_sales:,} sales) to that of "
            f"{_day(self.new_as_of)} ({self.new_sales:,}): {sales_words(self)}.",
            "Panel, both models for the same day:",
        ]
        for car in self.cars:
            lines.append(f"  {car_words(car, self.currency)}")
            lines += [f"    {_cause(c, self.currency)}" for c in (*car.up[:1], *car.down[:1])]
        moved = [a for a in self.attributes if a.moved]
        lines.append(
            f"{len(moved)} of {len(self.attributes)} effects moved beyond a 90% interval"
            + (":" if moved else ".")
        )
        lines += [f"  {effect_words(a)}" for a in moved]
        if self.index is not None:
            lines.append(f"Levels by segment, {self.index.base} = 100:")
            lines += [f"  {s.name}: {revised_words(s)}" for s in self.index.segments]
        return "\n".join([*lines, *self.notes])


def sales_words(change: ModelChange) -> str:
    """Say how many sales are new, gone and corrected."""
    said = [f"{change.came:,} new"]
    said += [f"{change.went:,} gone"] if change.went else []
    said += [f"{change.corrected:,} corrected"] if change.corrected else []
    return ", ".join(said)


def car_words(car: CarChange, currency: str) -> str:
    """Say what a car was and is worth, and what moved it."""
    return (
        f"{car.car}: {format_money(car.old, '')} to {format_money(car.new, currency)} "
        f"({car.percent:+.1f}%); sales {format_money(car.from_sales, '', signed=True)}, closest "
        f"sales {format_money(car.closest_sales, '', signed=True)}, re-estimated "
        f"{format_money(car.rest, '', signed=True)}"
    )


def effect_words(a: AttributeChange) -> str:
    """Say what an effect was and is."""
    old = "" if a.old is None else f"{a.old:+.1f}% ({a.old_low:+.1f} to {a.old_high:+.1f}), now "
    return f"{a.label}, {a.contrast}: {old}{a.new:+.1f}% ({a.new_low:+.1f} to {a.new_high:+.1f})"


def _cause(c: Cause, currency: str) -> str:
    moved = format_money(round(c.amount), currency, signed=True)
    return (
        f"{moved} by {c.title} ({c.kind}; {c.where}): brought {format_money(round(c.price), '')}, "
        f"expected {format_money(round(c.expected), '')}"
    )


def _car_dict(car: CarChange) -> dict[str, Any]:
    out = asdict(car) | {"percent": car.percent}
    for side, causes in (("up", car.up), ("down", car.down)):
        out[side] = [asdict(c) | {"sale_date": _iso(c.sale_date)} for c in causes]
    return out


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _day(day: date | None) -> str:
    return "no date" if day is None else day.isoformat()
