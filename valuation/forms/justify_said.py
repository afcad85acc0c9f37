"""What a form says before a customer: what went wrong in a sentence, and never more than that."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import escape

import ipywidgets

from valuation.errors import ValuationError

__all__ = ["SayLine", "without_places"]

_PLACE = re.compile(r"(?:[A-Za-z]:)?[\w.~-]*(?:[/\\][\w.~ -]+)+[/\\]?")
_NOT_FORESEEN = (
    "That did not work, and the form can't say why. Go on with another car or question, and tell "
    "the analyst what you did."
)


def without_places(text: str) -> str:
    """Return a text in which of every whole path only the last name is left.

    Examples
    --------
    >>> without_places("/firm/cars/lot 112.toml, year: it is no number (got: n/s). Correct it.")
    'lot 112.toml, year: it is no number (got: n/s). Correct it.'
    """
    return _PLACE.sub(_last_name, text)


def _last_name(found: re.Match[str]) -> str:
    words: str = found.group(0)
    # What starts elsewhere tells no place of this machine: n/s, reversible/period, ../sheet.
    if not words.startswith(("/", "\\", "~")) and ":" not in words[:2]:
        return words
    return re.split(r"[/\\]", words.rstrip("/\\"))[-1]


class SayLine:
    """A line in which a form says what was done or what is wrong.

    Attributes
    ----------
    widget : ipywidgets.HTML
        The line.
    fault : Exception or None
        What was not foreseen and is shown to nobody: for whoever mends it.
    """

    def __init__(self) -> None:
        self.widget = ipywidgets.HTML()
        self.fault: Exception | None = None

    @property
    def text(self) -> str:
        """What stands in the line, as markup."""
        return str(self.widget.value)

    def say(self, text: str) -> None:
        """Put plain text into the line."""
        self.widget.value = f'<p role="status"><strong>{escape(text)}</strong></p>' if text else ""

    def doing(self, text: str, work: Callable[[], str]) -> bool:
        """Say what is being done, do it, and say what it returned or what is wrong.

        Parameters
        ----------
        text : str
            Shown while it lasts.
        work : callable
            Returns what is to be said at its end.

        Returns
        -------
        bool
            Whether it was done.
        """
        self.say(text)
        self.fault = None
        try:
            self.say(work())
        except ValuationError as error:
            self.say(without_places(str(error)))
            return False
        # Whatever it is, its traceback names folders and figures and a customer stands by.
        except Exception as error:
            self.fault = error
            self.say(_NOT_FORESEEN)
            return False
        return True
