"""Days of a sale as a catalogue states them: dates, words such as "Friday", headings."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from valuation.reading.dates import MONTHS, read_dates
from valuation.reading.text import fold, word_set

__all__ = ["is_day", "read_days"]

_WEEKDAYS = word_set(
    """
    monday tuesday wednesday thursday friday saturday sunday mon tue tues wed thu thur thurs fri sat
    sun montag dienstag mittwoch donnerstag freitag samstag sonnabend sonntag mo di mi do fr sa so
    lundi mardi mercredi jeudi vendredi samedi dimanche lunes martes miercoles jueves viernes sabado
    domingo lunedi martedi mercoledi giovedi venerdi sabato domenica maandag dinsdag woensdag
    donderdag vrijdag zaterdag zondag poniedzialek wtorek sroda czwartek piatek sobota niedziela
    segunda terca quarta quinta sexta mandag tisdag onsdag torsdag fredag lordag sondag
    """
)
_SESSION = re.compile(
    r"\b(?:day|tag|jour|dia|giorno|dag|dzien|session|sitzung|sesion|sessione|sessie|sesja|vacation)"
    r"\s?(?:[0-9]{1,2}|[ivx]{1,4}|one|two|three|four|first|second|third)"
)
_TIMES = word_set(
    "morning afternoon evening night noon from at the of on vormittag nachmittag abend"
)
_MOST_WORDS = 10


def is_day(text: str) -> bool:
    """Tell whether a whole text names a day of a sale and nothing else.

    Examples
    --------
    >>> [is_day(t) for t in ("Friday", "Day 2: Saturday, 15 March 2025", "2025-03-15", "Roadster")]
    [True, True, True, False]
    """
    plain = fold(text).strip(" :.-*=")
    words = re.findall(r"[a-z]+", plain)
    if len(words) > _MOST_WORDS or not plain:
        return False
    without = _SESSION.sub(" ", plain)
    left = [
        w
        for w in re.findall(r"[a-z]{2,}", without)
        if w not in _WEEKDAYS | _TIMES and w not in MONTHS and w not in ("st", "nd", "rd", "th")
    ]
    if left:
        return False
    named = any(len(w) > 2 and w in _WEEKDAYS for w in words) or without != plain
    return named or read_dates([text]).values[0] is not None


def read_days(cells: Sequence[str], order: str = "") -> tuple[list[date | None], bool]:
    """Read the days of lots as dates where they can be.

    Parameters
    ----------
    cells : sequence of str, length n
        Days as stated; one may begin with the name of its weekday.
    order : {"", "day first", "month first"}
        Order of day and month if it is known.

    Returns
    -------
    values : list of (datetime.date or None), length n
        A word such as "Friday" is no date.
    ambiguous : bool
        Whether in some of them day and month can't be told apart.
    """
    read = read_dates([_without_weekday(c) for c in cells], order)
    return read.values, any(read.ambiguous)


def _without_weekday(text: str) -> str:
    """Take the weekday, and what stands before it, off a date."""
    words = text.replace(",", " ").split()
    named = [i for i, w in enumerate(words) if fold(w).strip(".:") in _WEEKDAYS]
    rest = " ".join(words[named[-1] + 1 :]) if named else text
    return rest if any(c.isdigit() for c in rest) else text
