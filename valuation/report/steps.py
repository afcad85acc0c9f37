"""The lines of an explanation in the order in which charts and tables show them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from valuation.report.words import plural
from valuation.results.valuation import Contribution, Valuation

__all__ = ["REMAINDERS", "Stairs", "Step", "chart_steps", "in_order", "stairs_of", "without_effect"]

REMAINDERS = ("everything else", "earlier sale", "closest sales", "correction")
"""Lines that no attribute of the car is behind; they come last."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the chart from the start to the central estimate.

    Parameters
    ----------
    label : str
        What changes the price.
    value : str
        Value of this car, empty for a sum of lines.
    amount : int
        Money added.
    before : int
        Amount reached before the step.
    interval : tuple of float, or None
        90 % interval of the amount; None for a sum of lines or a remainder.
    """

    label: str
    value: str
    amount: int
    before: int
    interval: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class Stairs:
    """What a step chart shows.

    Parameters
    ----------
    car : str
        To which car the steps lead.
    currency : str
        Of all amounts.
    start_label, start : str, int
        The typical car and its price.
    steps : tuple of Step
        From start to central.
    central : int
        Central estimate.
    title : str
        Name of the drawing; from the typical car to this one if empty.
    end_label : str
        What stands beside the central estimate.
    """

    car: str
    currency: str
    start_label: str
    start: int
    steps: tuple[Step, ...]
    central: int
    title: str = ""
    end_label: str = "Central estimate"


def stairs_of(valuation: Valuation) -> Stairs:
    """Return the steps of a valuation, the smallest together."""
    v = valuation
    return Stairs(v.car, v.currency, v.start_label, v.start, tuple(chart_steps(v)), v.central)


def in_order(lines: Sequence[Contribution]) -> list[Contribution]:
    """Return the lines with money in them: largest first, corrections at the end."""
    moving = [line for line in lines if line.amount]
    return sorted(moving, key=_rank)


def without_effect(lines: Sequence[Contribution]) -> list[Contribution]:
    """Return the lines that come to nothing in whole units."""
    return [line for line in lines if not line.amount]


def chart_steps(valuation: Valuation, *, most: int = 10) -> list[Step]:
    """Return at most `most` steps; the smallest attributes go together into one.

    Parameters
    ----------
    valuation : Valuation
        What is explained.
    most : int, default 10
        Greatest number of steps, at least 4.

    Returns
    -------
    list of Step
        Start plus all amounts is the central estimate.
    """
    lines = in_order(valuation.contributions)
    ends = [line for line in lines if line.attribute in REMAINDERS]
    lines = [line for line in lines if line.attribute not in REMAINDERS]
    room = most - len(ends)
    small: list[Contribution] = []
    if len(lines) > room:
        lines, small = lines[: room - 1], lines[room - 1 :]
    drawn = [(c.label, c.value, c.amount, _interval(c)) for c in lines]
    together = f"{plural(len(small), 'smaller line')} together"
    summed = [(together, "", sum(c.amount for c in small), None)] if small else []
    closing = [(c.label, c.value, c.amount, _interval(c)) for c in ends]
    return _run(valuation.start, [*drawn, *summed, *closing])


def _run(
    start: int, parts: Sequence[tuple[str, str, int, tuple[float, float] | None]]
) -> list[Step]:
    steps, reached = [], start
    for label, value, amount, interval in parts:
        steps.append(Step(label, value, amount, reached, interval))
        reached += amount
    return steps


def _interval(line: Contribution) -> tuple[float, float] | None:
    return (line.lower, line.upper) if line.lower < line.upper else None


def _rank(line: Contribution) -> tuple[int, int, str]:
    place = REMAINDERS.index(line.attribute) + 1 if line.attribute in REMAINDERS else 0
    return place, -abs(line.amount), line.attribute
