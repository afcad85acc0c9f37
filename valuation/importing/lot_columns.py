"""Which columns of a catalogue are the lot's own, and how the others are read as a car's."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

from valuation.importing.content import Column
from valuation.importing.lot_days import is_day
from valuation.importing.lot_names import AT_NEED, lot_target
from valuation.importing.names import HIGH_BID
from valuation.importing.raw import RawTable
from valuation.importing.recognise import recognise
from valuation.importing.source_map import LOT_TARGETS, SourceMap
from valuation.reading.dates import read_dates

__all__ = ["OF_A_LOT", "lot_map"]

OF_A_LOT = frozenset({"sale_id", "sale_date", "reserve"}) | LOT_TARGETS
"""Targets of columns that say something of the lot and not of its car."""

_RESULTS = frozenset({"price", HIGH_BID, "outcome", "basis"})
_NOT_READ = _RESULTS | {"sale_date", "sale_id", "reserve"}
_ENOUGH = 0.5
_ENDS = ("estimate low", "estimate high")


def _wordy(cell: str) -> bool:
    return bool(re.search(r"[^\W\d_]{3}", cell)) and " " in cell.strip()


def _borne_out(target: str, column: Column, others: frozenset[str]) -> bool:
    """Tell whether the content of a column agrees with what its name means only at need."""
    tests: dict[str, Callable[[str], bool]] = {
        "sale_date": lambda c: is_day(c) or read_dates([c]).values[0] is not None,
        "notes": _wordy,
        **dict.fromkeys(_ENDS, lambda c: any(x.isdigit() for x in c)),
    }
    if target in _ENDS and not others.issuperset(_ENDS):
        return False
    return target not in tests or column.share(tests[target]) >= _ENOUGH


def _own_columns(raw: RawTable, given: SourceMap) -> dict[str, str]:
    """Return the column of each target of a lot, those of the map first."""
    found = {u.target: u.columns[0] for u in given.uses if u.target in OF_A_LOT}
    if given.only_these:
        return found
    taken = {c for u in given.uses for c in u.columns} | set(given.ignore)
    matches = [
        (n, m) for n in map(str, raw.cells.columns) if n not in taken and (m := lot_target(n))
    ]
    named = frozenset(m.target for _, m in matches)
    for name, match in sorted(matches, key=lambda e: -e[1].score):
        if match.target in found:
            continue
        column = Column(name, raw.cells[name])
        if match.score > AT_NEED or _borne_out(match.target, column, named):
            found[match.target] = name
    return found


def _without_results(raw: RawTable, source: SourceMap) -> SourceMap:
    """Leave out prices and outcomes, which a catalogue does not have, and say so."""
    left = [u for u in source.uses if u.target in _RESULTS]
    names = [f'"{c}"' for u in left for c in u.columns]
    said = [n for n in source.notes if not any(n in u.notes for u in source.uses if u in left)]
    if names:
        said.append(
            f"{raw.name}: {', '.join(names)}: results of a sale or prices; a catalogue is read "
            "without them, and they are not used."
        )
    kept = tuple(u for u in source.uses if u.target not in _NOT_READ)
    return replace(source, uses=kept, notes=tuple(said))


def _own_notes(own: dict[str, str], given: SourceMap) -> list[str]:
    by_map = {u.target for u in given.uses}
    notes = []
    if "notes" in own and "notes" not in by_map:
        notes.append(
            f'"{own["notes"]}" is taken for your own notes: it is kept with the lot and not read '
            "as words of the seller. If it is the seller's, name it in a map as description."
        )
    return notes


def lot_map(raw: RawTable, given: SourceMap | None) -> tuple[dict[str, str], SourceMap]:
    """Say what each column of a catalogue is.

    Parameters
    ----------
    raw : RawTable
        The file as it came.
    given : SourceMap, optional
        A map that goes before.

    Returns
    -------
    own : dict of str to str
        Column by target of :data:`OF_A_LOT`.
    source : SourceMap
        How the other columns are read as those of a car; columns of results are left out.
    """
    given = given or SourceMap()
    own = _own_columns(raw, given)
    uses = tuple(u for u in given.uses if u.target not in OF_A_LOT | _NOT_READ)
    spare = [c for u in given.uses if u.target in _RESULTS for c in u.columns]
    rest = replace(given, uses=uses, ignore=(*given.ignore, *own.values(), *spare), notes=())
    source = _without_results(raw, recognise(raw, rest))
    return own, replace(source, notes=(*_own_notes(own, given), *source.notes))
