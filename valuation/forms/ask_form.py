"""A form of what to ask for a car, for the firm only: closed until somebody opens it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import ipywidgets

from valuation.forms.ask_desk import AskDesk
from valuation.forms.ask_keep import keep_apart
from valuation.forms.ask_known import AskFrom, ask_known
from valuation.forms.justify_said import SayLine
from valuation.forms.widgets import button, hint
from valuation.results.words import INTERNAL

__all__ = ["AskForm", "ask_form"]

OPEN = "What to ask (for the firm only)"
PUT_AWAY = "Put away"

CLOSED = (
    "It shows what was paid and how low the firm may go: no customer should look. Put it away "
    "before one does."
)


class AskForm:
    """A line with a button, and behind it what to ask for a car; made by :func:`ask_form`.

    Nothing is read before it is opened.  Put away it holds nothing of what it showed, neither on
    the page nor in what is kept of it with the notebook.

    Parameters
    ----------
    place : AskFrom
        Where everything lies that asking prices follow from.
    keep_in : path-like
        Folder in which pages are kept; made with the first one.
    sheets_in : path-like
        Folder of customer sheets, in which none of them may be.

    Attributes
    ----------
    open, put_away : ipywidgets.Button
        Open it and close it.
    said : SayLine
        Why it can't be opened.
    desk : AskDesk or None
        What it holds while it is open.
    box : ipywidgets.VBox
        All of it.
    """

    def __init__(self, place: AskFrom, *, keep_in: str | Path, sheets_in: str | Path) -> None:
        self._place, self._keep_in, self._sheets_in = place, keep_in, sheets_in
        self.open = button(OPEN, self._open)
        self.put_away = button(PUT_AWAY, self._put_away)
        self.said = SayLine()
        self.desk: AskDesk | None = None
        self._closed = (self.open, hint(CLOSED))
        whose = ipywidgets.HTML(f"<strong>{INTERNAL}</strong>")
        self._opened = (ipywidgets.HBox([self.put_away, whose]), self.said.widget)
        self.box = ipywidgets.VBox(self._closed)

    def __repr__(self) -> str:
        return f"{OPEN}. {CLOSED}"

    def _repr_mimebundle_(self, **options: Any) -> dict[str, Any]:
        """Return the form; for whoever shows no forms only for whom it is, open or not."""
        bundle: dict[str, Any] = self.box._repr_mimebundle_(**options)
        return {**bundle, "text/plain": repr(self)}

    def _open(self, _: object) -> None:
        if self.desk is None:
            self.box.children = self._opened
            self.said.doing("Reading costs, ledger and model …", self._begin)

    def _begin(self) -> str:
        keep_apart(self._keep_in, self._sheets_in)
        known = ask_known(self._place)
        self.desk = AskDesk(
            known, keep_in=self._keep_in, sheets_in=self._sheets_in, put_away=self._put_away
        )
        self.box.children = (*self._opened, self.desk.box)
        return ""

    def _put_away(self, _: object) -> None:
        # First from the page: to end what was on it takes longer.
        self.box.children = self._closed
        self.said.say("")
        self.said.fault = None
        if self.desk is not None:
            self.desk.wipe()
            self.desk = None


def ask_form(
    *,
    cars: Iterable[str | Path],
    keep_in: str | Path,
    sheets_in: str | Path,
    model: str | Path | None = None,
    costs: str | Path | None = None,
    workspace: str | Path | None = None,
    environment: Mapping[str, str] | None = None,
    sales: str | Path | None = None,
    settings: str | Path | None = None,
    as_of: date | None = None,
) -> AskForm:
    """Return a form that says what to ask for a car of the firm, for the firm only.

    Parameters
    ----------
    cars : iterable of path-like
        Folders of car files and filled inspection sheets.
    keep_in : path-like
        Folder in which pages are kept; made with the first one.
    sheets_in : path-like
        Folder of customer sheets.  The form does not open if internal pages would come into it.
    model : path-like, optional
        Model file, or folder to which models are published; that of the workspace by default.
    costs : path-like, optional
        The firm's cost settings; without them the form says what is missing.
    workspace : path-like, optional
        The firm's evidence: its stock ledger says what was paid, and how fast cars sold.
    environment : mapping of str to str, optional
        Of the process; its ``VALUATION_WORKSPACE`` counts where `workspace` is missing.
    sales : path-like, optional
        Sales from which a model is learned and kept as `model` if there is none yet.
    settings : path-like, optional
        Stock settings; those of the workspace by default, else those of the package.
    as_of : datetime.date, optional
        First day of the price; the day of the model by default.

    Returns
    -------
    AskForm
        The last expression of a cell shows it: a closed line.  What is wrong with files and
        settings it says once it is opened.
    """
    place = AskFrom(tuple(cars), model, costs, workspace, environment, sales, settings, as_of)
    return AskForm(place, keep_in=keep_in, sheets_in=sheets_in)
