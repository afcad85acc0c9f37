"""The cars of a catalogue: columns, titles and words read as those of sales and car files."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from valuation.importing.assemble import Assembled
from valuation.importing.car_file import complete_car
from valuation.importing.car_words import fill_from_words
from valuation.importing.from_titles import first_word, learn_makes, with_unnamed_make
from valuation.reading.counters import strip_counters
from valuation.reading.evidence import attributes_of
from valuation.reading.statements import listing_text, read_statements
from valuation.reading.text import compact, fold
from valuation.reading.title import find_year
from valuation.reading.titles import Makes, title_tokens
from valuation.records import Car, Value
from valuation.schema import ATTRIBUTES, BY_NAME
from valuation.spreadsheets import starts_formula

__all__ = ["LONGEST_TEXT", "LONGEST_TITLE", "CarRead", "head_and_rest", "read_cars"]

LONGEST_TITLE = 300
"""Signs of a heading; what is longer is read as a text."""

LONGEST_TEXT = 8_000
"""Signs of a text that are read: a catalogue's longest entries hold some thousands."""

_TEXTS = ("description", "chassis", "engine_text", "transmission_text")
_SALE = ("channel", "venue", "region")
_ONLY_CARS = frozenset({"mileage", "mileage_status", "transmission", "gears", "steering_side"})
# Words claim, where a column can know more.
_LESS = frozenset(
    {
        frozenset({"genuine, documented", "claimed, not documented"}),
        frozenset({"proven", "stated"}),
    }
)
_LONG_RUN = re.compile(r"(\d{24})\d+")


@dataclass
class CarRead:
    """One car as it was read, and what was noticed.

    Parameters
    ----------
    car : Car
        The car; a make or a year may be missing.
    remarks : list of str
        What was noticed, in sentences.
    like_a_car : bool
        Whether columns state something that only a car has.
    """

    car: Car
    remarks: list[str] = field(default_factory=list)
    like_a_car: bool = False

    @property
    def year(self) -> float:
        """Its model year, NaN if none is stated."""
        year = self.car.values.get("year")
        return year if isinstance(year, float) else math.nan

    @property
    def make(self) -> str:
        """Its make, empty if none is stated."""
        return str(self.car.values.get("make", ""))


@dataclass(frozen=True)
class _Vocabulary:
    """Makes and models that are known from a market, and those that the list itself tells."""

    known: Makes | None
    learned: Makes

    def spelled(self, values: dict[str, Value]) -> None:
        """Write make and model as the market does."""
        if self.known is None or "make" not in values:
            return
        key = compact(str(values["make"]))
        values["make"] = self.known.names.get(key, values["make"])
        models = self.known.models.get(key, {})
        if "model" in values:
            values["model"] = models.get(compact(str(values["model"])), values["model"])

    def complete(self, car: Car) -> Car:
        """Fill what a car does not state from its texts, with the market's words first."""
        if self.known is not None:
            car = complete_car(car, self.known)
        if self.known is None or "make" not in car.values or "model" not in car.values:
            car = complete_car(car, self.learned)
        return car

    def make_in(self, title: str) -> str:
        """Return the make that stands behind the year of a title, or first in it."""
        tokens = title_tokens(title)
        year = find_year(fold(title))
        start = next((i + 1 for i, t in enumerate(tokens) if t == str(year)), 0)
        for makes in (self.known, self.learned):
            if makes is not None:
                for place in (start, 0):
                    if found := makes.make_at(tokens, place)[0]:
                        return found
        return ""


def head_and_rest(text: str) -> tuple[str, str]:
    """Split a text that has no heading of its own into its first line or sentence and the rest.

    Examples
    --------
    >>> head_and_rest("1968 Torvane GT Coupe. One owner. No rust.")
    ('1968 Torvane GT Coupe.', 'One owner. No rust.')
    """
    plain = text.strip()
    first, _, rest = plain.partition("\n")
    if len(first) <= LONGEST_TITLE and rest.strip():
        return first.strip(), rest.strip()
    ends = [plain.find(sign) + 1 for sign in (". ", "; ") if 8 <= plain.find(sign) <= LONGEST_TITLE]
    if ends:
        return plain[: min(ends)].strip(), plain[min(ends) :].strip()
    if len(plain) <= LONGEST_TITLE:
        return plain, ""
    cut = plain.rfind(" ", 0, LONGEST_TITLE)
    cut = cut if cut > 0 else LONGEST_TITLE
    return plain[:cut].strip(), plain[cut:].strip()


def _bounded(title: str, description: str, remarks: list[str]) -> tuple[str, str]:
    """Keep a heading and a text to a length that can be read."""
    title, description = (_LONG_RUN.sub(r"\1…", text) for text in (title, description))
    if not title and description:
        title, description = head_and_rest(description)
    if len(title) > LONGEST_TITLE:
        title, more = head_and_rest(title)
        description = f"{more}\n{description}".strip()
        remarks.append("The title is long; what stands behind its beginning is read as a text.")
    if len(description) > LONGEST_TEXT:
        remarks.append(
            f"The text holds {len(description):,} signs; the first {LONGEST_TEXT:,} are read."
        )
        description = description[:LONGEST_TEXT]
    if starts_formula(title) or starts_formula(description):
        remarks.append("The text begins like a formula; it is kept as text, never worked out.")
    return title, description


def _values(row: Mapping[str, Any]) -> dict[str, Value]:
    """Return what the columns of a row state."""
    out: dict[str, Value] = {}
    for a in ATTRIBUTES:
        value = row[a.name]
        if value is not None and value == value:
            out[a.name] = float(value) if a.kind == "number" else value
    return out


def _text(value: Any) -> str:
    return value if isinstance(value, str) else ""


def _shown(name: str, value: Value) -> str:
    if isinstance(value, float):
        return f"{value:.0f}" if name == "year" else f"{value:g}"
    return str(value)


def _agree(own: str, told: str) -> bool:
    """Tell whether words say the same as a column, or less of it."""
    if frozenset({own, told}) in _LESS:
        return True
    a, b = compact(own), compact(told)
    return a.startswith(b) or b.startswith(a)


def _contradictions(
    stated: Mapping[str, Value], title: str, make: str, evidence: Mapping[str, Value]
) -> list[str]:
    """Say where the words of a lot say something else than its columns."""
    told: dict[str, Value] = {n: v for n, v in evidence.items() if isinstance(v, str)}
    year = find_year(fold(title))
    if year is not None:
        told["year"] = float(year)
    if make:
        told["make"] = make
    out = []
    for name, value in told.items():
        own = stated.get(name)
        if own is None or _agree(str(own), str(value)):
            continue
        where = "title" if name in ("year", "make") else "words"
        verb = "says" if where == "title" else "say"
        out.append(
            f"{BY_NAME[name].label}: the column says {_shown(name, own)}, the {where} {verb} "
            f"{_shown(name, value)}; the column counts until you have looked."
        )
    return out


def _read_one(row: Mapping[str, Any], title: str, words: _Vocabulary) -> CarRead:
    remarks: list[str] = []
    stated = _values(row)
    words.spelled(stated)
    title, description = _bounded(title, _text(row["description"]), remarks)
    said = read_statements(text) if (text := listing_text(title, description)) else ()
    evidence = attributes_of(said)
    made = words.make_in(title) if "make" in stated else ""
    remarks += [*_contradictions(stated, title, made, evidence.values), *evidence.notes]
    car = Car(
        stated,
        title=title,
        description=description,
        chassis=_text(row["chassis"]),
        engine_text=_text(row["engine_text"]),
        transmission_text=_text(row["transmission_text"]),
        sale={name: row[name] for name in _SALE if isinstance(row[name], str)},
        said=said,
    )
    car = _with_first_word(words.complete(car), words, remarks)
    values = dict(car.values)
    if stated.get("mileage_status") in ("unknown", "exempt") and "mileage" not in stated:
        # An odometer said to be unknown or exempt is not completed from a heading.
        values.pop("mileage", None)
    notes, resting = fill_from_words(values, (), said)
    car = replace(
        car,
        values=values,
        notes=(*car.notes, *notes),
        statements={**{k: v for k, v in car.statements.items() if k in values}, **resting},
    )
    return CarRead(car, remarks, bool(car.chassis) or bool(_ONLY_CARS & stated.keys()))


def _with_first_word(car: Car, words: _Vocabulary, remarks: list[str]) -> Car:
    """Let the first word behind the year stand for a make that nothing else tells."""
    if "make" not in car.values and "year" in car.values and (make := first_word(car.title)):
        remarks.append(f'No make is known; the first word of the title stands for it: "{make}".')
        car = replace(car, values={**car.values, "make": make})
    elif words.known is not None:
        remarks += _unknown_names(car, words.known)
    return car


def _unknown_names(car: Car, known: Makes) -> list[str]:
    """Say which of make and model line the market has never seen."""
    if "make" not in car.values:
        return []
    make, model = str(car.values["make"]), str(car.values.get("model", ""))
    if compact(make) not in known.names:
        return [f'The make "{make}" is not among the makes of the market.']
    if not model:
        return ["No model line is recognised."]
    if compact(model) not in known.models.get(compact(make), {}):
        return [f'The model line "{model}" is not among those of the market.']
    return []


def _with_drivetrain(rows: list[dict[str, Any]], drivetrain: Sequence[str]) -> None:
    """Let the words about engine and gearbox in one column stand for both."""
    for row, text in zip(rows, drivetrain, strict=True):
        for name in ("engine_text", "transmission_text"):
            if text and not isinstance(row[name], str):
                row[name] = text


def read_cars(
    part: Assembled, known: Makes | None, drivetrain: Sequence[str] = ()
) -> list[CarRead]:
    """Read the car of each row of a catalogue.

    Parameters
    ----------
    part : Assembled
        The columns as they were read; notes are added to.
    known : Makes or None
        Makes and models of the market the lots are to be priced with.
    drivetrain : sequence of str, length n_rows
        Words about engine and gearbox in one text; empty for none.

    Returns
    -------
    list of CarRead, length n_rows
        Rows that are no lots included.
    """
    table = part.table
    if table["title"].isna().all() and table["description"].isna().all():
        table = with_unnamed_make(table, part.raw.name, part.notes)
    titles = [_text(t) for t in table["title"]]
    titles, removed = strip_counters(titles, [_text(m) or None for m in table["make"]])
    if removed:
        part.notes.append(
            f"{part.raw.name}: running numbers taken off the ends of titles: {removed}."
        )
    texts = table["description"].tolist()
    heads = [t or head_and_rest(_text(d))[0] for t, d in zip(titles, texts, strict=True)]
    words = _Vocabulary(known, learn_makes(table, heads))
    names = [a.name for a in ATTRIBUTES] + [*_TEXTS, *_SALE]
    columns = [table[name].tolist() for name in names]
    rows = [dict(zip(names, cells, strict=True)) for cells in zip(*columns, strict=True)]
    if drivetrain:
        _with_drivetrain(rows, drivetrain)
    return [_read_one(row, title, words) for row, title in zip(rows, titles, strict=True)]
