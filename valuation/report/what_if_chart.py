"""Answers to what-if questions as a picture: a dot with its interval on an axis of money."""

from __future__ import annotations

from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from valuation.money import format_money
from valuation.report.dot_chart import Dot, Scale, dots_figure
from valuation.report.drawing import in_both_widths
from valuation.report.page import Chart
from valuation.report.words import capital
from valuation.results.what_if import TOGETHER, WhatIf, WhatIfs, change_words, interval_words

__all__ = ["can_be_drawn", "what_if_chart", "what_if_figure"]

_CAPTION = (
    "Each row is one question: the change of the central estimate, with the line of its 90% "
    "interval. The dashed line is the car as it is. A filled dot has its whole interval on "
    "one side; an open one has it on both, so the sales can't tell whether it adds or takes away."
)
_DIAMOND = " The diamond is all of it together."


def can_be_drawn(answers: WhatIfs) -> bool:
    """Tell whether any answer moves the estimate."""
    return any(a.steps for a in answers.answers)


def what_if_figure(answers: WhatIfs, *, narrow: bool = False) -> Figure:
    """Draw the change of each question that moves the estimate.

    Parameters
    ----------
    answers : WhatIfs
        Of which :func:`can_be_drawn` is true.
    narrow : bool, default False
        True for a phone: the question stands above its dot.

    Returns
    -------
    matplotlib.figure.Figure
        One axes; every row has its change in figures.
    """
    drawn = [a for a in answers.all if a.steps]
    ends = [0.0, *(x for a in drawn for x in (a.lower, a.upper))]
    ticks = MaxNLocator(nbins=6, steps=[1, 2, 2.5, 5, 10]).tick_values(min(ends), max(ends))
    scale = Scale(
        f"Change of the central estimate, {answers.of.currency}",
        (0.0, 0.0),
        (0.0,),
        float,
        tuple(float(t) for t in ticks),
        lambda amount: format_money(amount, "", signed=True),
    )
    return dots_figure([_dot(a) for a in drawn], scale, narrow=narrow)


def what_if_chart(answers: WhatIfs) -> Chart:
    """Return the chart in both widths with its text alternative."""
    wide, narrow = in_both_widths(
        lambda slim: what_if_figure(answers, narrow=slim),
        name="what-if",
        title=f"What would change the estimate of {answers.of.car}",
        description=_describe(answers),
    )
    return Chart(wide, narrow, _CAPTION + (_DIAMOND if answers.together else ""))


def _dot(answer: WhatIf) -> Dot:
    shape = "doubtful" if answer.either_way else "inside"
    return Dot(
        capital(answer.name),
        float(answer.change),
        answer.lower,
        answer.upper,
        format_money(answer.change, "", signed=True),
        "beyond" if answer.name == TOGETHER else shape,
    )


def _describe(answers: WhatIfs) -> str:
    said = [f"As it is the car comes to {answers.of.money(answers.of.central)}."]
    for a in answers.all:
        if a.steps:
            change = a.of.money(a.change, signed=True)
            said.append(f"{capital(a.name)}: {change}, 90% interval {interval_words(a)}.")
        else:
            said.append(f"{capital(a.name)}: {change_words(a)}")
    return " ".join(said)
