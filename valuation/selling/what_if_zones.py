"""Changes of zones: better marks, and the condition grade that follows from them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from difflib import get_close_matches

from valuation.importing.car_value import Wrong
from valuation.inspection.after_work import after_work
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.work_changes import COST_ALONE
from valuation.reading.numbers import read_number
from valuation.records import Car, Work, ZoneMark
from valuation.schema import BY_NAME
from valuation.selling.what_if_changes import Change

__all__ = ["GRADE", "Marking", "mark_words"]

GRADE = "condition_grade"

_BEST_MARK = 10.0


@dataclass(frozen=True)
class Marking:
    """Changes of the zones of a car.

    Parameters
    ----------
    car : Car
        With its other changes made.
    zones : sequence of Change
        The changes that name no attribute.
    settings : InspectionSettings
        Zones and their weights.
    faults : list of Wrong
        What can't be done is added.
    notes : list of str
        What is to be said is added.
    """

    car: Car
    zones: Sequence[Change]
    settings: InspectionSettings
    faults: list[Wrong]
    notes: list[str]

    def done(self) -> Car:
        """Return the car with better marks, and the grade that follows from them."""
        works = self._works()
        if self.faults:
            return self.car
        after = after_work(replace(self.car, work=works), self.settings)
        for change, line in zip(self.zones, after.lines, strict=True):
            if not line.counts:
                self._wrong(change, f"a better mark. {line.note.removesuffix(COST_ALONE).strip()}")
        self.notes.extend(after.notes)
        return after.car

    def _wrong(self, change: Change, allowed: str) -> None:
        self.faults.append(Wrong(change.name, change.text, allowed))

    def _works(self) -> tuple[Work, ...]:
        """Return the changes as lines of work that cost nothing."""
        known = {z.name: z.label for z in self.settings.zones}
        out = []
        for change in self.zones:
            if change.name not in known:
                self._wrong(change, _nearest(change.name, known))
                continue
            mark = self._mark(change)
            if mark is not None:
                label, free = known[change.name], Decimal(0)
                out.append(Work(label, free, free, zone=change.name, mark=mark))
        return tuple(out)

    def _mark(self, change: Change) -> float | None:
        today = self.car.marks.get(change.name)
        rest = change.text[1:] if change.step else change.text
        number = read_number(rest.strip(), "." if "." in rest else ",")
        if today is None:
            self._wrong(change, "a zone that was marked: without today's mark nothing can be told")
        elif number is None:
            self._wrong(change, "a mark from 0 to 10, such as 8.5, or a step such as +2")
        elif change.step and not isinstance(today, float | int):
            self._wrong(change, f"a whole mark: today's is {mark_words(today)}")
        else:
            at = float(today) if isinstance(today, float | int) else 0.0
            mark = number if not change.step else at + (number if change.step == "+" else -number)
            if 0 <= mark <= _BEST_MARK:
                return mark
            self._wrong(change, f"a mark from 0 to 10 (today: {mark_words(today)})")
        return None


def _nearest(name: str, zones: dict[str, str]) -> str:
    near = get_close_matches(name, [*BY_NAME, *zones], n=1)
    if near:
        return f"{near[0]}, the nearest known name"
    return "an attribute of a car file or a zone of the inspection"


def mark_words(mark: ZoneMark) -> str:
    """Write the mark of a zone.

    Examples
    --------
    >>> mark_words(5.5), mark_words((2.0, 8.0))
    ('5.5', '2 to 8')
    """
    if isinstance(mark, str):
        return mark
    return f"{mark:g}" if not isinstance(mark, tuple) else f"{mark[0]:g} to {mark[1]:g}"
