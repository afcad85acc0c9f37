"""From what every method said to the tables: all cars, and those inside the evidence."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from accuracy_against import Ratio, against_peers
from accuracy_measures import Measures, measure
from accuracy_methods import OURS, PEERS, Run
from accuracy_tables import markdown, markdown_table
from numpy.typing import NDArray

__all__ = ["CENTRE_OF", "page_of", "ratios_of", "tables_of"]

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
    whole = _whole(runs)
    tables = {"all cars": _measures(whole, np.ones(len(first.sale_id), dtype=bool))}
    if OURS in runs:
        inside = ~runs[OURS].outside
        tables["inside the evidence"] = _measures(whole, inside)
        if not inside.all():
            tables["outside the evidence"] = _measures(whole, ~inside)
    return tables


def _whole(runs: Mapping[str, Run]) -> dict[str, Run]:
    """Return the runs that give an estimate, those of ranges around that of their peer."""
    whole = {method: _centred(method, r, runs) for method, r in runs.items()}
    return {m: r for m, r in whole.items() if not np.isnan(r.predictions.central).any()}


def ratios_of(runs: Mapping[str, Run]) -> dict[str, list[Ratio]]:
    """Return our method against the best peer by set of cars; empty if one of them is missing."""
    if OURS not in runs:
        return {}
    whole, inside = _whole(runs), ~runs[OURS].outside
    out = {}
    for cars, rows in (("all cars", np.ones_like(inside)), ("inside the evidence", inside)):
        said = {m: r.predictions.take(rows) for m, r in whole.items() if m in {OURS, *PEERS}}
        ours = said.pop(OURS)
        out[cars] = against_peers(ours, said)
    return {cars: found for cars, found in out.items() if found}


def _centred(method: str, run: Run, runs: Mapping[str, Run]) -> Run:
    """Give ranges without an estimate the estimates they belong to."""
    if CENTRE_OF.get(method) not in runs:
        return run
    centre = runs[CENTRE_OF[method]].predictions.central
    return replace(run, predictions=replace(run.predictions, central=centre))


def _measures(runs: Mapping[str, Run], rows: NDArray[np.bool_]) -> dict[str, Measures]:
    return {m: measure(r.predictions.take(rows)) for m, r in runs.items()}


def page_of(
    title: str,
    tables: Mapping[str, Mapping[str, Measures]],
    runs: Mapping[str, Run],
    ratios: Mapping[str, list[Ratio]] | None = None,
) -> str:
    """Return the tables of one file as Markdown, with what each peer has chosen."""
    chosen = [
        f"- {m}: `{json.dumps(dict(r.chosen), sort_keys=True)}`"
        for m, r in runs.items()
        if r.chosen
    ]
    notes = [*([_against(ratios)] if ratios else []), *NOTES]
    if chosen:
        notes.append("Chosen on the training part:\n\n" + "\n".join(chosen))
    return markdown(title, tables, notes)


def _against(ratios: Mapping[str, list[Ratio]]) -> str:
    """Return the ratios as a table with a heading."""
    heads = ["cars, measure", "best peer", "theirs %", "ours %", "ours / theirs", "95 % interval"]
    body = [
        [
            f"{cars}, {r.of}",
            r.peer,
            f"{r.theirs:.2f}",
            f"{r.ours:.2f}",
            f"{r.value:.3f}",
            f"{r.low:.3f} to {r.high:.3f}",
        ]
        for cars, found in ratios.items()
        for r in found
    ]
    return "## Ours against the best peer\n\n" + markdown_table(heads, body)
