"""The market index as CSV: a line for each segment and month."""

from __future__ import annotations

import csv
import io

from valuation.results.index import IndexMonth, MarketIndex
from valuation.spreadsheets import guarded

__all__ = ["INDEX_COLUMNS", "index_csv"]

INDEX_COLUMNS = (
    "segment", "month", "level", "lower80", "upper80", "lower95", "upper95", "sales", "thin",
    "held", "sell_through", "sell_through_low", "sell_through_high", "offered",
    "sell_through_over", "days_to_sell", "days_to_sell_cars", "days_to_sell_over", "revised_by",
    "was_held",
)  # fmt: skip
"""Names of the columns."""


def index_csv(index: MarketIndex) -> str:
    """Return a market index as CSV.

    Parameters
    ----------
    index : MarketIndex
        What to write.

    Returns
    -------
    str
        Text of the file, with lines ending in CR LF; names that could run as a formula are
        guarded.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(INDEX_COLUMNS)
    for segment in index.segments:
        name = guarded(segment.name)
        writer.writerows([name, *_cells(m)] for m in segment.months)
    return out.getvalue()


def _cells(m: IndexMonth) -> list[str]:
    levels = [f"{v:.2f}" for v in (m.level, m.lower80, m.upper80, m.lower95, m.upper95)]
    lots, days = m.sell_through, m.days_to_sell
    sold = (
        ["", "", "", "", ""]
        if lots is None
        else [f"{v:.3f}" for v in (lots.share, lots.low, lots.high)]
        + [str(lots.offered), lots.over]
    )
    stood = ["", "", ""] if days is None else [f"{days.median:g}", str(days.cars), days.over]
    revised = "" if m.revised_by is None else f"{m.revised_by:.2f}"
    marks = ["" if m.held else str(m.sales), _yes(m.thin), _yes(m.held)]
    return [m.month, *levels, *marks, *sold, *stood, revised, _yes(m.was_held)]


def _yes(holds: bool) -> str:
    return "yes" if holds else "no"
