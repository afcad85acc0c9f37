"""Fitted effects beside the true ones of an invented market, as sections for a notebook."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import pairwise

from valuation.errors import SettingsError
from valuation.report.notebook import Shown
from valuation.report.page import Block, Bullets, Cell, Figures, Grid, Paragraph, Section
from valuation.report.true_effects_chart import cloud_chart, effects_chart
from valuation.report.words import plural
from valuation.results.true_effects import TrueEffect, TrueEffects, off_by, percent_of

__all__ = [
    "all_effects_section",
    "beside_section",
    "effects_section",
    "show_all_effects",
    "show_beside",
    "show_effects",
]

_NAMED = 8
"""Effects outside their interval that are named."""


def show_effects(effects: TrueEffects, *, heading: str) -> Shown:
    """Show in a notebook some effects one below another: fitted, true, by plain means."""
    return Shown((effects_section(effects, heading=heading),), _text(effects))


def show_all_effects(effects: TrueEffects) -> Shown:
    """Show in a notebook all effects as a cloud, and which of them are missed."""
    return Shown((all_effects_section(effects),), _text(effects))


def show_beside(named: Mapping[str, TrueEffects], *, heading: str) -> Shown:
    """Show in a notebook the same effects as several markets learned them."""
    said = "\n".join(f"{name}: {effects.summary()}" for name, effects in named.items())
    return Shown((beside_section(named, heading=heading),), said)


def effects_section(effects: TrueEffects, *, heading: str) -> Section:
    """Return a section with a row for each effect.

    Parameters
    ----------
    effects : TrueEffects
        What to show.
    heading : str
        Of the section; its anchor follows from it.
    """
    name = _anchor(heading)
    blocks: list[Block] = [Paragraph(effects.summary(), "lead")]
    if len(effects):
        blocks.append(effects_chart(effects, name=name, title=heading))
    return Section(name, heading, tuple(blocks))


def all_effects_section(effects: TrueEffects) -> Section:
    """Return the section of all effects: how many lie inside, the cloud, what is missed.

    Parameters
    ----------
    effects : TrueEffects
        What to show.
    """
    heading = "Fitted against true effects"
    if not len(effects):
        return Section("true-effects", heading, (Paragraph(effects.summary()),))
    missed = effects.where(lambda e: not e.inside).effects
    worst = sorted(missed, key=lambda e: (-abs(e.fitted - e.true), e.name))
    blocks: list[Block] = [Figures(tuple(_figures(effects))), cloud_chart(effects)]
    if worst:
        said = f"{plural(len(worst), 'effect')} outside the interval, the furthest off first:"
        rest = len(worst) - _NAMED
        more = (f"and {rest} more.",) if rest > 0 else ()
        blocks += [Paragraph(said), Bullets((*(e.words() for e in worst[:_NAMED]), *more))]
    return Section("true-effects", heading, tuple(blocks))


def _figures(effects: TrueEffects) -> list[tuple[str, str, str]]:
    share = f"{effects.inside:,} of {len(effects):,} ({effects.inside / len(effects):.0%})"
    said = [("True effects inside their 90% interval", share, "90% were promised")]
    fitted = off_by(effects.fitted_error)
    said.append(("Half of the fitted effects off by less than", fitted, "of the price"))
    if not math.isnan(effects.plain_error):
        plain = off_by(effects.plain_error)
        said.append(("Half of the plain means off by less than", plain, "of the price"))
    return said


def beside_section(named: Mapping[str, TrueEffects], *, heading: str) -> Section:
    """Return a table of the same effects as several markets learned them.

    Parameters
    ----------
    named : mapping of str to TrueEffects
        Each with the name of its column; all of the same effects in the same order.
    heading : str
        Of the section; its anchor follows from it.

    Raises
    ------
    SettingsError
        If two columns are not of the same effects.
    """
    for (one, first), (other, second) in pairwise(named.items()):
        if [e.name for e in first.effects] != [e.name for e in second.effects]:
            raise SettingsError(
                heading,
                "effects can only be set side by side if they are the same",
                got=f"{len(first)} effects in {one}, {len(second)} in {other}",
                remedy="Leave out what one of them lacks",
            )
    heads = ("True", *named)
    columns = (Cell("Effect"), *(Cell(head, number=True) for head in heads))
    rows = tuple(_row(same) for same in zip(*(e.effects for e in named.values()), strict=True))
    note = "Small figures: 90% intervals; “outside” marks one that does not hold the true effect."
    said = tuple(f"{name}: {effects.summary()}" for name, effects in named.items())
    grid = Grid("Each effect as a change of the price", columns, rows, style="strata shares")
    return Section(_anchor(heading), heading, (Bullets(said), grid, Paragraph(note, "quiet")))


def _row(same: tuple[TrueEffect, ...]) -> tuple[Cell, ...]:
    first = same[0]
    head = Cell(first.name, plural(first.sales, "sale"))
    return (head, Cell(percent_of(first.true), number=True), *(_fitted(e) for e in same))


def _fitted(e: TrueEffect) -> Cell:
    interval = f"{percent_of(e.low)} to {percent_of(e.high)}" if e.sure else "no interval"
    mark = "" if e.inside else "outside"
    return Cell(percent_of(e.fitted), interval, mark, number=True)


def _anchor(heading: str) -> str:
    kept = "".join(c if c.isalnum() else " " for c in heading.casefold())
    return "-".join(kept.split())


def _text(effects: TrueEffects) -> str:
    return "\n".join([effects.summary(), *(f"  {e.words()}" for e in effects.effects)])
