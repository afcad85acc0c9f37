"""The text of a page or an HTML mail: marks taken off, nothing of it run."""

from __future__ import annotations

import re
from html.parser import HTMLParser

from valuation.reading.text import word_set

__all__ = ["html_text"]

_SILENT = frozenset({"script", "style", "head", "title", "template", "noscript", "svg", "object"})
_BLOCKS = word_set(
    """
    address article blockquote br caption center dd div dl dt fieldset figure footer form h1 h2 h3
    h4 h5 h6 header hr li main nav ol p pre section table tbody tfoot thead ul
    """
)
_CELL, _ROW = "\ue000", "\ue001"


class _Stripper(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.out: list[str] = []
        self._silent: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "body":
            self._silent.clear()
        if tag in _SILENT:
            self._silent.append(tag)
        elif tag in ("td", "th"):
            self.out.append(_CELL)
        elif tag == "tr":
            self.out.append(_ROW)
        elif tag in _BLOCKS:
            self.out.append("\n")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _BLOCKS:
            self.out.append("\n")

    def handle_endtag(self, tag: str) -> None:
        if tag in self._silent:
            # Whatever was left open within it ends with it.
            del self._silent[self._silent.index(tag) :]
        elif tag == "tr":
            self.out.append(_ROW)
        elif tag in _BLOCKS - {"br", "hr"}:
            self.out.append("\n")

    def handle_data(self, data: str) -> None:
        if not self._silent:
            self.out.append(re.sub(r"[\s\ue000\ue001]+", " ", data))


def html_text(markup: str) -> str:
    r"""Return the text of HTML: a line for each block and row, a tab between cells.

    Parameters
    ----------
    markup : str
        HTML; scripts, styles and comments are left out.

    Examples
    --------
    >>> html_text("<tr><th>Lot<th>Car</tr><tr><td><p>7</p><td>1967 Torvane&nbsp;GT</tr>")
    'Lot\tCar\n7\t1967 Torvane GT'
    """
    stripper = _Stripper()
    stripper.feed(markup)
    stripper.close()
    text = "".join(stripper.out).replace("\u00a0", " ")
    text = re.sub(rf"[ \n]*{_CELL}[ \n]*", _CELL, text)
    text = re.sub(rf"\s*{_ROW}[\s{_ROW}]*{_CELL}?", "\n", text).replace(_CELL, "\t")
    lines = [re.sub(r" +", " ", line).strip(" ") for line in text.split("\n")]
    return re.sub(r"\n{3,}", "\n\n", "\n".join(line.rstrip("\t") for line in lines)).strip("\n")
