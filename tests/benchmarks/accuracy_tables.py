"""Tables of results as CSV and Markdown; the same results give the same bytes."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from accuracy_measures import Measures

__all__ = ["COLUMNS", "Cost", "cost_csv", "csv_text", "markdown", "markdown_table"]


@dataclass(frozen=True)
class Cost:
    """What a method took: wall-clock seconds and the peak memory of its process, in MB."""

    seconds: float
    peak_mb: float


COLUMNS: tuple[tuple[str, str, int], ...] = (
    ("tested", "sales", 0),
    ("error", "median abs. error %", 2),
    ("within_10", "within 10 %", 1),
    ("within_20", "within 20 %", 1),
    ("ratio", "median ratio", 3),
    ("cod", "COD", 1),
    ("prd", "PRD", 3),
    ("prb", "PRB", 3),
    ("held", "80 % range held %", 1),
    ("width", "its median width %", 1),
    ("width_held", "width % at 80 % held", 1),
    ("score", "interval score (log)", 3),
    ("held_50", "50 % range held %", 1),
    ("held_95", "95 % range held %", 1),
    ("priced", "given a range %", 1),
)
"""Field, heading and decimals of each column."""

Rows = Mapping[str, Measures]


def _cell(value: float | None, digits: int) -> str:
    if value is None:
        return "–"
    # A zero has no sign: -0.0 and 0.0 would be two tables.
    return f"{round(value, digits) + 0.0:.{digits}f}"


def _cells(m: Measures) -> list[str]:
    return [_cell(getattr(m, name), digits) for name, _, digits in COLUMNS]


def csv_text(blocks: Mapping[str, Rows]) -> str:
    """Return blocks of rows as CSV: one line a set of sales and method."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["cars", "method", *(head for _, head, _ in COLUMNS)])
    for cars, rows in blocks.items():
        for method, m in rows.items():
            writer.writerow([cars, method, *_cells(m)])
    return out.getvalue()


def markdown(title: str, blocks: Mapping[str, Rows], notes: Sequence[str] = ()) -> str:
    """Return blocks of rows as a Markdown page."""
    parts = [f"# {title}"]
    for cars, rows in blocks.items():
        heads = ["method", *(head for _, head, _ in COLUMNS)]
        body = [[method, *_cells(m)] for method, m in rows.items()]
        parts += [f"## {cars}", markdown_table(heads, body)]
    parts += list(notes)
    return "\n\n".join(parts) + "\n"


def markdown_table(heads: Sequence[str], body: Sequence[Sequence[str]]) -> str:
    """Return one Markdown table, numbers to the right."""
    marks = ["---", *("---:" for _ in heads[1:])]
    return "\n".join("| " + " | ".join(row) + " |" for row in (heads, marks, *body))


def cost_csv(costs: Mapping[str, Cost]) -> str:
    """Return seconds and peak memory of each method as CSV: they differ from run to run."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(["method", "seconds", "peak MB"])
    for method, c in costs.items():
        writer.writerow([method, f"{c.seconds:.1f}", f"{c.peak_mb:.0f}"])
    return out.getvalue()
