"""The part of a form that keeps a sheet or page as a file, and says where it went."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path

import ipywidgets

from valuation.errors import SettingsError
from valuation.files import write_in_one_step
from valuation.forms.justify_said import SayLine
from valuation.forms.widgets import button, field, narrow_choice

__all__ = ["KINDS", "SavePart", "file_name", "plain_name"]

KINDS = {"PDF": ".pdf", "HTML page": ".html"}
"""What a sheet or page can be kept as, and the ending of its file."""

_LONGEST = 100
_NO_PLAIN_SIGN = re.compile(r"[^\w .,()+-]")


def plain_name(words: str) -> str:
    """Return words as the name of a file, without an ending.

    Examples
    --------
    >>> plain_name("1968 Torvane GT coupe, stock 17/3")
    '1968 Torvane GT coupe, stock 17-3'
    """
    return _NO_PLAIN_SIGN.sub("-", words).strip(" .")[:_LONGEST]


def file_name(typed: str, kind: str) -> str:
    """Return the name of the file, with its ending.

    Parameters
    ----------
    typed : str
        As it was typed, with or without the ending.
    kind : str
        One of :data:`KINDS`.

    Raises
    ------
    SettingsError
        If it is no name, or could name a file in another folder.

    Examples
    --------
    >>> file_name("for Saturday", "PDF"), file_name("sheet.PDF", "PDF"), file_name("a.pdf", "PDF")
    ('for Saturday.pdf', 'sheet.pdf', 'a.pdf')
    """
    ending, name = KINDS[kind], typed.strip()
    if name.lower().endswith(ending):
        name = name[: -len(ending)]
    if not name or name != plain_name(name):
        raise SettingsError(
            "File name",
            "it has to be a plain name without a folder",
            got=typed.strip()[:_LONGEST] or "nothing",
            remedy=f"Write letters, digits, spaces and hyphens, at most {_LONGEST}",
        )
    return name + ending


class SavePart:
    """Name, kind and button with which a sheet or page is kept.

    Parameters
    ----------
    folder : path-like
        Where they are kept; made with the first one.
    contents : mapping of str to callable
        For each of :data:`KINDS` what makes the content of the file.
    what : str, default "sheet"
        Its name for people.

    Attributes
    ----------
    name : ipywidgets.Text
        Name of the file.
    kind : ipywidgets.Dropdown
        What it is kept as.
    button : ipywidgets.Button
        Keeps it.
    said : SayLine
        Where it went, or what is wrong.
    box : ipywidgets.VBox
        All of it.
    """

    def __init__(
        self,
        folder: str | Path,
        contents: Mapping[str, Callable[[], bytes]],
        *,
        what: str = "sheet",
    ) -> None:
        self._folder, self._contents, self._what = Path(folder), contents, what
        self.name = field("File name", "")
        self.kind = narrow_choice("Keep it as", list(KINDS), next(iter(KINDS)))
        self.button = button(f"Save the {what}", self._clicked)
        self.said = SayLine()
        self.box = ipywidgets.VBox([self.name, self.kind, self.button, self.said.widget])

    def start(self, words: str) -> None:
        """Propose a name for that of another car."""
        self.name.value = plain_name(words)
        self.said.say("")

    def _clicked(self, _: object) -> None:
        self.said.doing("Making the file …", self._save)

    def _save(self) -> str:
        path = self._folder / file_name(self.name.value, self.kind.value)
        before = path.exists()
        write_in_one_step(path, self._contents[self.kind.value](), what=self._what)
        instead = ", in place of the one that was there" if before else ""
        return f"Saved as {path.name} in the folder {path.parent.resolve().name}{instead}."
