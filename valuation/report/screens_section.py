"""The section of new batches: what speaks for and against each before it moves a model."""

from __future__ import annotations

from collections.abc import Sequence

from valuation.report.page import Block, Cell, Grid, Paragraph, Section
from valuation.report.words import capital
from valuation.results.screens import BatchScreen

__all__ = ["screens_section"]

_SAID = {"pass": "passed", "warn": "look at it", "hold": "held"}


def screens_section(screens: Sequence[BatchScreen]) -> Section:
    """Return the section of new batches, held ones first.

    Parameters
    ----------
    screens : sequence of BatchScreen
        What to show.
    """
    if not screens:
        return Section("batches", "New batches", (Paragraph("No batch is new to the model."),))
    held = [s for s in screens if s.verdict == "hold"]
    gravity = {"hold": 0, "warn": 1, "pass": 2}
    ordered = sorted(screens, key=lambda s: gravity[s.verdict])
    blocks: list[Block] = [Paragraph(_warning(s), "warning") for s in held]
    blocks += [
        _table(ordered),
        Paragraph(
            "Prices beside estimates: where prices of the batch lie in the middle beside what the "
            "model before it says of such sales, with a 95% interval. A market moves some per "
            "cent in a month; what lies further off is held until a person has looked at it, and "
            "does not move the model. Accept a batch that is right for all that: valuation "
            'batches accept BATCH --reason "…".',
            "quiet",
        ),
    ]
    return Section("batches", "New batches", tuple(blocks))


def _warning(screen: BatchScreen) -> str:
    return f"Batch {screen.batch or 'without a name'} is held. {screen.reason}"


def _table(screens: Sequence[BatchScreen]) -> Grid:
    columns = (
        Cell("Batch"),
        Cell("Sales", number=True),
        Cell("Prices beside estimates", number=True),
        Cell("Within 2%", number=True),
        Cell("What is said of it"),
    )
    return Grid("New batches", columns, tuple(_row(s) for s in screens), style="batches")


def _row(screen: BatchScreen) -> tuple[Cell, ...]:
    doubts = " ".join(f"{capital(d.kind)}: {d.sentence}" for d in screen.doubts)
    said = doubts or "Nothing speaks against it."
    return (
        Cell(screen.batch or "no name", "", _SAID[screen.verdict]),
        Cell(f"{screen.sales:,}", f"of {screen.rows:,} rows", number=True),
        _shift(screen),
        _near(screen),
        Cell(said),
    )


def _shift(screen: BatchScreen) -> Cell:
    if screen.shift is None or screen.shift_low is None or screen.shift_high is None:
        return Cell("too few", number=True)
    interval = f"{screen.shift_low:+.1f} to {screen.shift_high:+.1f}%"
    return Cell(f"{screen.shift:+.1f}%", interval, number=True)


def _near(screen: BatchScreen) -> Cell:
    if screen.near is None or screen.near_expected is None:
        return Cell("too few", number=True)
    return Cell(f"{screen.near:.0%}", f"expected {screen.near_expected:.0%}", number=True)
