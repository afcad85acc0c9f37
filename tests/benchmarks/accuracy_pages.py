"""From what every method said to the tables: all cars, and those inside the evidence."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from accuracy_measures import Measures, measure
from accuracy_methods import OURS, Run
from accuracy_tables import markdown
from numpy.typing import NDArray

__all__ = ["CENTRE_OF", "page_of", "tables_of"]

CENTRE_OF = {
    "ranges_a_forward": "boosted_a",
    "ranges_a_split": "boosted_a",
    "ranges_b_forward": "boosted_b",
}
"""Peer whose estimates stand in the middle of a peer's ranges."""

NOTES = (
    "Ranges of peers: conformalised quantile boosting of library A or B around the estimates of "
    "its boosted trees, corrected on the last known sales walking forward (forward) or on a "
    "random quarter (split).",
    "Width at 80 % held: all ranges of a method stretched by one factor on their log half-widths "
    "so that 80 % of the prices fall inside. Interval score: mean, on log prices, level 80 %, "
    "over cars given a range; less is better. Inside the evidence: as our method flags it, the "
    "same cars for every method.",
)


def tables_of(runs: Mapping[str, Run]) -> dict[str, dict[str, Measures]]:
    """Return measures by set of cars and method.

    Raises
    ------
    ValueError
        If two methods were tested on different sales.
    """
    first = next(iter(runs.values()))
    for method, r in runs.items():
        if not np.array_equal(r.sale_id, first.sale_id):
            raise ValueError(f"{method} was tested on other sales than the first method")
    whole = {method: _centred(method, r, runs) for method, r in runs.items()}
    whole = {m: r for m, r in whole.items() if not np.isnan(r.predictions.central).any()}
    tables = {"all cars": _measures(whole, np.ones(len(first.sale_id), dtype=bool))}
    if OURS in runs:
        inside = ~runs[OURS].outside
        tables["inside the evidence"] = _measures(whole, inside)
        if not inside.all():
            tables["outside the evidence"] = _measures(whole, ~inside)
    return tables


def _centred(method: str, run: Run, runs: Mapping[str, Run]) -> Run:
    """Give ranges without an estimate the estimates they belong to."""
    if CENTRE_OF.get(method) not in runs:
        return run
    centre = runs[CENTRE_OF[method]].predictions.central
    return replace(run, predictions=replace(run.predictions, central=centre))


def _measures(runs: Mapping[str, Run], rows: NDArray[np.bool_]) -> dict[str, Measures]:
    return {m: measure(r.predictions.take(rows)) for m, r in runs.items()}


def page_of(
    title: str, tables: Mapping[str, Mapping[str, Measures]], runs: Mapping[str, Run]
) -> str:
    """Return the tables of one file as Markdown, with what each peer has chosen."""
    chosen = [
        f"- {m}: `{json.dumps(dict(r.chosen), sort_keys=True)}`"
        for m, r in runs.items()
        if r.chosen
    ]
    notes = [*NOTES, *(["Chosen on the training part:\n\n" + "\n".join(chosen)] if chosen else [])]
    return markdown(title, tables, notes)
