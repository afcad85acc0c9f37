"""What a filled sheet says, entry by entry, before anything is concluded from it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from valuation.inspection.dates import WrittenDate
from valuation.inspection.evidence import CarFacts, ComponentFinding
from valuation.inspection.marks import Finding, Mark
from valuation.records import Cure, Value
from valuation.schema.kinds import NOT_LOOKED_AT

__all__ = [
    "Changes",
    "Contents",
    "CostRange",
    "Defect",
    "Modification",
    "Paper",
    "Title",
    "Visit",
    "WorkDone",
    "ZoneNote",
]


@dataclass(frozen=True, slots=True)
class CostRange:
    """What something may cost.

    Parameters
    ----------
    low, high : decimal.Decimal
        Ends, in order.
    currency : str
        ISO 4217 code, empty if nothing names one.
    """

    low: Decimal
    high: Decimal
    currency: str

    @property
    def shown(self) -> str:
        """The range for people.

        Examples
        --------
        >>> CostRange(Decimal(1200), Decimal(2500), "EUR").shown
        '1,200 to 2,500 EUR'
        """
        ends = f"{self.low:,f}" if self.low == self.high else f"{self.low:,f} to {self.high:,f}"
        return f"{ends} {self.currency}".strip()


@dataclass(frozen=True, slots=True)
class Defect:
    """Something that is wrong with the car.

    Parameters
    ----------
    zone : str
        Name of the zone, empty if none was named.
    what, where : str
        What is wrong, and where.
    how_bad : str
        One of :data:`~valuation.inspection.form_parts.BAD`, empty if nobody said.
    cost : CostRange or None
        What it costs to put right, None if nobody said.
    mark_after : float or None
        Mark of the zone once it is put right, None if nobody said.
    """

    zone: str
    what: str
    where: str = ""
    how_bad: str = ""
    cost: CostRange | None = None
    mark_after: float | None = None

    @property
    def shown(self) -> str:
        """What is wrong, where and how badly, for people.

        Examples
        --------
        >>> Defect("paint", "blisters", "left rear arch", "slight").shown
        'Paint: blisters (left rear arch), slight'
        """
        zone = f"{self.zone.replace('_', ' ').capitalize()}: " if self.zone else ""
        return zone + self.shown_alone

    @property
    def shown_alone(self) -> str:
        """The same without its zone."""
        where = f" ({self.where})" if self.where else ""
        bad = f", {self.how_bad}" if self.how_bad else ""
        return f"{self.what or 'something'}{where}{bad}"


@dataclass(frozen=True, slots=True)
class WorkDone:
    """Something that was done to the car.

    Parameters
    ----------
    zone : str
        Name of the zone, empty if none was named.
    what, when : str
        What was done, and when, as written.
    bills : str
        ``seen``, ``claimed, not seen``, ``none``, or why it isn't known.
    """

    zone: str
    what: str
    when: str = ""
    bills: str = NOT_LOOKED_AT


@dataclass(frozen=True, slots=True)
class Modification:
    """One change to the car as it was built.

    Parameters
    ----------
    kind : str
        One of :data:`~valuation.schema.MODIFICATION_KINDS`.
    how : str
        ``reversible`` or ``permanent``, empty if nobody said.
    when : str
        ``period`` or ``later``, empty if nobody said.
    what : str
        What was changed, as written.
    """

    kind: str
    how: str = ""
    when: str = ""
    what: str = ""

    @property
    def level(self) -> str:
        """The word of the contract, empty while something is missing."""
        return f"{self.kind}/{self.how}/{self.when}" if self.kind and self.how and self.when else ""


@dataclass(frozen=True, slots=True)
class Paper:
    """Whether a document is there.

    Parameters
    ----------
    answer : str
        ``seen``, ``claimed, not seen``, ``none``, or why it isn't known.
    notes : str
        As written.
    """

    answer: str = NOT_LOOKED_AT
    notes: str = ""


@dataclass(frozen=True, slots=True)
class ZoneNote:
    """What was written beside the mark of a zone or group.

    Parameters
    ----------
    notes : str
        As written.
    photographs : tuple of str
        Names of photographs.
    """

    notes: str = ""
    photographs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Visit:
    """Who saw the car, when, and what is asked for it.

    Parameters
    ----------
    lot, by : str
        Lot or stock number, and who looked.
    on : datetime.date or None
        The day.
    asking : decimal.Decimal or None
        What the seller asks.
    currency : str
        ISO 4217 code of all amounts on the sheet, empty if there are none.
    notes : str
        As written.
    """

    lot: str = ""
    by: str = ""
    on: date | None = None
    asking: Decimal | None = None
    currency: str = ""
    notes: str = ""


@dataclass(frozen=True, slots=True)
class Title:
    """What is known of the title.

    Parameters
    ----------
    first_registered : WrittenDate or None
        When the car was first registered.
    year : int or None
        Year on the title.
    days : float or None
        How long a cure takes.
    cost : CostRange or None
        What a cure costs.
    """

    first_registered: WrittenDate | None = None
    year: int | None = None
    days: float | None = None
    cost: CostRange | None = None

    @property
    def cure(self) -> Cure | None:
        """Days and cost of a cure, None if nothing is known of either."""
        if self.cost is None:
            return None if self.days is None else Cure(self.days)
        return Cure(self.days, self.cost.low, self.cost.high, self.cost.currency)


@dataclass(frozen=True, slots=True)
class Changes:
    """Answers about changes that need more than a word of the contract.

    Parameters
    ----------
    builder : str
        Who re-engineered it.
    mileage_proof : str
        What proves the odometer.
    special_order, looked : str
        ``yes``, ``no`` or why it isn't known: was the colour a special order, and did somebody
        look for modifications.
    no_rare_version : bool
        Whether the sheet says that no rare version is claimed.
    """

    builder: str = ""
    mileage_proof: str = ""
    special_order: str = NOT_LOOKED_AT
    looked: str = NOT_LOOKED_AT
    no_rare_version: bool = False


@dataclass(frozen=True, slots=True)
class Contents:
    """Everything that stands on a sheet.

    Parameters
    ----------
    name : str
        Name of the file.
    facts : CarFacts
        What parts are held against.
    stated : mapping of str to Value
        Attributes of the contract as written.
    answers : mapping of str to str
        For attributes without a value, why: ``not looked at``, ``not possible here``,
        ``cannot be told``.
    visit, title, changes
        Further entries.
    history : mapping of str to str
        ``yes``, ``no`` or why it isn't known, by event.
    groups : mapping of str to Mark
        Marks of a preview.
    marks : mapping of str to Finding
        Of every zone, as they stand on its own line.
    zone_notes, group_notes : mapping of str to ZoneNote
        What was written beside them.
    components : mapping of str to ComponentFinding
        Of every component.
    defects, work, modifications : tuple
        Lines in their order.
    papers : mapping of str to Paper
        Every document of the contract.
    remarks : tuple of str
        Remarks of the reader, in sentences.
    """

    name: str
    facts: CarFacts
    stated: Mapping[str, Value]
    answers: Mapping[str, str]
    visit: Visit
    title: Title
    changes: Changes
    history: Mapping[str, str]
    groups: Mapping[str, Mark]
    marks: Mapping[str, Finding]
    zone_notes: Mapping[str, ZoneNote]
    group_notes: Mapping[str, ZoneNote]
    components: Mapping[str, ComponentFinding]
    defects: tuple[Defect, ...]
    work: tuple[WorkDone, ...]
    modifications: tuple[Modification, ...]
    papers: Mapping[str, Paper]
    remarks: tuple[str, ...] = ()
