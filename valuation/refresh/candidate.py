"""The candidate of a month: fitted once, kept until the month's work is done."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from valuation import __version__
from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings, Progress
from valuation.errors import ModelFileError
from valuation.features.assumptions import Assumptions
from valuation.records import SalesBook
from valuation.running.kept import Kept
from valuation.running.runner import Runner
from valuation.store.modelfile import load_model, save_model
from valuation.store.published import version_name

__all__ = ["Candidate", "fingerprint", "fit_candidate"]


@dataclass(frozen=True)
class Candidate:
    """A model that may be published.

    Attributes
    ----------
    market : MarketModel
        Fitted and calibrated.
    content : bytes
        Its file.
    version : str
        Its name if it is published.
    """

    market: MarketModel
    content: bytes
    version: str


def fingerprint(
    book: SalesBook, as_of: date | None, settings: ModelSettings, assumptions: Assumptions
) -> str:
    """Return a hash of everything that a candidate follows from."""
    digest = hashlib.sha256()
    for part in (__version__, book.currency, as_of, settings, assumptions):
        digest.update(repr(part).encode())
    for name in book.table:
        column = book.table[name]
        digest.update(f"\x1e{name}".encode())
        digest.update("\x1f".join(map(repr, column.tolist())).encode())
    return digest.hexdigest()


def fit_candidate(
    book: SalesBook,
    *,
    as_of: date | None,
    settings: ModelSettings,
    assumptions: Assumptions,
    work: Path,
    run: Runner | None = None,
    progress: Progress | None = None,
) -> Candidate:
    """Fit the candidate, or take the one that a run which was stopped had finished.

    Parameters
    ----------
    book : SalesBook
        Evidence.
    as_of : datetime.date or None
        Day up to which sales count.
    settings : ModelSettings
        How it is built.
    assumptions : Assumptions
        Effects that are assumed.
    work : pathlib.Path
        Folder of what is finished so far.
    run : Runner, optional
        How fits are run.
    progress : callable, optional
        Told how far it is.

    Returns
    -------
    Candidate
        The same bytes whether or not it was fitted just now.
    """
    file = work / "candidate.model"
    market = _finished(file)
    if market is None:
        market = fit_market(
            book,
            as_of=as_of,
            settings=settings,
            assumptions=assumptions,
            run=run,
            kept=Kept(work / "past"),
            progress=progress,
        )
        save_model(market, file)
        # What a model file keeps in single precision is what everyone prices with.
        market = load_model(file)
    content = file.read_bytes()
    day = market.as_of.isoformat() if market.as_of else ""
    return Candidate(market, content, version_name(day, content))


def _finished(file: Path) -> MarketModel | None:
    if not file.is_file():
        return None
    try:
        return load_model(file)
    except ModelFileError:  # whatever it is, it is made again
        return None
