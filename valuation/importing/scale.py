"""Which end of a condition scale is the good one, told by the prices."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.stats import spearmanr

from valuation.importing.assemble import Assembled

__all__ = ["orient_condition"]

_LEAST_ROWS = 20
_CLEAR = 0.1


def orient_condition(part: Assembled) -> None:
    """Turn a condition scale round where better grades go with lower prices, and say so.

    Grades and log prices are compared by rank within make and model; a map that names both ends
    of the scale is not questioned.
    """
    use = part.source_map.use("condition_grade")
    if use is None or use.worst is None or use.best is None:
        return
    ends = f"{use.worst:g} to {use.best:g}"
    name = f'"{use.columns[0]}"'
    if use.how == "map":
        part.notes.append(f"{name}: the scale {ends} is translated to 0 to 100, as the map says.")
        return
    table = part.table
    good = table["condition_grade"].notna() & (table["price"] > 0) & ~table["make"].isna()
    rows = table[good]
    together = 0.0
    if len(rows) >= _LEAST_ROWS:
        line = rows["make"].fillna("").astype(str) + "|" + rows["model"].fillna("").astype(str)
        logs = np.log(rows["price"])
        gap = logs - logs.groupby(line).transform("median")
        if gap.std() > 0 and rows["condition_grade"].std() > 0:
            together = float(spearmanr(rows["condition_grade"], gap).statistic)
    if together <= -_CLEAR:
        table["condition_grade"] = 100.0 - table["condition_grade"]
        turned = replace(use, worst=use.best, best=use.worst)
        uses = tuple(turned if u is use else u for u in part.source_map.uses)
        part.source_map = replace(part.source_map, uses=uses)
        part.notes.append(
            f"{name}: a scale {ends} on which {use.worst:g} is best, as prices show; "
            "translated to 0 to 100."
        )
        return
    why = "as prices show" if together >= _CLEAR else "which prices neither show nor deny"
    part.notes.append(
        f"{name}: a scale {ends} on which {use.best:g} is best, {why}; translated to 0 to 100."
    )
