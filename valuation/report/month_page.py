"""The page of a month's work: the decision first, then everything it rests on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from valuation.report.chance_section import chance_sections
from valuation.report.change_section import causes_section, effects_section, panel_section
from valuation.report.coverage_section import coverage_sections
from valuation.report.decision_section import decision_section, files_section
from valuation.report.index_section import index_section, revision_section
from valuation.report.index_table import index_csv
from valuation.report.look_section import look_section, patterns_section
from valuation.report.notebook import Shown
from valuation.report.page import Bullets, Page, Section
from valuation.report.ratio_section import ratio_sections
from valuation.report.realised_section import realised_section
from valuation.report.render import render_page
from valuation.report.screens_section import screens_section
from valuation.report.words import STANDING_CAUTION, day
from valuation.results.month import MonthStudy
from valuation.results.words import INTERNAL

__all__ = ["month_files", "month_page", "render_month", "show_month"]

CAUTIONS = (
    "A study of past months says how the model did, and promises nothing of the next one.",
    "Set sales aside for what is wrong with them, never for being far from the estimate.",
)


def render_month(study: MonthStudy) -> str:
    """Return a month's work as one self-contained HTML document.

    Parameters
    ----------
    study : MonthStudy
        What to show.

    Returns
    -------
    str
        The document; the same month gives the same text.
    """
    return render_page(month_page(study))


def month_page(study: MonthStudy) -> Page:
    """Return the page of a month's work as data.

    Parameters
    ----------
    study : MonthStudy
        What to show.
    """
    return Page(
        "The month's study",
        f"Sales up to {day(study.as_of)}, {study.currency}",
        tuple(_sections(study)),
        about="the month's study",
        notice=INTERNAL,
    )


def month_files(study: MonthStudy) -> Mapping[str, bytes]:
    """Return what is kept and published with a month's decision: its page and its index.

    Parameters
    ----------
    study : MonthStudy
        The month.
    """
    files = {"study.html": render_month(study).encode()}
    if study.index is not None:
        files["index.csv"] = index_csv(study.index).encode()
    return files


def show_month(study: MonthStudy, *names: str) -> Shown:
    """Show a month's work in a notebook.

    Parameters
    ----------
    study : MonthStudy
        The month.
    *names : str
        Parts to show, each the name of a section or, if there is none, the beginning of several:
        ``decision``, ``files``, ``batches``, ``ratio`` (or one of its own, such as ``ratio-make``),
        ``coverage``, ``index``, ``change``, ``look``, ``realised``, ``chances``; the
        decision without any.

    Raises
    ------
    ValueError
        If there is no such part.
    """
    wanted = names or ("decision",)
    sections = tuple(_sections(study))
    unknown = [w for w in wanted if not w.startswith(PARTS)]
    if unknown:
        raise ValueError(f"show_month: no such part (got: {', '.join(unknown)})")
    named = {s.name for s in sections}
    shown = tuple(
        s
        for s in sections
        if any(s.name == w if w in named else s.name.startswith(w) for w in wanted)
    )
    return Shown(shown, study.summary())


PARTS = (
    "decision", "files", "batches", "ratio", "coverage", "index", "change", "look", "sources",
    "realised", "chances",
)  # fmt: skip
"""Parts of the page by the beginnings of their names."""


def _sections(study: MonthStudy) -> Iterator[Section]:
    yield decision_section(study)
    yield files_section(study)
    if study.screens:
        yield screens_section(study.screens)
    if study.ratios is not None:
        yield from ratio_sections(study.ratios)
    if study.coverage is not None:
        yield from coverage_sections(study.coverage)
    if study.index is not None:
        yield index_section(study.index)
        if study.index.against is not None:
            yield revision_section(study.index)
    if study.change is not None:
        yield panel_section(study.change)
        if any(car.up or car.down for car in study.change.cars):
            yield causes_section(study.change)
        yield effects_section(study.change)
    yield look_section(study.look)
    if study.look.patterns:
        yield patterns_section(study.look)
    if study.realised is not None:
        yield realised_section(study.realised)
    if study.chances is not None:
        yield from chance_sections(study.chances)
    yield Section("cautions", "Before you rely on it", (Bullets((*CAUTIONS, STANDING_CAUTION)),))
