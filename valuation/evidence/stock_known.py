"""What a workspace knows of the firm's stock on a day: the ledger, and what was said of cars."""

from __future__ import annotations

from datetime import date

from valuation.evidence.ledger_in import ledger_of
from valuation.evidence.opening import reading
from valuation.evidence.said_files import read_said_folder
from valuation.evidence.said_in import said_of
from valuation.evidence.workspace import Workspace
from valuation.results.ledger import Ledger
from valuation.results.said import Said

__all__ = ["stock_known"]


def stock_known(workspace: Workspace, day: date) -> tuple[Ledger, tuple[Said, ...]]:
    """Return the ledger as it was on a day, and what was said of cars until then.

    Parameters
    ----------
    workspace : Workspace
        The evidence.
    day : datetime.date
        Last day that counts.

    Returns
    -------
    Ledger
        As of the day.
    tuple of Said
        Also what waits in the folder of what was said and is not read in yet.
    """
    with reading(workspace) as con:
        ledger, store = ledger_of(con, as_of=day), said_of(con)
    fresh = read_said_folder(workspace.said, known=store.said).files
    new = [f.thing for f in fresh if isinstance(f.thing, Said)]
    return ledger, tuple(s for s in (*store.said.values(), *new) if s.said_on <= day)
