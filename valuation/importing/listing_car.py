"""A car file made of a listing: its words, and every statement as an entry to correct."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import tomlkit

from valuation.importing.disk import write_text
from valuation.schema.statements import NOT_SAID, STRENGTHS, Statement

__all__ = ["write_listing_car"]

_LONGEST_TITLE = 120


def _title_and_rest(text: str) -> tuple[str, str]:
    """Take a short first line for the heading, the rest for the text."""
    first, _, rest = text.strip().partition("\n")
    if len(first) > _LONGEST_TITLE or not rest.strip():
        return "", text.strip()
    return first.strip(), rest.strip()


def write_listing_car(text: str, said: Sequence[Statement], path: str | Path) -> None:
    """Write a car file that holds a listing and what was understood of it.

    Parameters
    ----------
    text : str
        The listing; a short first line becomes the title.
    said : sequence of Statement
        What was read from it.
    path : str or pathlib.Path
        Where to; an older file is replaced at once or not at all.
    """
    doc = tomlkit.document()
    title, description = _title_and_rest(text)
    for key, words in (("title", title), ("description", description)):
        if words:
            doc.add(key, tomlkit.string(words, multiline="\n" in words))
    table = tomlkit.table()
    table.comment(f"each can be corrected: {', '.join(STRENGTHS)} or {NOT_SAID}")
    for key in dict.fromkeys(s.key for s in said):
        mine = [s for s in said if s.key == key]
        words = " / ".join(" ".join(s.words.split()) for s in mine)
        if len({s.strength for s in mine}) > 1:
            table.add(tomlkit.comment(f'"{key}" is said in several ways: {words}'))
            continue
        entry = tomlkit.item(str(mine[0].strength))
        table.add(key, entry.comment(words))
    doc.add("statements", table)
    write_text(tomlkit.dumps(doc), path)
