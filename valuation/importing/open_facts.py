"""Facts about a car that are not settled: the tables ``[[open]]`` of a car file."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

import tomlkit
from tomlkit.items import AoT

from valuation.importing.car_tables import (
    is_list,
    number_at,
    plain_number,
    tables_of,
    text_at,
)
from valuation.importing.car_value import Wrong, read_value
from valuation.records import OpenFact
from valuation.schema import BY_NAME, Attribute

__all__ = ["OPEN_KEYS", "open_tables", "read_open_facts"]

_TEXTS = ("claim", "contradiction", "where", "tool", "how")

OPEN_KEYS = ("attribute", "could_be", "between", *_TEXTS, "minutes")
"""What can be said of an open fact."""

LONGEST = 100_000.0
"""Minutes beyond which a time to look is a slip of the pen."""


def read_open_facts(
    entry: Any, settled: Collection[str], faults: list[Wrong]
) -> tuple[OpenFact, ...]:
    """Read the tables ``[[open]]`` of a car file.

    Parameters
    ----------
    entry : object
        What stands under ``open``: a list of tables.  Each names an ``attribute`` and what it can
        still be: ``could_be``, a list of words (of a set: of sets such as ``"bills; build
        record"``), or ``between``, the lowest and the highest number; without either it can be
        anything.
    settled : collection of str
        Attributes that the file gives an answer to elsewhere.
    faults : list of Wrong
        Every wrong entry is appended.

    Returns
    -------
    tuple of OpenFact
        The tables; none if one of them is wrong.

    Examples
    --------
    >>> table = {"attribute": "engine_size", "between": [2.0, "2.6 litres"]}
    >>> (fact,) = read_open_facts([table], (), [])
    >>> fact.attribute, fact.low, fact.high
    ('engine_size', 2.0, 2.6)
    """
    out: list[OpenFact] = []
    before = len(faults)
    for place, table in tables_of(entry, "open", OPEN_KEYS, faults):
        attribute = _attribute(table, place, settled, [f.attribute for f in out], faults)
        texts = {key: text_at(table, key, place, faults) for key in _TEXTS}
        wanted = "a number of minutes, such as 5"
        minutes = number_at(table, "minutes", place, LONGEST, wanted, faults)
        if attribute is None:
            continue
        levels = _levels(attribute, table, place, faults)
        low, high = _span(attribute, table, place, faults)
        out.append(OpenFact(attribute.name, levels, low, high, minutes=minutes, **texts))
    return tuple(out) if len(faults) == before else ()


def _attribute(
    table: Mapping[str, Any],
    place: str,
    settled: Collection[str],
    earlier: Collection[str],
    faults: list[Wrong],
) -> Attribute | None:
    name = table.get("attribute", "")
    attribute = BY_NAME.get(name) if isinstance(name, str) else None
    allowed = ""
    if attribute is None:
        allowed = "an attribute such as engine_originality"
    elif name in settled:
        allowed = "left out, or the entry of that name: a fact is open or has an answer"
    elif name in earlier:
        allowed = "named once"
    if allowed:
        faults.append(Wrong(f"{place}.attribute", str(name), allowed))
        return None
    return attribute


def _levels(
    attribute: Attribute, table: Mapping[str, Any], place: str, faults: list[Wrong]
) -> tuple[str, ...]:
    """Return what a category or a set can still be, each once, as the contract writes it."""
    if "could_be" not in table:
        return ()
    entry, where = table["could_be"], f"{place}.could_be"
    if attribute.kind == "number":
        faults.append(
            Wrong(where, str(entry), "left out for a number, which is between = [low, high]")
        )
        return ()
    if not is_list(entry) or not entry:
        faults.append(Wrong(where, str(entry), 'a list of words, such as ["a", "b"]'))
        return ()
    out = []
    for value in entry:
        wrong: list[Wrong] = []
        read = read_value(attribute.name, value, wrong, []).get(attribute.name)
        faults += [Wrong(where, w.got, w.allowed) for w in wrong]
        if isinstance(read, tuple):
            out.append("; ".join(sorted(read)) or "none")
        elif isinstance(read, str):
            out.append(read)
        elif not wrong:
            faults.append(Wrong(where, str(value), f"a known {attribute.label.lower()}"))
    return tuple(dict.fromkeys(out))


def _span(
    attribute: Attribute, table: Mapping[str, Any], place: str, faults: list[Wrong]
) -> tuple[float | None, float | None]:
    """Return between which numbers it lies."""
    if "between" not in table:
        return None, None
    entry, where = table["between"], f"{place}.between"
    if attribute.kind != "number":
        faults.append(
            Wrong(where, str(entry), f"left out: {attribute.name} is no number, use could_be")
        )
        return None, None
    if not is_list(entry) or len(entry) != 2:
        faults.append(Wrong(where, str(entry), "two numbers, such as [55, 75]"))
        return None, None
    ends: list[float] = []
    for value in entry:
        wrong: list[Wrong] = []
        read = read_value(attribute.name, value, wrong, []).get(attribute.name)
        faults += [Wrong(where, w.got, w.allowed) for w in wrong]
        if isinstance(read, float):
            ends.append(read)
        elif not wrong:
            faults.append(Wrong(where, str(value), "two numbers, such as [55, 75]"))
    if len(ends) < 2:
        return None, None
    if ends[0] > ends[1]:
        faults.append(Wrong(where, str(entry), "the lower number first"))
        return None, None
    return ends[0], ends[1]


def open_tables(facts: Sequence[OpenFact]) -> AoT:
    """Return open facts as tables that :func:`read_open_facts` reads back.

    Parameters
    ----------
    facts : sequence of OpenFact
        In the order in which they are written.
    """
    out = tomlkit.aot()
    for fact in facts:
        table = tomlkit.table()
        table.add("attribute", fact.attribute)
        if fact.levels:
            table.add("could_be", list(fact.levels))
        if fact.low is not None and fact.high is not None:
            table.add("between", [plain_number(fact.low), plain_number(fact.high)])
        for key in _TEXTS:
            if text := getattr(fact, key):
                table.add(key, text)
        if fact.minutes is not None:
            table.add("minutes", plain_number(fact.minutes))
        out.append(table)
    return out
