"""The car as it will be when the work on it is done: what a buyer's resale rests on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from valuation.errors import CarFileError
from valuation.importing.car_value import Wrong, all_wrong
from valuation.inspection.marks import NOT_ON_THIS_CAR
from valuation.inspection.settings import InspectionSettings, Zone
from valuation.inspection.settle_seen import outward, to_look_at
from valuation.inspection.settled import Settled
from valuation.inspection.work_changes import COST_ALONE, Change, Changing, change
from valuation.inspection.work_grade import agree, regrade
from valuation.inspection.work_lines import AfterWork, Held, WorkLine
from valuation.records import Car, OpenFact, Work, ZoneMark
from valuation.schema import BY_NAME

__all__ = ["PLANNED", "AfterWork", "WorkLine", "after_work"]

GRADE = "condition_grade"

PLANNED = (
    "Marks and values after the work are what it is meant to restore: look at the car again when "
    "it is done, and have brakes, steering, tyres, fuel lines and seat belts passed by a qualified "
    "mechanic under local rules before it is driven."
)
"""Said of every car whose work is counted."""

_PRESERVED = "unrestored, preserved"


@dataclass
class _Bench:
    """The car while its lines are gone through."""

    car: Car
    settings: InspectionSettings
    state: Settled
    marks: dict[str, ZoneMark]
    at_odds: bool
    notes: list[str] = field(default_factory=list)

    @property
    def graded(self) -> tuple[float, float] | None:
        """Ends of the condition grade as it is stated, None if it isn't."""
        value, fact = self.state.values.get(GRADE), self.state.open.get(GRADE)
        if isinstance(value, float | int):
            return float(value), float(value)
        if fact is None:
            return None
        top = BY_NAME[GRADE].high
        return (fact.low or 0.0, top if fact.high is None else fact.high)


def after_work(car: Car, settings: InspectionSettings) -> AfterWork:
    """Return a car as it will be when the listed work is done.

    Parameters
    ----------
    car : Car
        With its work, its marks and what is settled of it.
    settings : InspectionSettings
        Zones and weights of the condition grade.

    Returns
    -------
    AfterWork
        Marks and condition grade are never lower than today's, facts that no line settles stay
        open, and every line says what it does or why it is a cost alone.

    Raises
    ------
    CarFileError
        If marks or lines name zones that the settings don't have: all of them are named.
    """
    _check_zones(car, settings)
    if not car.work:
        return AfterWork(car, ())
    bench = _bench(car, settings)
    named = {line.attribute for line in car.work}
    lines = tuple(_line(bench, line, named) for line in car.work)
    _grade(bench)
    bench.notes += _remarks(car, lines)
    return AfterWork(_car(bench), lines, tuple(bench.notes))


def _check_zones(car: Car, settings: InspectionSettings) -> None:
    zones = {z.name: z for z in settings.zones}
    known = "one of the zones " + ", ".join(zones)
    wrong = [Wrong(f"marks.{name}", name, known) for name in car.marks if name not in zones]
    wrong += [
        Wrong(f"marks.{name}", NOT_ON_THIS_CAR, "a mark: every car has this zone")
        for name, mark in car.marks.items()
        if name in zones and mark == NOT_ON_THIS_CAR and not zones[name].can_be_absent
    ]
    wrong += [
        Wrong(f"work {at}.zone", line.zone, known)
        for at, line in enumerate(car.work, start=1)
        if line.zone and line.zone not in zones
    ]
    if wrong:
        what, remedy = all_wrong(wrong)
        raise CarFileError(car.name, what, remedy=remedy)


def _bench(car: Car, settings: InspectionSettings) -> _Bench:
    state = Settled(
        values=dict(car.values),
        open={f.attribute: f for f in car.open},
        not_looked_at=set(car.not_looked_at),
        cannot_be_told=set(car.cannot_be_told),
    )
    bench = _Bench(car, settings, state, dict(car.marks), at_odds=False)
    bench.at_odds = bool(car.marks) and not agree(car.marks, bench.graded, settings)
    return bench


def _line(bench: _Bench, line: Work, named: set[str]) -> WorkLine:
    before: Held | None = None
    after: Held | None = None
    label, came = "", Change(False, f"It names no zone and no attribute. {COST_ALONE}")
    if line.zone:
        label = bench.settings.zone(line.zone).label
        before = bench.marks.get(line.zone)
        came = _zone(bench, line, label)
        after = bench.marks.get(line.zone)
    elif line.attribute and line.value is not None:
        label = BY_NAME[line.attribute].label
        before = bench.state.values.get(line.attribute)
        if line.attribute == GRADE:
            came = _stated_grade(bench, line)
        else:
            came = change(Changing(line.attribute, line.value, bench.state, named, bench.settings))
        after = bench.state.values.get(line.attribute)
    return WorkLine(
        what=line.what,
        zone=line.zone,
        attribute=line.attribute,
        label=label,
        before=before,
        after=after,
        low=line.low,
        high=line.high,
        currency=line.currency,
        days=line.days,
        counts=came.counts,
        note=came.note,
    )


def _zone(bench: _Bench, line: Work, label: str) -> Change:
    """Raise the mark of a zone, never lower it."""
    today, mark = bench.marks.get(line.zone), line.mark or 0.0
    if bench.at_odds:
        return Change(False, f"The stated condition grade isn't that of the marks. {COST_ALONE}")
    if today is None:
        told = f"{label} has no mark today, so what the work adds can't be told."
        return Change(False, f"{told} {COST_ALONE}")
    if isinstance(today, str):
        return Change(False, f"{label} is {today}. {COST_ALONE}")
    low, high = today if isinstance(today, tuple) else (today, today)
    if mark <= low:
        told = "that" if low == high == mark else f"at least {low:g}"
        return Change(
            False, f"A mark of {mark:g}, and without this line it has {told}. {COST_ALONE}"
        )
    bench.marks[line.zone] = mark if mark >= high else (mark, high)
    return Change(True)


def _stated_grade(bench: _Bench, line: Work) -> Change:
    """Raise a condition grade that rests on no marks, never lower it."""
    value, today = line.value, bench.graded
    if not isinstance(value, float | int):
        raise TypeError(f"after_work: a condition grade is a number (got: {value!r})")
    if bench.car.marks:
        told = "The condition grade follows from the marks: name a zone and its mark."
        return Change(False, f"{told} {COST_ALONE}")
    if today is None:
        bench.state.put(GRADE, value)
        return Change(True, "Nobody graded it as it stands: the grade rests on this line alone.")
    if value <= today[0]:
        told = f"A grade of {value:g}, and without this line it is at least {today[0]:g}."
        return Change(False, f"{told} {COST_ALONE}")
    _put_grade(bench, value, max(value, today[1]), ())
    return Change(True)


def _grade(bench: _Bench) -> None:
    """Grade the car again if the mark of a zone has risen."""
    if bench.marks == dict(bench.car.marks):
        return
    today = bench.graded
    found = regrade(bench.car.marks, bench.marks, today, bench.settings)
    _put_grade(bench, found.low, found.high, [o.zone for o in found.grade.open])
    if today is not None and bench.graded == today:
        cap = found.grade.low_cap
        held = f": {cap.label} may hold it down" if cap else ""
        bench.notes.append(f"The condition grade is not higher after the work{held}.")
    elif today is None:
        bench.notes.append(
            "No condition grade is stated: after the work it follows from the marks."
        )


def _put_grade(bench: _Bench, least: float, most: float, open_zones: Sequence[Zone]) -> None:
    low, high = outward(least, most)
    fact = bench.state.open.get(GRADE)
    if round(most - least, 6) <= 0 or low == high:
        bench.state.put(GRADE, round(least, 2))
    elif fact is not None:
        bench.state.put(GRADE, replace(fact, low=low, high=high))
    else:
        fact = OpenFact(GRADE, low=low, high=high)
        bench.state.put(GRADE, to_look_at(fact, open_zones) if open_zones else fact)


def _remarks(car: Car, lines: Iterable[WorkLine]) -> Iterable[str]:
    counting = [line for line in lines if line.counts]
    if not counting:
        return
    yield PLANNED
    attributes = {line.attribute for line in counting}
    if car.values.get("restoration") == _PRESERVED and "restoration" not in attributes:
        yield (
            f"The car counts as {_PRESERVED}: if the work ends that, say so in a line on "
            "restoration."
        )
    faults = sorted({s.value for s in car.said if s.topic == "faults" and s.group != "denied"})
    if faults:
        yield (
            f"The listing still says so after the work: {', '.join(faults)}. Correct it under "
            "[statements] if the work puts it right."
        )


def _car(bench: _Bench) -> Car:
    car, state = bench.car, bench.state
    changed = {n for n in BY_NAME if car.values.get(n) != state.values.get(n)}
    kept: Mapping[str, str] = {n: t for n, t in car.statements.items() if n not in changed}
    order = list(dict.fromkeys([*car.values, *(n for n in BY_NAME if n in state.values)]))
    return replace(
        car,
        values={n: state.values[n] for n in order if n in state.values},
        open=tuple(state.open[n] for n in _order(car, state)),
        not_looked_at=frozenset(state.not_looked_at),
        cannot_be_told=frozenset(state.cannot_be_told),
        statements=kept,
        marks=bench.marks,
        work=(),
    )


def _order(car: Car, state: Settled) -> list[str]:
    """Return open attributes in the order of the car, new ones after them."""
    mine = [f.attribute for f in car.open if f.attribute in state.open]
    return list(dict.fromkeys([*mine, *state.open]))
