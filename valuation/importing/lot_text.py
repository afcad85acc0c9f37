"""Lots in running text: a line or a paragraph each, as people paste them or houses write them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import pandas as pd

from valuation.errors import LotFileError
from valuation.importing.lot_days import is_day
from valuation.importing.lot_snippets import take_snippets
from valuation.importing.raw import RawTable
from valuation.importing.source_map import ColumnUse, SourceMap
from valuation.reading.text import fold

__all__ = ["TEXT_MAP", "begins_lot", "text_table"]

_COLUMNS = {
    "sale_id": "lot",
    "sale_date": "day",
    "title": "title",
    "description": "description",
    "chassis": "chassis",
    "estimate": "estimate",
    "reserve": "reserve",
    "notes": "notes",
}
TEXT_MAP = SourceMap(
    tuple(ColumnUse(target, (name,)) for target, name in _COLUMNS.items()), only_these=True
)
"""How the table is read that :func:`text_table` makes of a text."""

_NUMBER = r"[A-Za-z]{0,3}-?\d{1,5}(?:[.\-/]\d{1,3})?[A-Za-z]?"
_YEAR = r"(?:c(?:a|irca)?\.?\s?)?(?:(?:18[89]\d|19\d\d|20[0-3]\d)(?![\d,.]\d)|['’]\d\d\b)"
_WORD_MARK = re.compile(
    rf"(?i)^\W{{0,3}}(?:lot|los|lote|lotto|kavel)\b\s*(?:no\b|nr\b|n[°ºo]|number\b|nummer\b)?"
    rf"[.:#\s]*(?P<number>{_NUMBER})(?![\w%])\s*[:.)\]|–—-]*\s*(?P<rest>.*)$"
)
_BARE_MARK = re.compile(
    rf"^\W{{0,3}}(?P<number>{_NUMBER})"
    rf"(?:\s*[:.)\]|;–—]+\s*|\s*,\s*(?={_YEAR})|\s+[-–—]\s+|\s+)(?P<rest>\S.*)$"
)
_YEAR_LED = re.compile(rf"^\W{{0,3}}{_YEAR}\s+[^\W\d]")
_HOLDS_YEAR = re.compile(rf"(?<![\w$€£.,]){_YEAR}")
_SECOND_LOT = re.compile(
    rf"(?i)(?<=\S)[ |]+(?=lot\s*(?:no\.?|nr\.?|number|#)?\s*{_NUMBER}[\s:.)|–—,-]+{_YEAR}\s)"
)
_BULLET = re.compile(r"^\s*(?:[•▪●◦*·]|-(?=\s))\s*")
_QUOTED = re.compile(r"^(?:\s*>)+ ?")
_CLOSING = re.compile(
    r"(?:--|(?:(?:kind|best|warm|with(?: kind| best)?) )?(?:regards|wishes)|yours \w+|sincerely|"
    r"cheers|(?:many )?thanks|mit freundlichen grussen|viele grusse|cordialement|saludos|"
    r"cordiali saluti|met vriendelijke groet\w*|sent from my \w+)[ ,.!]*"
)
_LONGEST_READ = 20_000
_YEARS = range(1885, 2040)


@dataclass
class _Block:
    """The lines of one lot."""

    line: int
    number: str = ""
    day: str = ""
    lines: list[str] = field(default_factory=list)


@dataclass
class _Cut:
    """A text cut into lots, and the lines that belong to none."""

    blocks: list[_Block] = field(default_factory=list)
    before: list[str] = field(default_factory=list)
    after: list[str] = field(default_factory=list)
    days: int = 0


def _plain_lines(text: str) -> Iterator[tuple[int, str]]:
    """Return number and words of each line, without quotation marks of mails, bullets, odd spaces.

    A line that holds several lots comes as several of one number.
    """
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    for number, line in enumerate(text.split("\n"), start=1):
        plain = _QUOTED.sub("", line.replace("\u00a0", " ").replace("\ufeff", ""))
        # Wide gaps and tabs stood between columns.
        plain = re.sub(r"\s*\t\s*|(?<=\S) {3,}(?=\S)", " | ", _BULLET.sub("", plain).strip())
        for piece in _SECOND_LOT.split(plain):
            yield number, piece if any(map(str.isalnum, piece)) else ""


def _mark(line: str, word: bool) -> tuple[str, str] | None:
    """Return lot number and rest of a line that begins a lot, None if it begins none."""
    found = (_WORD_MARK if word else _BARE_MARK).match(line)
    if not found:
        return None
    number, rest = found["number"], found["rest"].strip()
    year_like = number.isdigit() and int(number) in _YEARS
    if year_like and not _YEAR_LED.match(rest):
        # "1968 Torvane GT" begins with its year, not with its number.
        return ("", line[found.start("number") :]) if word else None
    return number, rest


def begins_lot(line: str) -> bool:
    """Tell whether a line begins a lot by the word for it and a number.

    Examples
    --------
    >>> [begins_lot(line) for line in ("Lot 112", "LOT F12.1: 1968 Torvane GT", "Page 3")]
    [True, True, False]
    """
    return _mark(line.strip(), word=True) is not None


def _style(lines: Sequence[str]) -> str:
    """Tell what begins a lot: the word "lot", a bare number, a year, or a blank line."""
    stated = [line for line in lines if line]
    words = sum(_mark(line, word=True) is not None for line in stated)
    marks = [m for line in stated if (m := _mark(line, word=False))]
    bare = sum(bool(_HOLDS_YEAR.search(rest[:60])) for _, rest in marks)
    years = sum(bool(_YEAR_LED.match(line)) for line in stated)
    if words and words >= 0.3 * max(bare, years):
        return "word"
    if bare and bare >= 0.5 * years:
        return "number"
    if not years and not any(_HOLDS_YEAR.search(line) for line in stated):
        return ""
    return "year" if _paragraphs_hold_several(lines) else "paragraph"


def _paragraphs_hold_several(lines: Sequence[str]) -> bool:
    """Tell whether a paragraph holds several lines that begin with a year."""
    led = 0
    for line in [*lines, ""]:
        led = led + bool(_YEAR_LED.match(line)) if line else 0
        if led > 1:
            return True
    return False


class _Cutter:
    """Cuts lines into lots, one line after the other."""

    def __init__(self, numbered: Sequence[tuple[int, str]]) -> None:
        lines = [line for _, line in numbered]
        self.numbered, self.style, self.cut = numbered, _style(lines), _Cut()
        stated = [line for line in lines if line]
        led = sum(bool(_YEAR_LED.match(line)) for line in stated)
        # A list in which most lines are lots has no lines that go on with the one before.
        self.one_line_each = led >= 0.6 * max(1, len(stated))

    def run(self) -> _Cut:
        """Cut all of it."""
        day, after_blank, over = "", True, False
        for i, line in self.numbered:
            if not line:
                after_blank = True
                continue
            over = over or bool(self.cut.blocks and _CLOSING.fullmatch(fold(line)))
            if over and not (self.style in ("word", "number") and self._numbered(line)):
                self.cut.after.append(line)
            elif is_day(line):
                day = line.strip(" :-*=")
                self.cut.days += 1
            else:
                over = False
                self._take(i, line, day, after_blank)
            after_blank = False
        return self.cut

    def _take(self, i: int, line: str, day: str, after_blank: bool) -> None:
        begun = self._begins(line, after_blank)
        if begun is not None:
            self.cut.blocks.append(_Block(i, begun[0], day, [begun[1]] if begun[1] else []))
        elif self.cut.blocks:
            self.cut.blocks[-1].lines.append(line)
        else:
            self.cut.before.append(line)

    def _begins(self, line: str, after_blank: bool) -> tuple[str, str] | None:
        """Return number and rest of a line that begins a lot."""
        if self.style in ("word", "number"):
            return self._numbered(line)
        if self.style == "year":
            led = bool(_YEAR_LED.match(line))
            other = self.one_line_each and bool(self.cut.blocks) and line[0].isupper()
            return ("", line) if led or other else None
        if after_blank and (self.cut.blocks or _HOLDS_YEAR.search(line)):
            return "", line
        return None

    def _numbered(self, line: str) -> tuple[str, str] | None:
        mark = _mark(line, word=self.style == "word")
        if mark is None or self.style == "word":
            return mark
        number, rest = mark
        if _YEAR_LED.match(rest):
            return mark
        # "3.2 litre engine of 1962" goes on with the lot before.
        if rest[0].islower():
            return None
        if self.cut.blocks:
            return mark if _follows(self.cut.blocks[-1].number, number) else None
        return mark if _HOLDS_YEAR.search(rest[:60]) else None


def _follows(before: str, number: str) -> bool:
    """Tell whether a lot number can come next after another."""
    a, b = (re.sub(r"\D", " ", n).split() for n in (before, number))
    return bool(a and b) and 0 < int(b[0]) - int(a[0]) <= 50 and len(a) == len(b)


def _cells(block: _Block) -> list[str]:
    text = "\n".join(block.lines)
    found = take_snippets(text[:_LONGEST_READ])
    found["description"] += text[_LONGEST_READ:]
    texts = {"lot": block.number, "day": block.day, **found}
    return [texts[name] for name in _COLUMNS.values()]


def text_table(name: str, text: str) -> RawTable:
    """Cut a text into lots.

    Parameters
    ----------
    name : str
        Name of the text for people.
    text : str
        One lot a line or a paragraph, with or without numbers.

    Returns
    -------
    RawTable
        To be read with :data:`TEXT_MAP`; the number of a row is that of the line it begins in.

    Raises
    ------
    LotFileError
        If no lot can be recognised in it.
    """
    cut = _Cutter(list(_plain_lines(text))).run()
    if not cut.blocks:
        raise LotFileError(
            name,
            "no lot is recognised in the text",
            got=_excerpt(cut.before),
            remedy='Write each lot on a line of its own, such as "Lot 112  1968 Torvane GT Coupe"',
        )
    records = [_cells(b) for b in cut.blocks]
    cells = pd.DataFrame(records, columns=list(_COLUMNS.values()), dtype=object)
    notes = []
    for lines, where in ((cut.before, "before the first lot"), (cut.after, "behind the last lot")):
        if lines:
            notes.append(
                f"{name}: lines {where} that are not read as lots: {len(lines)} "
                f"(such as {_excerpt(lines)})."
            )
    rows = tuple(b.line for b in cut.blocks)
    return RawTable(name, cells, rows, {}, tuple(notes))


def _excerpt(lines: Sequence[str]) -> str:
    first = " ".join(" ".join(lines[:2]).split())
    return f'"{first[:60]}…"' if len(first) > 60 else f'"{first}"' if first else "nothing"
