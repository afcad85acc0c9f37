"""Kinds of cars: what the firm calls alike when it asks how fast they sell."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from valuation.appraisal.wordings import car_cells
from valuation.records import Car
from valuation.selling.selling_sale import DEALER
from valuation.stocking.effects import OTHER_CARS
from valuation.study.segments import Segment

__all__ = ["kinds_of"]

_COLUMNS = ["make", "model", "year", "body", "channel"]


def kinds_of(cars: Sequence[Car], segments: Sequence[Segment] = ()) -> tuple[str, ...]:
    """Return the kind of each car: the first segment it belongs to, else its make.

    Parameters
    ----------
    cars : sequence of Car
        The cars.
    segments : sequence of Segment
        Kinds by name; where there are any, a car in none of them is among
        :data:`~valuation.stocking.effects.OTHER_CARS`.

    Returns
    -------
    tuple of str
        In the order of the cars.
    """
    cells = [car_cells(car, None, {"channel": DEALER}) for car in cars]
    if not segments:
        return tuple(str(c.get("make") or OTHER_CARS) for c in cells)
    frame = pd.DataFrame(cells, dtype=object).reindex(columns=_COLUMNS)
    frame["year"] = pd.to_numeric(frame["year"], errors="coerce")
    kinds = np.full(len(cars), OTHER_CARS, dtype=object)
    for segment in reversed(segments):
        kinds[segment.rows(frame)] = segment.name
    return tuple(kinds.tolist())
