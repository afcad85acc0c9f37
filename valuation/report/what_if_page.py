"""The page of what-if questions."""

from __future__ import annotations

from valuation.report.page import Page
from valuation.report.render import render_page
from valuation.report.what_if_section import what_if_cautions, what_if_sections
from valuation.report.words import capital, day
from valuation.results.what_if import WhatIf, WhatIfs

__all__ = ["HOLDS_A_COST", "render_what_if", "what_if_page"]

HOLDS_A_COST = "Holds a cost: decide who may see it"
"""Stands on every page that shows one."""


def what_if_page(answers: WhatIf | WhatIfs) -> Page:
    """Return the page of some answers as data.

    Parameters
    ----------
    answers : WhatIf or WhatIfs
        What to show.

    Returns
    -------
    Page
        The answers, what to mind, the sales behind them and cautions, in this order.
    """
    of = answers.of
    every = answers.all if isinstance(answers, WhatIfs) else (answers,)
    paid = any(a.pay_back is not None for a in every)
    when = f"valued for {day(of.as_of)}" if of.as_of else "from an undated list"
    sections = (*what_if_sections(answers), what_if_cautions(answers))
    return Page(
        of.car,
        f"{capital(of.meaning)}, {when}",
        sections,
        about="what it would be worth otherwise",
        notice=HOLDS_A_COST if paid else "",
    )


def render_what_if(answers: WhatIf | WhatIfs) -> str:
    """Return the page of some answers as one self-contained HTML document.

    Parameters
    ----------
    answers : WhatIf or WhatIfs
        What to show.

    Returns
    -------
    str
        The document; the same answers give the same text.
    """
    return render_page(what_if_page(answers))
