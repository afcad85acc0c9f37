"""A revised catalogue against an earlier one: what is new, gone or changed, and the notes kept."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from valuation.importing.lot_list import Lot, LotList
from valuation.reading.text import fold
from valuation.records import SetAside, Value
from valuation.schema import ATTRIBUTES

__all__ = ["KINDS", "LotChange", "carry_notes", "compare_lots"]

KINDS = ("new", "withdrawn", "changed")
"""What can happen to a lot between two lists."""

_LONGEST = 80


@dataclass(frozen=True)
class LotChange:
    """What happened to one lot between two lists.

    Parameters
    ----------
    kind : {"new", "withdrawn", "changed"}
        What happened; a lot is withdrawn if the newer list no longer offers it.
    number : str
        Its lot number in the newer list; empty if it is not in it, or has none.
    sentences : tuple of str
        What differs, in sentences that name the lot only where the newer list does not hold it.
    before, now : Lot or None
        The lot in each list.
    """

    kind: str
    number: str
    sentences: tuple[str, ...]
    before: Lot | None = None
    now: Lot | None = None

    def to_dict(self) -> dict[str, Any]:
        """Return plain data, ready to become JSON."""
        return {
            "kind": self.kind,
            "number": self.number,
            "sentences": list(self.sentences),
            "number_before": self.before.number if self.before else None,
        }

    def summary(self) -> str:
        """Return the change as text for people."""
        return f"{self.kind}: {' '.join(self.sentences)}"


def _same_car(a: Lot, b: Lot) -> bool:
    """Tell whether two lots of one number can be one car, a correction aside."""
    if _title(a) and _title(a) == _title(b):
        return True
    same = {n: a.car.values.get(n) == b.car.values.get(n) for n in ("make", "model", "year")}
    return same["make"] and (same["model"] or same["year"])


def _title(lot: Lot) -> str:
    return fold(lot.car.title)


def _who(lot: Lot) -> tuple[Value | None, ...]:
    return tuple(lot.car.values.get(n) for n in ("make", "model", "year"))


class _Pairs:
    """Lots of two lists that are one and the same, found by one sign after another."""

    def __init__(self, before: Sequence[Lot], now: Sequence[Lot]) -> None:
        self.before, self.now = before, now
        self.of_now: dict[int, int] = {}

    def join(self, key: Callable[[Lot], object], *, plausible: bool = False) -> None:
        """Pair the lots whose key stands once among those left of either list."""
        taken = set(self.of_now.values())
        old = _once(key, ((i, x) for i, x in enumerate(self.before) if i not in taken))
        new = _once(key, ((i, x) for i, x in enumerate(self.now) if i not in self.of_now))
        for sign, i in new.items():
            j = old.get(sign, -1)
            if j >= 0 and (not plausible or _same_car(self.before[j], self.now[i])):
                self.of_now[i] = j


def _once(key: Callable[[Lot], object], lots: Iterator[tuple[int, Lot]]) -> dict[object, int]:
    seen: dict[object, list[int]] = {}
    for i, lot in lots:
        sign = key(lot)
        if sign:
            seen.setdefault(sign, []).append(i)
    return {sign: where[0] for sign, where in seen.items() if len(where) == 1}


def _paired(before: LotList, now: LotList) -> dict[int, int]:
    """Return for each lot of the newer list its position in the earlier one, where it is there."""
    pairs = _Pairs(before.lots, now.lots)
    pairs.join(lambda x: (x.number, x.chassis_key) if x.number and x.chassis_key else "")
    pairs.join(lambda x: x.chassis_key)
    pairs.join(lambda x: x.number, plausible=True)
    pairs.join(lambda x: (x.number, _title(x)) if x.number else "")
    pairs.join(lambda x: (x.number, *_who(x)) if x.number and any(_who(x)) else "")
    pairs.join(_title)
    return pairs.of_now


def _moved(positions: Sequence[int]) -> set[int]:
    """Return which of some numbers stand out of line: those outside a longest rising run."""
    tails: list[int] = []
    last: list[int] = []
    back: list[int] = []
    for i, p in enumerate(positions):
        at = bisect_left(tails, p)
        tails[at : at + 1] = [p]
        last[at : at + 1] = [i]
        back.append(last[at - 1] if at else -1)
    keep, i = set[int](), last[-1] if last else -1
    while i >= 0:
        keep.add(i)
        i = back[i]
    return set(range(len(positions))) - keep


def _shortened(text: str) -> str:
    plain = " ".join(text.split())
    return plain if len(plain) <= _LONGEST else plain[: _LONGEST - 1] + "…"


def _shown(value: Value | None) -> str:
    if value is None:
        return "not stated"
    if isinstance(value, tuple):
        return ", ".join(value) or "none"
    return (
        f"{value:,g}"
        if isinstance(value, float) and value >= 10_000
        else (f"{value:g}" if isinstance(value, float) else value)
    )


def _reserve(lot: Lot) -> str:
    if lot.reserve is not None:
        return f"{lot.reserve:,} {lot.currency}"
    return {"none": "no reserve", "yes": "a reserve"}.get(lot.reserve_kind, "not stated")


def _lot_differences(a: Lot, b: Lot) -> Iterator[str]:
    """Say what of the lot itself differs."""
    if a.number != b.number:
        yield f"It was {a.place}." if a.number else "It had no lot number."
    if a.day != b.day:
        yield f"Day: now {b.day or 'not stated'} (before: {a.day or 'not stated'})."
    if a.estimate != b.estimate:
        yield f"Estimate: now {b.estimate or 'none'} (before: {a.estimate or 'none'})."
    if _reserve(a) != _reserve(b):
        yield f"Reserve: now {_reserve(b)} (before: {_reserve(a)})."


def _car_differences(a: Lot, b: Lot) -> Iterator[str]:
    """Say what is stated otherwise about the car."""
    if fold(a.car.chassis) != fold(b.car.chassis):
        was, now = (x.car.chassis or "not stated" for x in (a, b))
        yield f"Chassis number: now {now} (before: {was})."
    for attribute in ATTRIBUTES:
        old, new = (x.car.values.get(attribute.name) for x in (a, b))
        if old != new:
            yield f"{attribute.label}: now {_shown(new)} (before: {_shown(old)})."
    if _title(a) != _title(b):
        was, now = _shortened(a.car.title), _shortened(b.car.title)
        yield f'Title: now "{now}" (before: "{was}").'
    if fold(a.car.description) != fold(b.car.description):
        yield _texts_differ(a, b)


def _texts_differ(a: Lot, b: Lot) -> str:
    """Say what a changed text says now that it did not say before, and the other way round."""
    old, new = ([s.text for s in x.car.said] for x in (a, b))
    more = [t for t in dict.fromkeys(new) if t not in old]
    less = [t for t in dict.fromkeys(old) if t not in new]
    parts = [f"it now says {', '.join(more)}"] if more else []
    parts += [f"it no longer says {', '.join(less)}"] if less else []
    return f"Its text changed: {'; '.join(parts)}." if parts else "Its text changed."


def _place_differences(pairs: Mapping[int, int], before: LotList, now: LotList) -> dict[int, str]:
    """Say which lots run at another place among those that are in both lists."""
    order = sorted(pairs)
    positions = [pairs[i] for i in order]
    out = {}
    for k in _moved(positions):
        i, j = order[k], positions[k]
        ahead = now.lots[order[k - 1]].place if k else "no other lot"
        earlier = [p for p in positions if p < j]
        was = before.lots[max(earlier)].place if earlier else "no other lot"
        out[i] = f"Running order: now behind {ahead} (before: behind {was})."
    return out


def _gone(lot: Lot, now: LotList) -> LotChange:
    """Return the change of a lot that the newer list does not hold as one to be priced."""
    aside = _aside_of(lot, now)
    if aside is None:
        said = f"{lot.name}: no longer in the list."
        return LotChange("withdrawn", "", (_capital(said),), lot)
    codes = ", ".join(f.code for f in aside.faults)
    kind = "withdrawn" if codes == "withdrawn" else "changed"
    said = "withdrawn" if kind == "withdrawn" else f"can no longer be priced ({codes})"
    return LotChange(kind, "", (_capital(f"{lot.name}: {said}."),), lot)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _aside_of(lot: Lot, of: LotList) -> SetAside | None:
    """Return the row set aside in a list that has the number of a lot."""
    places = zip(of.set_aside, of.aside_places, strict=True)
    return next((s for s, (number, _) in places if number and number == lot.number), None)


def compare_lots(before: LotList, now: LotList) -> tuple[LotChange, ...]:
    """Say what a revised catalogue changed.

    Lots are paired by their number and chassis, then by either, then by their title.  A number
    under which another car stands now is one lot withdrawn and one new.

    Parameters
    ----------
    before, now : LotList
        The earlier and the newer list.

    Returns
    -------
    tuple of LotChange
        In the running order of the newer list, then the lots that are gone; lots that stayed as
        they were are left out.
    """
    pairs = _paired(before, now)
    places = _place_differences(pairs, before, now)
    out = []
    for i, lot in enumerate(now.lots):
        if i not in pairs:
            aside = _aside_of(lot, before)
            said = "New in the list."
            if aside is not None:
                codes = ", ".join(f.code for f in aside.faults)
                said = f"It could not be priced in the earlier list ({codes})."
            out.append(LotChange("new", lot.number, (said,), None, lot))
            continue
        old = before.lots[pairs[i]]
        sentences = [*_lot_differences(old, lot), *_car_differences(old, lot)]
        sentences += [places[i]] if i in places else []
        if sentences:
            out.append(LotChange("changed", lot.number, tuple(sentences), old, lot))
    left = set(range(len(before.lots))) - set(pairs.values())
    return (*out, *(_gone(before.lots[j], now) for j in sorted(left)))


def carry_notes(before: LotList, now: LotList) -> LotList:
    """Return a revised catalogue with what the buyer wrote into the earlier one.

    Parameters
    ----------
    before, now : LotList
        The earlier and the newer list.

    Returns
    -------
    LotList
        `now` with the notes of `before`; where both have some, the newer stand first.  Notes of
        lots that are gone are told in the notes of the list.
    """
    pairs = _paired(before, now)
    lots = []
    for i, lot in enumerate(now.lots):
        old = before.lots[pairs[i]].notes if i in pairs else ""
        if old and old not in lot.notes:
            lot = replace(lot, notes=f"{lot.notes}\n{old}".strip())
        lots.append(lot)
    kept = set(pairs.values())
    lost = [x for j, x in enumerate(before.lots) if j not in kept and x.notes]
    said = [f"Your note on {x.name}, which is no longer in the list: {x.notes}" for x in lost]
    return replace(now, lots=tuple(lots), notes=(*now.notes, *said))
