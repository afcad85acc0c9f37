"""What a candidate has that the model in use has not."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from valuation.appraisal.market import MarketModel
from valuation.features.columns import key

__all__ = ["NewEvidence", "new_evidence"]


@dataclass(frozen=True, slots=True)
class NewEvidence:
    """How the evidence of two models differs.

    Parameters
    ----------
    came : int
        Sales that only the candidate has.
    unseen : int
        Those of them whose model line the model in use never saw.
    changed : bool
        Whether sales it rests on are gone or have another price, or models are built otherwise.
    """

    came: int
    unseen: int
    changed: bool


def new_evidence(candidate: MarketModel, in_use: MarketModel | None) -> NewEvidence:
    """Compare the sales two models rest on.

    Parameters
    ----------
    candidate : MarketModel
        The newer one.
    in_use : MarketModel or None
        The one in use.
    """
    if in_use is None:
        return NewEvidence(len(candidate.frame), 0, False)
    if "sale_key" not in in_use.frame:  # fitted to files, not to the evidence
        return NewEvidence(len(candidate.frame), 0, True)
    new, old = (m.frame.set_index("sale_key")["price"] for m in (candidate, in_use))
    came = candidate.frame[~candidate.frame["sale_key"].isin(old.index)]
    common = new.index.intersection(old.index)
    gone = len(common) < len(old)
    mended = not (new[common] == old[common]).all()
    seen = set(_lines(in_use.frame))
    unseen = sum(line not in seen for line in _lines(came))
    rebuilt = candidate.settings != in_use.settings
    return NewEvidence(len(came), unseen, bool(gone or mended or rebuilt))


def _lines(frame: pd.DataFrame) -> list[tuple[str, str]]:
    pairs = zip(frame["make"].tolist(), frame["model"].tolist(), strict=True)
    return [(key(make), key(model)) for make, model in pairs]
