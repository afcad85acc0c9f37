"""A listing as a car, or as a car file in which every statement can be corrected."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import tomlkit

from valuation.errors import ListingError
from valuation.importing.car_file import car_from_values
from valuation.importing.disk import write_text
from valuation.records import Car
from valuation.schema.statements import NOT_SAID, STRENGTHS, Statement

__all__ = ["car_of_listing", "read_listing_text", "write_listing_car"]

_LONGEST_TITLE = 120


def _title_and_rest(text: str) -> tuple[str, str]:
    """Take a short first line for the heading, the rest for the text."""
    first, _, rest = text.strip().partition("\n")
    if len(first) > _LONGEST_TITLE or not rest.strip():
        return "", text.strip()
    return first.strip(), rest.strip()


def _heading_and_rest(text: str) -> tuple[str, str]:
    """Take a heading from an advert that has no line of its own for it: its first sentence."""
    title, rest = _title_and_rest(text)
    if title:
        return title, rest
    first = rest.partition("\n")[0]
    end = next((i + 1 for i in range(len(first)) if first[i : i + 2] == ". "), len(first))
    if end > _LONGEST_TITLE:
        end = max(first.rfind(" ", 0, _LONGEST_TITLE), 0) or _LONGEST_TITLE
    return rest[:end].strip(), rest[end:].strip()


def read_listing_text(path: str | Path) -> str:
    """Read a text file that holds a listing.

    Parameters
    ----------
    path : str or pathlib.Path
        Text in UTF-8.

    Raises
    ------
    ListingError
        If it can't be read or is empty.
    """
    path = Path(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise ListingError(
            path.name,
            "it can't be read",
            got=type(error).__name__,
            remedy="Give a text file in UTF-8",
        ) from error
    if not text.strip():
        raise ListingError(path.name, "it is empty", remedy="Give the words of a listing")
    return text.strip()


def car_of_listing(
    text: str, *, known_makes: Mapping[str, tuple[str, ...]] | None = None, where: str = "listing"
) -> Car:
    """Return the car that a listing speaks of, as far as its words tell.

    Parameters
    ----------
    text : str
        The listing; a short first line is its heading, else its first sentence.
    known_makes : mapping of str to tuple of str, optional
        Models by make, from a fitted model, with which the heading is read.
    where : str
        Name for messages.

    Returns
    -------
    Car
        What the words state; their statements are with it.
    """
    title, description = _heading_and_rest(text)
    values = {"title": title, "description": description}
    return car_from_values(values, known_makes=known_makes, where=where)


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
