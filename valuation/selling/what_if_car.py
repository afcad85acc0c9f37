"""The car as it would be: changes made on paper, with what follows from them.

Values are read by the reader of car files, so that a question understands what a car file does.
Whether anything on earth can make such a change is said elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from valuation.appraisal.wordings import car_cells, say
from valuation.errors import QuestionError
from valuation.importing.car_value import Wrong, all_wrong, read_value
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.settled import Settled
from valuation.reading.numbers import read_number
from valuation.records import Car
from valuation.results.what_if_parts import ChangedFact
from valuation.schema import BY_NAME, Attribute
from valuation.schema.kinds import CANNOT_BE_TOLD, NOT_LOOKED_AT
from valuation.selling.what_if_changes import NOT_STATED, Change
from valuation.selling.what_if_zones import GRADE, Marking, mark_words

__all__ = ["ChangedCar", "with_changes"]

_OTHER_CAR = frozenset({"make", "model", "generation", "year"})

_ENGINE = ("engine_size", "engine_layout", "aspiration", "power", "fuel")
_GEARBOX = ("transmission", "gears", "transmission_origin")

_OPPOSED = {"major service done": "major service due", "major service due": "major service done"}


@dataclass(frozen=True)
class ChangedCar:
    """A car that is otherwise in some facts.

    Parameters
    ----------
    car : Car
        The car as it would be.
    facts : tuple of ChangedFact
        In what it differs.
    notes : tuple of str
        What else was done or left as it is, in sentences.
    """

    car: Car
    facts: tuple[ChangedFact, ...]
    notes: tuple[str, ...] = ()


def with_changes(
    car: Car, changes: Sequence[Change], settings: InspectionSettings, *, where: str = "what-if"
) -> ChangedCar:
    """Return a car as it would be with some changes.

    Parameters
    ----------
    car : Car
        The car as it is.
    changes : sequence of Change
        What would be otherwise, all at once.
    settings : InspectionSettings
        Zones, with which a mark changes the condition grade.
    where : str
        Name for messages.

    Returns
    -------
    ChangedCar
        The car itself if nothing is otherwise.

    Raises
    ------
    QuestionError
        With every change that can't be made, what it has to be and what came.
    """
    bench = _Bench(car, [c.name for c in changes])
    zones = [c for c in changes if c.name not in BY_NAME]
    for change in changes:
        bench.check_once(change)
        if change.name in BY_NAME:
            bench.attribute(change)
    if zones and GRADE in bench.named:
        bench.wrong(bench.seen[GRADE], "left out beside a zone: the grade follows from the marks")
    made = bench.car()
    if zones:
        made = Marking(made, zones, settings, bench.faults, bench.notes).done()
    if bench.faults:
        what, remedy = all_wrong(bench.faults)
        raise QuestionError(where, what, remedy=remedy)
    facts = tuple(_facts(car, made, bench.named, settings))
    return ChangedCar(made if facts else car, facts, tuple(dict.fromkeys(bench.notes)))


@dataclass
class _Bench:
    """The car while its changes are gone through."""

    before: Car
    named: Sequence[str]
    faults: list[Wrong] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    seen: dict[str, Change] = field(default_factory=dict)
    state: Settled = field(init=False)

    def __post_init__(self) -> None:
        car = self.before
        self.state = Settled(
            dict(car.values),
            {f.attribute: f for f in car.open},
            set(car.not_looked_at),
            set(car.cannot_be_told),
        )

    def wrong(self, change: Change, allowed: str) -> None:
        """Note a change that can't be made."""
        self.faults.append(Wrong(change.name, change.text, allowed))

    def check_once(self, change: Change) -> None:
        """Two changes of one fact agree if they are the same value, or both are steps."""
        first = self.seen.setdefault(change.name, change)
        same = first.text == change.text and not change.step
        if first is not change and not same and not (first.step and change.step):
            self.wrong(change, f"one thing at a time: it is {first.text} as well")

    def attribute(self, change: Change) -> None:
        """Change an attribute."""
        name, a = change.name, BY_NAME[change.name]
        if name in _OTHER_CAR:
            self.wrong(change, "left as it is: another one is another car, so compare the two")
        elif change.text in (NOT_STATED, NOT_LOOKED_AT, CANNOT_BE_TOLD):
            self._unsaid(name, change.text)
        elif change.step:
            steps: dict[str, Callable[[Change, Attribute], None]] = {
                "number": self._number_step,
                "set": self._set_step,
            }
            step = steps.get(a.kind)
            if step is None:
                self.wrong(change, f"one value: {a.label.lower()} has no more and less")
            else:
                step(change, a)
        else:
            self._whole(change)

    def _unsaid(self, name: str, text: str) -> None:
        if text == NOT_STATED:
            self.state.drop(name)
        elif text == CANNOT_BE_TOLD:
            self.state.put_untellable(name)
        else:
            self.state.put(name, None)

    def _whole(self, change: Change) -> None:
        before = len(self.faults)
        read = read_value(change.name, change.value, self.faults, self.notes)
        if not read and len(self.faults) == before:
            self.wrong(change, f"a known {BY_NAME[change.name].label.lower()}")
        for name, value in read.items():
            if name == change.name or name not in self.named:
                self.state.put(name, value)
        if change.name == "transmission" and read and not {"gears"} & {*read, *self.named}:
            self._forget_gears()

    def _forget_gears(self) -> None:
        before, after = (v.get("transmission") for v in (self.before.values, self.state.values))
        if before != after and "gears" in self.state.values:
            self.state.drop("gears")
            self.notes.append(
                "How many gears the other gearbox has is not said: those usual for the model line "
                "are taken. Say it with gears=N."
            )

    def _number_step(self, change: Change, a: Attribute) -> None:
        today = self.state.values.get(a.name)
        if not isinstance(today, float | int):
            self.wrong(change, "a whole value: today's is not settled, so nothing adds to it")
            return
        step = self._read_step(change)
        if step is None:
            return
        value = float(today) + (step if change.step == "+" else -step)
        if not a.low <= value <= a.high:
            reach = f"{a.low:,.10g} to {a.high:,.10g}".replace(",", "")
            self.wrong(change, f"a step that stays within {reach} (today: {today:g})")
            return
        self.state.put(a.name, value)

    def _read_step(self, change: Change) -> float | None:
        rest = change.text[1:].strip()
        read = read_value(change.name, rest, [], self.notes).get(change.name)
        if read is None:  # a step may be smaller than any value
            read = read_number(rest, "," if rest.count(",") == 1 else ".")
        if isinstance(read, float | int) and read >= 0:
            return float(read)
        self.wrong(change, f"{change.step} and a number, such as {change.step}10")
        return None

    def _set_step(self, change: Change, a: Attribute) -> None:
        rest = change.text[1:].strip()
        words = read_value(a.name, rest, self.faults, self.notes).get(a.name)
        if not isinstance(words, tuple):
            return
        today = self.state.values.get(a.name)
        known = today if isinstance(today, tuple) else ()
        if change.step == "-":
            missing = [w for w in words if w not in known]
            if missing:
                has = ", ".join(known) or "nothing"
                self.wrong(change, f"of what the car has today: {has}")
                return
            self.state.put(a.name, tuple(w for w in known if w not in words))
            return
        if today is None:
            self.notes.append(
                f"{a.label}: what there is today is not settled; it is taken to be nothing else."
            )
        gone = {_OPPOSED[w] for w in words if w in _OPPOSED}
        self.state.put(a.name, tuple(sorted({*known, *words} - gone)))

    def car(self) -> Car:
        """Return the car with the changes of its attributes."""
        car, state = self.before, self.state
        order = list(dict.fromkeys([*car.values, *(n for n in BY_NAME if n in state.values)]))
        made = replace(
            car,
            values={n: state.values[n] for n in order if n in state.values},
            open=tuple(f for f in car.open if f.attribute in state.open),
            not_looked_at=frozenset(state.not_looked_at),
            cannot_be_told=frozenset(state.cannot_be_told),
            work=(),
        )
        return self._without_old_words(made)

    def _without_old_words(self, made: Car) -> Car:
        """Leave out the words about an engine or a gearbox that would be another."""
        if made.engine_text and self._moved(made, _ENGINE):
            made = replace(made, engine_text="")
            self.notes.append("The words about the engine as it is are left out.")
        if made.transmission_text and self._moved(made, _GEARBOX):
            made = replace(made, transmission_text="")
            self.notes.append("The words about the gearbox as it is are left out.")
        return made

    def _moved(self, made: Car, names: Sequence[str]) -> bool:
        return any(self.before.values.get(n) != made.values.get(n) for n in names)


def _facts(
    before: Car, after: Car, named: Sequence[str], settings: InspectionSettings
) -> list[ChangedFact]:
    """Return the facts in which two cars differ, zones first as the grade follows from them."""
    out = [
        ChangedFact(z.name, z.label, mark_words(before.marks[z.name]), mark_words(mark))
        for z in settings.zones
        if (mark := after.marks.get(z.name)) is not None and mark != before.marks.get(z.name)
    ]
    old, new = (car_cells(car, None, {}) for car in (before, after))
    for name, a in BY_NAME.items():
        was, now = (say(name, cells) for cells in (old, new))
        if was != now or before.values.get(name) != after.values.get(name):
            out.append(ChangedFact(name, a.label, was, now, asked=name in named))
    return out
