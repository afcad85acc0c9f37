"""What an inspection looks at and what it counts: the firm's settings, checked and frozen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from valuation.inspection.dates import Window
from valuation.reading.text import fold

__all__ = [
    "STATUSES",
    "Band",
    "Component",
    "ComponentRules",
    "Group",
    "InspectionSettings",
    "MakerRule",
    "Zone",
]

STATUSES = (
    "numbers-matching",
    "original",
    "date-correct",
    "maker's service replacement",
    "correct type",
    "period replacement",
    "later replacement",
    "missing",
)
"""What a component can be, from the best to the worst."""


@dataclass(frozen=True, slots=True)
class Group:
    """One of the five groups that a preview marks.

    Parameters
    ----------
    name, label : str
        Name in files, and for people.
    spread : float
        How far a zone may lie from the mark of its group, in marks.
    look : str
        How to look at it within a minute or two.
    """

    name: str
    label: str
    spread: float
    look: str


@dataclass(frozen=True, slots=True)
class Zone:
    """One zone of the car that gets a mark.

    Parameters
    ----------
    name, label : str
        Name in files, and for people.
    group : str
        Group of the preview it belongs to.
    weight : float
        Its share of the condition grade.
    structural : bool
        Whether it caps the grade.
    can_be_absent : bool
        Whether there are cars without it.
    preview : bool
        Whether the mark of its group says anything of it.
    spread : float
        How far it may lie from the mark of its group.
    where, tool, how : str
        Where to look, with what, and how.
    minutes : float
        How long it takes.
    """

    name: str
    label: str
    group: str
    weight: float
    structural: bool
    can_be_absent: bool
    preview: bool
    spread: float
    where: str
    tool: str
    minutes: float
    how: str


@dataclass(frozen=True, slots=True)
class Component:
    """One component whose originality counts or speaks for another.

    Parameters
    ----------
    name, label : str
        Name in files, and for people.
    weight : float
        Its share of the originality score; 0 for one that only supports or contradicts.
    stamped, dated, part_number : bool
        Whether it carries a number that can match the chassis, a date, a part number.
    can_be_missing : bool
        False where there is always something.
    can_be_absent : bool
        Whether there are cars that never had one.
    speaks_for : str
        Component that its number supports or contradicts, empty for none.
    strong_days, acceptable_days : int or None
        Date window of its own.
    where, tool, how : str
        Where number and date stand, with what and how to read them.
    minutes : float
        How long it takes.
    """

    name: str
    label: str
    weight: float
    stamped: bool
    dated: bool
    part_number: bool
    can_be_missing: bool
    can_be_absent: bool
    speaks_for: str
    strong_days: int | None
    acceptable_days: int | None
    where: str
    tool: str
    minutes: float
    how: str


@dataclass(frozen=True, slots=True)
class Band:
    """A plain word for a range of grades.

    Parameters
    ----------
    name : str
        The word.
    lowest : float
        Grade from which it holds.
    """

    name: str
    lowest: float


@dataclass(frozen=True, slots=True)
class MakerRule:
    """What is special about some years of one maker.

    Parameters
    ----------
    make : str
        The marque, in any case and with or without accents.
    first_year, last_year : int
        Years for which it holds.
    components : frozenset of str
        Components for which it holds, empty for all; what is said of numbers then leaves out
        those whose number names the car.
    no_stamped_numbers : bool
        Whether the maker stamped no number on them.
    own_number_series : bool
        Whether their numbers never were that of the chassis.
    dates_say_nothing : bool
        Whether parts were used in no order of date.
    strong_days, acceptable_days : int or None
        Date window.
    model_year_starts : (int, int) or None
        Month and day on which the model year starts in the year before.
    """

    make: str
    first_year: int
    last_year: int
    components: frozenset[str]
    no_stamped_numbers: bool
    own_number_series: bool
    dates_say_nothing: bool
    strong_days: int | None
    acceptable_days: int | None
    model_year_starts: tuple[int, int] | None

    def holds(self, make: str, year: int | None) -> bool:
        """Return whether it holds for a car of this make and year."""
        known = year is not None and self.first_year <= year <= self.last_year
        return known and fold(make) == fold(self.make)


@dataclass(frozen=True, slots=True)
class ComponentRules:
    """What holds for one component of one car.

    Parameters
    ----------
    stamped : bool
        Whether it carries a number that can match.
    unstamped_by_maker : bool
        Whether it would, had the maker stamped any.
    own_series : bool
        Whether its number never was that of the chassis.
    window : Window
        How long before the car it may have been made.
    """

    stamped: bool
    unstamped_by_maker: bool
    own_series: bool
    window: Window


@dataclass(frozen=True)
class InspectionSettings:
    """Everything the firm has settled about inspections.

    Parameters
    ----------
    groups : tuple of Group
        Groups of a preview.
    zones : tuple of Zone
        Zones in walking order.
    cap_points : float
        Points that the grade may lie above the worst structural zone.
    bands : tuple of Band
        Plain words, from the lowest.
    statuses : mapping of str to float
        What each of :data:`STATUSES` counts, 0 to 1.
    components : tuple of Component
        Components in the order of the sheet.
    window : Window
        How long before the car a part may have been made, unless a rule says otherwise.
    assembly_days : int
        Days from casting to assembly of one unit beyond which it is worth a look.
    model_year_starts : (int, int)
        Month and day on which a model year starts in the year before.
    makers : tuple of MakerRule
        Rules of makers and years; the later count before the earlier.
    """

    groups: tuple[Group, ...]
    zones: tuple[Zone, ...]
    cap_points: float
    bands: tuple[Band, ...]
    statuses: Mapping[str, float]
    components: tuple[Component, ...]
    window: Window
    assembly_days: int
    model_year_starts: tuple[int, int]
    makers: tuple[MakerRule, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "statuses", MappingProxyType(dict(self.statuses)))

    @property
    def names_of_the_car(self) -> frozenset[str]:
        """Components whose number names the car: one that others speak for, and those others."""
        speaking = [c for c in self.components if c.speaks_for]
        return frozenset(c.name for c in speaking) | {c.speaks_for for c in speaking}

    def zone(self, name: str) -> Zone:
        """Return a zone by its name; KeyError if there is none."""
        return {z.name: z for z in self.zones}[name]

    def component(self, name: str) -> Component:
        """Return a component by its name; KeyError if there is none."""
        return {c.name: c for c in self.components}[name]

    def band(self, grade: float) -> str:
        """Return the plain word for a grade from 0 to 100."""
        return [b.name for b in self.bands if b.lowest <= grade][-1]

    def model_year_start(self, make: str, year: int | None) -> tuple[int, int]:
        """Return month and day on which the model year of such cars starts in the year before."""
        rules = [r.model_year_starts for r in self.makers if r.holds(make, year)]
        return next((s for s in reversed(rules) if s), self.model_year_starts)

    def rules(self, component: Component, make: str, year: int | None) -> ComponentRules:
        """Return what holds for a component of a car of this make and year."""
        rules = [
            r
            for r in self.makers
            if r.holds(make, year) and component.name in (r.components or {component.name})
        ]
        # A maker that numbered no units numbered its cars all the same.
        numbering = [
            r for r in rules if r.components or component.name not in self.names_of_the_car
        ]
        without = any(r.no_stamped_numbers for r in numbering)
        window = _narrowed(self.window, component.strong_days, component.acceptable_days)
        for rule in rules:
            window = _narrowed(window, rule.strong_days, rule.acceptable_days)
        return ComponentRules(
            stamped=component.stamped and not without,
            unstamped_by_maker=component.stamped and without,
            own_series=any(r.own_number_series for r in numbering),
            window=replace(window, tells=not any(r.dates_say_nothing for r in rules)),
        )


def _narrowed(window: Window, strong: int | None, acceptable: int | None) -> Window:
    strong = window.strong if strong is None else strong
    acceptable = window.acceptable if acceptable is None else acceptable
    return replace(window, strong=strong, acceptable=max(strong, acceptable))
