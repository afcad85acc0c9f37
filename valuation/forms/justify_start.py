"""What the salesperson's form starts from: the model in use, the stock, the folder for sheets."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from html import escape
from pathlib import Path

from valuation.errors import ValuationError
from valuation.evidence.ledger_in import ledger_of
from valuation.evidence.opening import reading
from valuation.evidence.workspace import Workspace
from valuation.forms.in_use import market_in_use, workspace_in_use
from valuation.forms.justify_form import JustifyForm
from valuation.forms.justify_said import without_places
from valuation.forms.justify_stock import Stock, cars_of, offered
from valuation.results.ledger import Ledger

__all__ = ["NoForm", "justify_form"]


class NoForm:
    """Stands where a form can't be: one sentence that says why.

    Parameters
    ----------
    reason : str
        In plain words.
    """

    def __init__(self, reason: str) -> None:
        self.reason = reason

    def __repr__(self) -> str:
        return self.reason

    def _repr_html_(self) -> str:
        return f'<p role="status"><strong>{escape(self.reason)}</strong></p>'


def justify_form(
    *,
    model: str | Path | None = None,
    cars: Iterable[str | Path],
    save_to: str | Path,
    workspace: str | Path | None = None,
    environment: Mapping[str, str] | None = None,
    sales: str | Path | None = None,
    as_of: date | None = None,
) -> JustifyForm | NoForm:
    """Return a form in which a salesperson shows a customer why a car costs what it does.

    Parameters
    ----------
    model : path-like, optional
        Model file, or folder to which models are published; that of the workspace by default.
    cars : iterable of path-like
        Folders of car files and filled inspection sheets.
    save_to : path-like
        Folder in which sheets are kept; made with the first one.
    workspace : path-like, optional
        The firm's evidence.  With a stock ledger in it only its cars are offered, and what the
        ledger knows of a purchase is kept out of everything that is shown.
    environment : mapping of str to str, optional
        Of the process; its ``VALUATION_WORKSPACE`` counts where `workspace` is missing.
    sales : path-like, optional
        Sales from which a model is learned and kept as `model` if there is none yet.
    as_of : datetime.date, optional
        Day of the sheet; the day of the model by default.

    Returns
    -------
    JustifyForm or NoForm
        The last expression of a cell shows it.  What is wrong with model, workspace or folders is
        a sentence in its place, for a customer may be standing by.
    """
    try:
        evidence = workspace_in_use(workspace, environment)
        market, version = market_in_use(model, evidence, sales)
        found, unread = cars_of(cars, known_makes=market.makes)
        stock = Stock(offered(found, _ledger(evidence)), unread)
        return JustifyForm(market, stock, save_to=save_to, as_of=as_of, version=version)
    except ValuationError as error:
        return NoForm(without_places(str(error)))


def _ledger(workspace: Workspace | None) -> Ledger | None:
    """Return the stock ledger, None if there is nothing in it."""
    if workspace is None:
        return None
    with reading(workspace) as con:
        # To the last day of all, so that no sale is left out: what is sold is not offered.
        found = ledger_of(con, as_of=date.max)
    return found if found.cars else None
