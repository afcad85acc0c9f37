"""The firm's settings file for inspections: read, checked as a whole, all faults told at once."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from datetime import date
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any, TypeVar

from valuation.errors import SettingsError
from valuation.importing.car_value import Wrong, all_wrong
from valuation.inspection.dates import Window
from valuation.inspection.entries import Entries
from valuation.inspection.settings import (
    STATUSES,
    Band,
    Component,
    Group,
    InspectionSettings,
    MakerRule,
    Zone,
)

__all__ = ["default_inspection_settings", "inspection_settings", "read_inspection_settings"]

T = TypeVar("T")

_TABLES = ("grade", "bands", "groups", "zones", "statuses", "components", "dates", "makers")
_BANDS = ("project", "tired", "driver", "sharp", "show")
_GROUPS = 5
_FIRST_YEAR, _LAST_YEAR = 1885, 2100
_LONG = 36_500


@cache
def default_inspection_settings() -> InspectionSettings:
    """Return the settings that come with the package."""
    source = resources.files("valuation") / "data" / "inspection.toml"
    return inspection_settings(tomllib.loads(source.read_text(encoding="utf-8")))


def read_inspection_settings(path: Path) -> InspectionSettings:
    """Read a firm's own settings.

    Parameters
    ----------
    path : pathlib.Path
        TOML file; see ``valuation/data/inspection.toml`` for the form.

    Returns
    -------
    InspectionSettings
        Checked.

    Raises
    ------
    SettingsError
        If the file can't be read or holds wrong entries; all of them are named.
    """
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as e:
        raise SettingsError(
            path.name, "the settings can't be read", got=str(e.strerror), remedy="Check the path"
        ) from e
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as e:
        raise SettingsError(
            path.name, "this is not valid TOML", got=str(e), remedy="Mend the line named"
        ) from e
    return inspection_settings(raw, where=path.name)


def inspection_settings(
    raw: Mapping[str, Any], *, where: str = "inspection.toml"
) -> InspectionSettings:
    """Check the content of a settings file.

    Parameters
    ----------
    raw : mapping
        Its tables, as TOML gives them.
    where : str
        Name for messages.

    Returns
    -------
    InspectionSettings
        Checked and frozen.

    Raises
    ------
    SettingsError
        With every wrong entry, what it has to be and what came.
    """
    allowed = "one of " + ", ".join(_TABLES)
    faults = [Wrong(key, "an unknown table", allowed) for key in raw if key not in _TABLES]
    groups = _named(raw, "groups", faults, _group)
    spreads = {g.name: g.spread for g in groups}
    zones = _named(raw, "zones", faults, lambda name, e: _zone(name, e, spreads))
    components = _named(raw, "components", faults, _component)
    grade = Entries.of(raw, "grade", faults)
    cap_points = grade.number("cap_points", 0, 100)
    grade.end()
    bands = tuple(_listed(raw, "bands", faults, _band))
    statuses = _statuses(Entries.of(raw, "statuses", faults))
    names = frozenset(c.name for c in components)
    makers = tuple(_listed(raw, "makers", faults, lambda e: _maker(e, names)))
    window, assembly_days, starts = _dates(Entries.of(raw, "dates", faults))
    made = InspectionSettings(
        groups,
        zones,
        cap_points,
        bands,
        statuses,
        components,
        window,
        assembly_days,
        starts,
        makers,
    )
    if not faults:
        _check_together(made, faults)
    _raise(faults, where)
    return made


def _raise(faults: list[Wrong], where: str) -> None:
    if faults:
        what, remedy = all_wrong(faults)
        raise SettingsError(where, what, remedy=remedy)


def _named(
    raw: Mapping[str, Any], table: str, faults: list[Wrong], make: Callable[[str, Entries], T]
) -> tuple[T, ...]:
    entries = raw.get(table)
    if not isinstance(entries, Mapping) or not entries:
        got = "nothing" if not entries else repr(entries)
        faults.append(Wrong(table, got, f"tables such as [{table}.NAME]"))
        return ()
    made = []
    for name in entries:
        entry = Entries.of(entries, name, faults, place=f"{table}.{name}")
        made.append(make(name, entry))
        entry.end()
    return tuple(made)


def _listed(
    raw: Mapping[str, Any], table: str, faults: list[Wrong], make: Callable[[Entries], T]
) -> list[T]:
    entries = raw.get(table, [])
    if not isinstance(entries, list):
        faults.append(Wrong(table, repr(entries), f"tables such as [[{table}]]"))
        return []
    made = []
    for number, content in enumerate(entries, start=1):
        place = f"{table}, number {number}"
        entry = Entries.of({place: content}, place, faults)
        made.append(make(entry))
        entry.end()
    return made


def _group(name: str, e: Entries) -> Group:
    return Group(name, e.text("label"), e.number("spread", 0, 10), e.text("look"))


def _zone(name: str, e: Entries, spreads: Mapping[str, float]) -> Zone:
    group = e.word("group", tuple(spreads))
    return Zone(
        name=name,
        label=e.text("label"),
        group=group,
        weight=e.number("weight", 0, 1000),
        structural=e.flag("structural"),
        can_be_absent=e.flag("can_be_absent"),
        preview=e.flag("preview", True),
        spread=e.number("spread", 0, 10, spreads.get(group, 0.0)),
        where=e.text("where"),
        tool=e.text("tool"),
        minutes=e.number("minutes", 0, 600),
        how=e.text("how"),
    )


def _component(name: str, e: Entries) -> Component:
    return Component(
        name=name,
        label=e.text("label"),
        weight=e.number("weight", 0, 1000),
        stamped=e.flag("stamped"),
        dated=e.flag("dated"),
        part_number=e.flag("part_number"),
        can_be_missing=e.flag("can_be_missing", True),
        can_be_absent=e.flag("can_be_absent"),
        speaks_for=e.text("speaks_for", ""),
        strong_days=e.days("strong_days"),
        acceptable_days=e.days("acceptable_days"),
        where=e.text("where"),
        tool=e.text("tool"),
        minutes=e.number("minutes", 0, 600),
        how=e.text("how"),
    )


def _band(e: Entries) -> Band:
    return Band(e.word("name", _BANDS), e.number("from", 0, 100))


def _statuses(e: Entries) -> dict[str, float]:
    values = {s: e.number(s, 0, 1) for s in STATUSES}
    e.end()
    return values


def _dates(e: Entries) -> tuple[Window, int, tuple[int, int]]:
    window = Window(
        strong=int(e.number("strong_days", 0, _LONG)),
        acceptable=int(e.number("acceptable_days", 0, _LONG)),
        years_before=int(e.number("decade_years_before", 0, 100)),
        years_after=int(e.number("decade_years_after", 0, 100)),
    )
    assembly, starts = int(e.number("assembly_days", 0, _LONG)), _month_day(e, needed=True)
    e.end()
    return window, assembly, starts or (8, 1)


def _month_day(e: Entries, *, needed: bool) -> tuple[int, int] | None:
    key = "model_year_starts"
    if not needed and not e.has(key):
        return None
    text = e.text(key)
    if found := re.fullmatch(r"(\d\d)-(\d\d)", text):
        month, day = int(found[1]), int(found[2])
        try:
            date(1969, month, day)
        except ValueError:
            pass
        else:
            return month, day
    if text:
        e.wrong(key, repr(text), 'month and day of every year, such as "08-01"')
    return None


def _maker(e: Entries, components: frozenset[str]) -> MakerRule:
    return MakerRule(
        make=e.text("make"),
        first_year=int(e.number("first_year", _FIRST_YEAR, _LAST_YEAR, _FIRST_YEAR)),
        last_year=int(e.number("last_year", _FIRST_YEAR, _LAST_YEAR, _LAST_YEAR)),
        components=frozenset(e.words("components", tuple(sorted(components)))),
        no_stamped_numbers=e.flag("no_stamped_numbers"),
        own_number_series=e.flag("own_number_series"),
        dates_say_nothing=e.flag("dates_say_nothing"),
        strong_days=e.days("strong_days"),
        acceptable_days=e.days("acceptable_days"),
        model_year_starts=_month_day(e, needed=False),
    )


def _check_together(made: InspectionSettings, faults: list[Wrong]) -> None:
    """Check what no single entry can tell."""
    if len(made.groups) != _GROUPS:
        faults.append(Wrong("groups", f"{len(made.groups)} groups", f"{_GROUPS} groups"))
    _check_bands(made, faults)
    _check_statuses(made, faults)
    _check_zones(made, faults)
    _check_components(made, faults)
    windows: list[tuple[str, int | None, int | None]] = [
        (f"components.{c.name}", c.strong_days, c.acceptable_days) for c in made.components
    ]
    for place, strong, acceptable in [
        ("dates", made.window.strong, made.window.acceptable),
        *windows,
    ]:
        if strong is not None and acceptable is not None and acceptable < strong:
            faults.append(Wrong(f"{place}.acceptable_days", str(acceptable), f"{strong} or more"))
    for number, rule in enumerate(made.makers, start=1):
        if rule.last_year < rule.first_year:
            place = f"makers, number {number}.last_year"
            faults.append(Wrong(place, str(rule.last_year), f"{rule.first_year} or later"))


def _check_zones(made: InspectionSettings, faults: list[Wrong]) -> None:
    allowed = "on every car and of some weight, being structural"
    for zone in made.zones:
        if zone.structural and (zone.can_be_absent or not zone.weight):
            got = "can be absent" if zone.can_be_absent else "weight 0"
            faults.append(Wrong(f"zones.{zone.name}", got, allowed))
    if not any(z.structural for z in made.zones):
        faults.append(Wrong("zones", "none", "structural in at least one case"))


def _check_bands(made: InspectionSettings, faults: list[Wrong]) -> None:
    names, limits = [b.name for b in made.bands], [b.lowest for b in made.bands]
    if tuple(names) != _BANDS:
        faults.append(Wrong("bands", ", ".join(names) or "none", ", ".join(_BANDS) + " in order"))
    elif limits[0] != 0 or sorted(set(limits)) != limits:
        got = ", ".join(f"{v:g}" for v in limits)
        faults.append(Wrong("bands", got, "rising limits, the first of them 0"))


def _check_statuses(made: InspectionSettings, faults: list[Wrong]) -> None:
    values = [made.statuses[s] for s in STATUSES]
    for status, value, before in zip(STATUSES[1:], values[1:], values, strict=False):
        if value > before:
            faults.append(Wrong(f"statuses.{status}", f"{value:g}", f"{before:g} or less"))
    for status, value in (("numbers-matching", 1.0), ("original", 1.0), ("missing", 0.0)):
        if made.statuses[status] != value:
            got = f"{made.statuses[status]:g}"
            faults.append(Wrong(f"statuses.{status}", got, f"{value:g}"))


def _check_components(made: InspectionSettings, faults: list[Wrong]) -> None:
    names = {c.name for c in made.components}
    for c in made.components:
        place = f"components.{c.name}"
        if c.speaks_for and (c.speaks_for not in names or c.speaks_for == c.name):
            faults.append(Wrong(f"{place}.speaks_for", c.speaks_for, "another component"))
        if c.can_be_absent and not c.can_be_missing:
            faults.append(Wrong(f"{place}.can_be_missing", "false", "true where it can be absent"))
    if not any(c.weight and not c.can_be_absent for c in made.components):
        faults.append(Wrong("components", "none", "on every car and of some weight in one case"))
