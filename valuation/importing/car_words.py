"""The words of a car's listing: statements, their corrections, and the attributes they fill."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any, cast

from valuation.importing.car_value import Wrong
from valuation.reading.evidence import attributes_of
from valuation.reading.statements import listing_text, read_statements
from valuation.records import Value
from valuation.schema import BY_NAME
from valuation.schema.statements import NOT_SAID, STRENGTHS, TOPICS, Statement, Strength

__all__ = ["corrected", "fill_from_words", "read_corrections", "said_in"]

_KEYS = tuple(f"{t.name}: {value}" for t in TOPICS.values() for value in t.values)
_ANSWERS = (*STRENGTHS, NOT_SAID)


def read_corrections(entry: Any, faults: list[Wrong]) -> dict[str, str]:
    """Read the table ``[statements]`` of a car file.

    Parameters
    ----------
    entry : object
        What stands under ``statements``: a mapping of texts such as ``faults: rust`` to a
        strength or ``not said``.
    faults : list of Wrong
        Every wrong entry is appended.

    Returns
    -------
    dict of str to str
        The entries that can be used.
    """
    if not isinstance(entry, Mapping):
        faults.append(Wrong("statements", str(entry), "a table [statements]"))
        return {}
    out: dict[str, str] = {}
    for key, answer in entry.items():
        place = f"statements.{key}"
        if key not in _KEYS:
            faults.append(Wrong(place, str(key), _allowed(str(key))))
        elif answer not in _ANSWERS:
            faults.append(Wrong(place, str(answer), "one of " + ", ".join(_ANSWERS)))
        else:
            out[key] = answer
    return out


def _allowed(key: str) -> str:
    """Say what a wrong key could have been: the values of its topic, or the topics."""
    topic = TOPICS.get(key.split(":")[0].strip())
    if topic:
        return "one of " + ", ".join(f'"{topic.name}: {value}"' for value in topic.values)
    return 'a topic and a value such as "faults: rust"; topics are ' + ", ".join(TOPICS)


def corrected(said: tuple[Statement, ...], corrections: Mapping[str, str]) -> tuple[Statement, ...]:
    """Let corrections stand in place of what was read.

    Parameters
    ----------
    said : tuple of Statement
        What was read.
    corrections : mapping of str to str
        Key of a statement to its strength or ``not said``.

    Returns
    -------
    tuple of Statement
        What was read and not corrected, then the corrections, which have no words unless they
        only confirm what was read.

    Examples
    --------
    >>> read = (Statement("faults", "rust", "denied", "no rust", 0, 7),)
    >>> corrected(read, {"faults: rust": "not said", "faults: leak": "claimed"})[0].text
    'faults: leak'
    """
    kept = tuple(s for s in said if corrections.get(s.key, s.strength) == s.strength)
    read = {s.key for s in kept}
    own = []
    for key, answer in corrections.items():
        if answer != NOT_SAID and key not in read:
            topic, value = key.split(": ", 1)
            own.append(Statement(topic, value, cast(Strength, answer)))
    return (*kept, *own)


def said_in(title: str, description: str, corrections: Mapping[str, str]) -> tuple[Statement, ...]:
    """Return what title and description say of a car, corrected."""
    text = listing_text(title, description)
    return corrected(read_statements(text) if text else (), corrections)


def _resting_on(said: tuple[Statement, ...]) -> str:
    """Name the words behind a value."""
    words = list(dict.fromkeys(f'"{s.words}"' for s in said if s.words))
    if any(not s.words for s in said):
        words.append("a correction in the car file")
    return "words: " + ", ".join(words)


def fill_from_words(
    found: dict[str, Value], named: Collection[str], said: tuple[Statement, ...]
) -> tuple[list[str], dict[str, str]]:
    """Fill attributes that nothing else states from what the words say.

    Parameters
    ----------
    found : dict of str to Value
        Values so far; what the words tell is added.
    named : collection of str
        Attributes the car file names, which are left alone.
    said : tuple of Statement
        What the words say.

    Returns
    -------
    notes : list of str
        One remark for each value, and one for each contradiction.
    statements : dict of str to str
        The words each value rests on.
    """
    evidence = attributes_of(said)
    notes, statements = [], {}
    for name, value in evidence.values.items():
        if name in named or name in found:
            continue
        shown = ", ".join(value) or "none" if isinstance(value, tuple) else value
        notes.append(f"{BY_NAME[name].label} is read from the words of the listing: {shown}.")
        statements[name] = _resting_on(evidence.rests_on[name])
        found[name] = value
    return [*notes, *evidence.notes], statements
