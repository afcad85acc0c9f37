"""From one car to another as a picture: each difference as a bar that points its way."""

from __future__ import annotations

from valuation.report.page import Chart
from valuation.report.step_chart import step_chart
from valuation.report.steps import Stairs, Step
from valuation.report.words import plural
from valuation.results.beside import Beside
from valuation.results.beside_parts import DifferenceLine
from valuation.results.beside_words import two_values

__all__ = ["beside_chart", "beside_stairs"]

MOST = 10
"""Most steps that are drawn; the smallest go together into one."""

LONGEST = 42
"""Most signs that stand beside a bar."""

_CAPTION = (
    "Read from top to bottom, from the other car to this one. A plain bar pointing right: this car "
    "has more; a hatched bar pointing left: the other has more. Thin lines: 90% interval of a "
    "step. The scale does not start at 0."
)


def beside_chart(found: Beside) -> Chart:
    """Return the chart that leads from the other car to this one, with its text alternative."""
    return step_chart(beside_stairs(found), caption=_CAPTION)


def beside_stairs(found: Beside) -> Stairs:
    """Return the steps: the largest by themselves, the smaller ones together, remainders last.

    Parameters
    ----------
    found : Beside
        What to show.

    Returns
    -------
    Stairs
        From the other car to this one.
    """
    lines = [x for x in found.lines if x.amount]
    ends = [x for x in lines if x.lower is None]
    named = [x for x in lines if x.lower is not None]
    room = MOST - len(ends)
    small: list[DifferenceLine] = []
    if len(named) > room:
        named, small = named[: room - 1], named[room - 1 :]
    steps, reached = [], found.theirs.central
    for line in (*named, *_together(small), *ends):
        steps.append(Step(line.label, _value(line), line.amount, reached, _interval(line)))
        reached += line.amount
    return Stairs(
        found.ours.heading,
        found.currency,
        "The other car",
        found.theirs.central,
        tuple(steps),
        found.ours.central,
        f"From {found.theirs.heading} to {found.ours.heading}",
        "This car",
    )


def _together(small: list[DifferenceLine]) -> list[DifferenceLine]:
    """Join lines into one; intervals don't add, so it has none."""
    if not small:
        return []
    label = f"{plural(len(small), 'smaller line')} together"
    amount, exact = sum(x.amount for x in small), sum(x.exact for x in small)
    return [DifferenceLine("smaller", label, "", "", amount, exact, None, None, None)]


def _value(line: DifferenceLine) -> str:
    """Return both values where they fit beside the bar; the table has them all."""
    values = two_values(line) if line.lower is not None else ""
    return values if len(f"{line.label}: {values}") <= LONGEST else ""


def _interval(line: DifferenceLine) -> tuple[float, float] | None:
    if line.lower is None or line.upper is None or not line.lower < line.upper:
        return None
    return line.lower, line.upper
