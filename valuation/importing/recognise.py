"""Which column is which: by name and by content, doubles merged, contradictions said."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import pandas as pd

from valuation.importing.content import Column, fits, guess
from valuation.importing.names import HIGH_BID, base_name, match_name
from valuation.importing.raw import RawTable
from valuation.importing.source_map import ColumnUse, SourceMap, label_of
from valuation.importing.units import settle_use
from valuation.reading.text import fold, is_blank
from valuation.schema import BY_FIELD, BY_NAME

__all__ = ["recognise"]

_ENOUGH = 0.5
_COMPETES = 0.1
_NEVER_MERGED = frozenset({"price", "sale_date", "chassis", "sale_id", "make", "title", "currency"})


@dataclass(frozen=True, slots=True)
class _Claim:
    """A column that could be a target."""

    column: str
    score: float
    share: float
    order: int


def _claims(
    columns: Sequence[Column], taken: frozenset[str], words: Mapping[str, Mapping[str, str]]
) -> dict[str, list[_Claim]]:
    """Return the columns that claim each target, each column for the target it fits best."""
    claims: dict[str, list[_Claim]] = {}
    for order, column in enumerate(columns):
        best: tuple[float, float, float, str] | None = None
        for match in match_name(column.name):
            if match.target in taken:
                continue
            meant = words.get(match.target, {})
            share = max(fits(match.target, column), _share_in(column, meant))
            own = match.score >= 4 and share >= _COMPETES
            # A name that means it only at need has to be borne out by what stands there.
            if match.score <= 2.0 and share < 0.8:
                continue
            enough = share >= _ENOUGH or own
            rank = (float(enough), match.score + share, share, match.target)
            best = max(best, rank) if best else rank
        if best:
            claim = _Claim(column.name, best[1] - best[2], best[2], order)
            claims.setdefault(best[3], []).append(claim)
    return claims


def _share_in(column: Column, words: Mapping[str, str]) -> float:
    return column.share(lambda c: fold(c) in words) if words else 0.0


def _choose(target: str, claims: list[_Claim]) -> tuple[list[_Claim], list[_Claim]]:
    """Choose the column of a target and those that complete it; return also those left out."""
    ranked = sorted(claims, key=lambda c: (-(c.share >= _ENOUGH), -c.score, -c.share, c.order))
    first, rest = ranked[0], ranked[1:]
    # Of two spellings of one name the first in the file leads, even when it is the emptier one.
    same = [c for c in ranked if base_name(c.column) == base_name(first.column)]
    lead = min(same, key=lambda c: c.order) if len(same) > 1 else first
    if len(same) > 1 and (target not in _NEVER_MERGED or target == "price"):
        chosen = sorted(same, key=lambda c: c.order)
    else:
        chosen = [lead]
    if target not in _NEVER_MERGED and target != "year":
        chosen += [c for c in rest if c not in chosen and c.score >= 2.5 and c.share >= 0.6]
    chosen = [c for c in chosen if c.share >= _COMPETES or c is chosen[0]]
    return chosen, [c for c in ranked if c not in chosen]


def _merged_note(target: str, chosen: Sequence[_Claim]) -> str:
    names = " and ".join(f'"{c.column}"' for c in chosen)
    return (
        f"{names} both read as {label_of(target)}: where the first is empty or implausible, "
        "the next one counts."
    )


def _make_by_model(columns: Mapping[str, Column], free: Sequence[str], model: str) -> str:
    """Find the column that names one make for each model, if there is one."""
    lines = columns[model].cells
    best, fewest = "", columns[model].distinct
    for name in free:
        column = columns[name]
        words = column.share(lambda c: any(x.isalpha() for x in c) and len(c) <= 30)
        if column.stated < 0.8 or words < 0.95 or not 1 < column.distinct < 0.7 * fewest:
            continue
        pairs = pd.DataFrame({"line": lines, "name": column.cells})
        pairs = pairs[~pairs["line"].map(is_blank)]
        top = pairs.groupby("line")["name"].agg(lambda s: s.value_counts().iloc[0]).sum()
        if top >= 0.95 * len(pairs):
            best, fewest = name, column.distinct
    return best


def _by_content(
    columns: Mapping[str, Column], uses: dict[str, list[str]], free: list[str]
) -> dict[str, str]:
    """Recognise further columns by content alone; return column by target."""
    found: dict[str, str] = {}
    for name in free:
        missing = [t for t in (*BY_FIELD, *BY_NAME) if t not in uses and t not in found]
        target = guess(columns[name], missing)
        if target:
            found[target] = name
    if "make" not in uses and "model" in uses:
        rest = [n for n in free if n not in found.values()]
        make = _make_by_model(columns, rest, uses["model"][0])
        if make:
            found["make"] = make
    return found


def recognise(raw: RawTable, given: SourceMap | None = None) -> SourceMap:
    """Say what each column of a raw table is.

    Parameters
    ----------
    raw : RawTable
        The file as it came.
    given : SourceMap, optional
        A map that goes before; columns it does not name are recognised, unless it forbids that.

    Returns
    -------
    SourceMap
        Complete: with units, decimal signs and date orders settled.
    """
    given = given or SourceMap()
    good = [i for i in range(len(raw.rows)) if i not in raw.faults]
    cells = raw.cells.iloc[good]
    columns = {str(n): Column(str(n), cells[n]) for n in cells.columns}
    settled = tuple(settle_use(u, columns) for u in given.uses)
    if given.only_these:
        return replace(given, uses=settled)
    notes: list[str] = []
    named = {c for u in given.uses for c in u.columns} | set(given.ignore)
    empty = [n for n, c in columns.items() if not c.counts and n not in named]
    open_columns = [c for n, c in columns.items() if n not in named and n not in empty]
    taken = frozenset(u.target for u in given.uses)
    claims = _claims(open_columns, taken, given.words)
    uses: dict[str, list[str]] = {u.target: list(u.columns) for u in given.uses}
    new: list[ColumnUse] = []
    free = [c.name for c in open_columns]
    denied: list[str] = []
    for target, of_target in claims.items():
        chosen, left = _choose(target, of_target)
        least = _COMPETES if chosen[0].score >= 4 else _ENOUGH
        if chosen[0].share < least and len(chosen) == 1:
            notes.append(_contradiction(target, chosen[0]))
            denied.append(chosen[0].column)
            continue
        names = [c.column for c in chosen]
        said = (_merged_note(target, chosen),) if len(names) > 1 else ()
        notes.extend(said)
        notes.extend(
            f'"{c.column}" is left out: "{names[0]}" is read as {label_of(target)}.' for c in left
        )
        uses[target] = names
        free = [n for n in free if n not in names and n not in [c.column for c in left]]
        new.append(ColumnUse(target, tuple(names), how="name", notes=said))
    for target, name in _by_content(columns, uses, free).items():
        said = (f'"{name}" is read as {label_of(target)} by what stands in it.',)
        notes.extend(said)
        new.append(ColumnUse(target, (name,), how="content", notes=said))
        free.remove(name)
    unused = [n for n in free if n not in denied]
    if unused:
        notes.append(f"Columns that are not used: {_some(unused)}.")
    if empty:
        notes.append(f"Columns without any entry: {len(empty)} ({_some(empty)}).")
    complete = tuple(settle_use(u, columns) for u in new if u.target != HIGH_BID or "price" in uses)
    notes.extend(n for u in complete for n in u.notes if n not in notes)
    return replace(given, uses=(*settled, *complete), notes=(*given.notes, *notes))


def _contradiction(target: str, claim: _Claim) -> str:
    return (
        f'"{claim.column}" is not read as {label_of(target)}: only {claim.share:.0%} of its '
        "entries could be that."
    )


def _some(names: Sequence[str]) -> str:
    return ", ".join(names[:12]) + (", ..." if len(names) > 12 else "")
