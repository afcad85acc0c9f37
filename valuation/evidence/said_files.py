"""What was said as small files in a folder: no database, no lock, nothing heavy.

Buyers price on machines of their own.  Each thing that was said is one file, written in one step
and named by its content: written twice it is there once, and a file that was changed or cut short
does not fit its name.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

from valuation.errors import SaidFileError
from valuation.files import write_in_one_step
from valuation.results.bid_sheet import BidSheet
from valuation.results.run_list import RunLine, RunList
from valuation.results.said import BidSaid, Override, Said, SaidCar
from valuation.results.valuation import PriceRange, Valuation

__all__ = [
    "SaidFile",
    "SaidFolder",
    "log_bid",
    "log_override",
    "log_run_list",
    "log_valuation",
    "read_said_file",
    "read_said_folder",
    "said_id",
    "write_said",
]

_CENT = Decimal("0.01")
_LEVEL = 0.8
"""Coverage of the range that bid sheets and run lists show."""


def _content(thing: Said | Override) -> bytes:
    text = json.dumps(thing.to_dict(), ensure_ascii=False, sort_keys=True, indent=1)
    return f"{text}\n".encode()


def said_id(thing: Said | Override) -> str:
    """Return the identity of something that was said: the same content has the same one."""
    return hashlib.sha256(_content(thing)).hexdigest()[:16]


def write_said(folder: Path, thing: Said | Override) -> str:
    """Write one file of what was said.

    Parameters
    ----------
    folder : pathlib.Path
        Where to; made if it is missing.
    thing : Said or Override
        What was said.

    Returns
    -------
    str
        Its identity; the file is named by it.

    Raises
    ------
    ValuationError
        If the folder can't be written to.
    """
    name = said_id(thing)
    write_in_one_step(folder / f"{name}.json", _content(thing), what="record of what was said")
    return name


def log_valuation(
    folder: Path,
    valuation: Valuation,
    *,
    car: SaidCar,
    by: str,
    now: datetime,
    version: str,
    channel: str = "",
    own_figure: Decimal | None = None,
) -> str:
    """Keep what a valuation said.

    Parameters
    ----------
    folder : pathlib.Path
        Where the file goes.
    valuation : Valuation
        What was said.
    car : SaidCar
        The car.
    by : str
        Who asked.
    now : datetime.datetime
        When, with its time zone.
    version : str
        Version of the model, or the hash of its file.
    channel : str, optional
        Channel of the sale it was valued for.
    own_figure : Decimal, optional
        What the person expected the car to bring, before the model's figure was shown.

    Returns
    -------
    str
        Identity of what was said.
    """
    found = valuation.range if isinstance(valuation.range, PriceRange) else None
    return write_said(
        folder,
        Said(
            "price",
            now,
            by,
            version,
            car,
            valuation.as_of,
            channel,
            valuation.basis,
            valuation.estimand,
            valuation.currency,
            Decimal(valuation.central) if valuation.central > 0 else None,
            found.level if found else None,
            _cents(found.lower) if found else None,
            _cents(found.upper) if found else None,
            None,
            own_figure,
        ),
    )


def _cents(amount: float) -> Decimal:
    return Decimal(str(amount)).quantize(_CENT)


def log_bid(
    folder: Path,
    sheet: BidSheet,
    *,
    car: SaidCar,
    by: str,
    now: datetime,
    version: str,
    own_figure: Decimal | None = None,
) -> str:
    """Keep what a bid sheet said: the resale it foretells, the bid and its account.

    Parameters
    ----------
    folder, car, by, now, version
        As for :func:`log_valuation`.
    sheet : BidSheet
        What was said.
    own_figure : Decimal, optional
        What the person expected the car to bring when it is sold again, before the answer was
        shown.

    Returns
    -------
    str
        Identity of what was said.
    """
    r = sheet.resale
    bid = sheet.walk_away
    rung = next((x for x in sheet.ladder if x.bid == bid), None)
    told = BidSaid(
        sheet.answer,
        bid,
        sheet.currency,
        sheet.account_at,
        rung.expected_margin if rung else None,
        rung.loss_probability if rung else None,
        r.mean if r else None,
        _before_winning(r.central, r.winning_percent) if r else None,
        tuple((x.part, x.what, x.expected) for x in sheet.account),
    )
    return write_said(
        folder,
        Said(
            "bid",
            now,
            by,
            version,
            car,
            r.sale_on if r else None,
            r.channel if r else "",
            r.basis if r else "",
            "price if sold",
            sheet.resale_currency,
            r.central if r and r.central > 0 else None,
            _LEVEL if r else None,
            r.lower if r else None,
            r.upper if r else None,
            told,
            own_figure,
        ),
    )


def _before_winning(central: Decimal | None, percent: float) -> Decimal | None:
    """Return a central estimate as it was before the correction for winning, to the cent."""
    if central is None or central <= 0:
        return None
    return (central / (1 + Decimal(str(percent)) / 100)).quantize(_CENT)


def log_run_list(
    folder: Path,
    run_list: RunList,
    cars: Mapping[int, SaidCar],
    *,
    by: str,
    now: datetime,
    version: str,
    channel: str = "",
    for_day: date | None = None,
) -> tuple[str, ...]:
    """Keep what a run list said of each lot.

    Parameters
    ----------
    folder, by, now, version
        As for :func:`log_valuation`.
    run_list : RunList
        What was said; lots without an estimate are passed over.
    cars : mapping of int to SaidCar
        Car by place in the running order; lots without one are passed over.
    channel : str, optional
        Channel in which the cars would be sold again.
    for_day : datetime.date, optional
        Expected day of the resale.

    Returns
    -------
    tuple of str
        Identities, in the order of the list.
    """
    written = []
    for line in run_list.lines:
        if line.order not in cars or line.central is None:
            continue
        said = Said(
            "lot",
            now,
            by,
            version,
            cars[line.order],
            for_day,
            channel,
            "",
            "price if sold",
            run_list.resale_currency,
            line.central,
            None if line.lower is None else _LEVEL,
            line.lower,
            line.upper,
            _of_line(line),
        )
        written.append(write_said(folder, said))
    return tuple(written)


def _of_line(line: RunLine) -> BidSaid:
    return BidSaid(
        line.answer,
        line.walk_away,
        line.currency,
        line.at,
        line.expected_margin,
        line.loss_probability,
        None,
        _before_winning(line.central, line.winning_percent),
    )


def log_override(
    folder: Path, of: str, *, figure: Decimal, reason: str, by: str, now: datetime
) -> str:
    """Keep a figure that a person sets in place of what was said.

    Parameters
    ----------
    folder : pathlib.Path
        Where the file goes.
    of : str
        Identity of what was said.
    figure : Decimal
        What the person expects the car to bring.
    reason : str
        Why.
    by : str
        Who.
    now : datetime.datetime
        When, with its time zone.

    Raises
    ------
    SaidFileError
        If no reason is given.
    """
    if not reason.strip():
        raise SaidFileError(of, "an override needs its reason", remedy="Say why in a few words")
    return write_said(folder, Override(of, figure, reason.strip(), by, now))


@dataclass(frozen=True, slots=True)
class SaidFile:
    """One file of what was said, read.

    Parameters
    ----------
    identity : str
        Of its content.
    thing : Said or Override
        What was said.
    """

    identity: str
    thing: Said | Override


@dataclass(frozen=True)
class SaidFolder:
    """The files of a folder.

    Parameters
    ----------
    files : tuple of SaidFile
        Those that are whole, in the order of their names.
    damaged : tuple of (str, str)
        Name of each file that is not, and what is wrong with it; they are left where they are.
    """

    files: tuple[SaidFile, ...]
    damaged: tuple[tuple[str, str], ...] = ()


def read_said_file(path: Path) -> SaidFile:
    """Read one file of what was said.

    Raises
    ------
    SaidFileError
        If it is damaged, or was changed after it was written.
    """
    try:
        content: Any = json.loads(path.read_bytes())
        if not isinstance(content, dict):
            raise ValueError("it is no record of what was said")
        over = content.get("kind") == "override"
        thing: Said | Override = Override.from_dict(content) if over else Said.from_dict(content)
        identity = said_id(thing)
        if identity != path.stem:
            raise ValueError("it was changed after it was written")
    except (OSError, ValueError, TypeError, RecursionError) as error:
        came = getattr(error, "strerror", None) or str(error)
        raise SaidFileError(
            path.name,
            "it is no whole record of what was said",
            got=came,
            remedy="Leave it out, or bring it back from the machine it was written on",
        ) from error
    return SaidFile(identity, thing)


def read_said_folder(folder: Path, *, known: Iterable[str] = ()) -> SaidFolder:
    """Read the files of a folder.

    Parameters
    ----------
    folder : pathlib.Path
        Where they lie; a folder that isn't there holds none.
    known : iterable of str
        Identities that need not be read again.

    Returns
    -------
    SaidFolder
        Files that are whole, and the names of those that are not.
    """
    seen = set(known)
    files: list[SaidFile] = []
    damaged: list[tuple[str, str]] = []
    for path in sorted(folder.glob("*.json")):
        if path.stem in seen:
            continue
        try:
            files.append(read_said_file(path))
        except SaidFileError as error:
            damaged.append((path.name, error.got))
    return SaidFolder(tuple(files), tuple(damaged))
