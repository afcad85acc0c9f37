"""A catalogue of lots: read from a file, a mail or pasted text, and nothing in it lost."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

from valuation.errors import LotFileError, SaleFileError
from valuation.importing.lot_checks import note_doubles, set_aside
from valuation.importing.lot_list import Lot, LotList
from valuation.importing.lot_part import LotPart, read_part
from valuation.importing.lot_sources import LotSource, lot_sources
from valuation.importing.sales import NO_CURRENCY
from valuation.importing.source_map import SourceMap
from valuation.reading.titles import Makes, makes_from
from valuation.records import Car

__all__ = ["Lot", "LotList", "read_lots"]


def read_lots(
    path_or_text: str | os.PathLike[str],
    *,
    source_map: SourceMap | None = None,
    known_makes: Mapping[str, tuple[str, ...]] | None = None,
) -> LotList:
    """Read a catalogue of lots.

    Parameters
    ----------
    path_or_text : str or path-like
        A file (``.xlsx``, ``.csv``, ``.tsv``, ``.txt``, ``.eml``, ``.pdf`` with text in it,
        ``.html``, or one of them packed as ``.gz``), or the text itself, one lot a line or a
        paragraph.  Of a mail, an attachment counts before its text if it holds lots.
    source_map : SourceMap, optional
        How columns are read; what it leaves open is recognised.
    known_makes : mapping of str to tuple of str, optional
        Models by make of the market the lots are to be priced with.

    Returns
    -------
    LotList
        Lots whose car has a make and a year, and the rows set aside with all their reasons:
        together every row that holds something.

    Raises
    ------
    LotFileError
        If nothing in it can be read as a list of lots.
    MapError
        If the map does not fit.

    Examples
    --------
    >>> read = read_lots("Lot 112  1968 Torvane GT Coupe, 4-speed, est. $40,000-50,000, no reserve")
    >>> lot = read.lots[0]
    >>> lot.number, lot.car.name, lot.estimate, lot.reserve_kind
    ('112', '1968 Torvane', '40,000 to 50,000 USD', 'none')
    """
    known = makes_from(known_makes) if known_makes else None
    try:
        sources = list(lot_sources(path_or_text, source_map))
        return _best(sources, source_map, known)
    except SaleFileError as error:
        # What reads tables of sales reads those of lots, and says the same of both.
        raise LotFileError(
            error.where, error.problem, got=error.got, remedy=error.remedy
        ) from error


def _best(sources: Sequence[LotSource], given: SourceMap | None, known: Makes | None) -> LotList:
    """Read lots in every way there is; return the reading that finds most."""
    found: list[tuple[LotSource, LotList]] = []
    problem: LotFileError | None = None
    for source in sources:
        try:
            found.append((source, _read(source, given, known)))
        except LotFileError as error:
            problem = problem or error
    if not found:
        raise problem or LotFileError("read_lots", "nothing was given", remedy="Name a file")
    attached = any(not s.body and r.lots for s, r in found)
    chosen, best = max(
        found, key=lambda e: (attached and not e[0].body, len(e[1].lots), -len(e[1].set_aside))
    )
    others = {
        s.name: len(r.lots) for s, r in found if s.name != chosen.name and r.lots and not s.body
    }
    notes = [
        f"{name}: lots stand there too ({n}) and are not read; read it by itself."
        for name, n in others.items()
    ]
    return replace(best, notes=(*best.notes, *notes))


def _read(source: LotSource, given: SourceMap | None, known: Makes | None) -> LotList:
    given = given or SourceMap()
    if source.given:
        given = replace(source.given, fixed=given.fixed, words=given.words)
    parts = [read_part(raw, given, known) for raw in source.tables]
    main, notes = _main_currency(parts)
    lots: list[Lot] = []
    aside, places = [], []
    for part, before in zip(parts, _starts(parts), strict=True):
        faults = set_aside(part)
        for i in range(len(part.raw.rows)):
            if i in faults:
                aside.append(faults[i])
                places.append((part.fields[i].number, part.fields[i].day))
            else:
                lots.append(_lot(part, i, before + i + 1, main))
    said = [*source.notes, *(n for p in parts for n in p.notes), *notes]
    kept, doubles = note_doubles(lots)
    return LotList(
        kept,
        tuple(aside),
        len(lots) + len(aside),
        main,
        tuple(dict.fromkeys([*said, *doubles])),
        tuple(places),
    )


def _starts(parts: Sequence[LotPart]) -> list[int]:
    """Return how many rows stand before each part."""
    return [sum(len(p.raw.rows) for p in parts[:i]) for i in range(len(parts))]


def _main_currency(parts: Sequence[LotPart]) -> tuple[str, list[str]]:
    """Return the currency most lots are in, and a note where nobody states one."""
    stated = Counter(c for p in parts for c in p.currencies if c)
    if stated:
        return stated.most_common(1)[0][0], []
    name = parts[0].raw.name
    if all(f.low is None and f.high is None for p in parts for f in p.fields):
        return NO_CURRENCY, []
    return NO_CURRENCY, [
        f"{name}: no currency is stated; estimates are in an unnamed one ({NO_CURRENCY}). Give it "
        "in a map."
    ]


def _lot(part: LotPart, i: int, order: int, main: str) -> Lot:
    """Return one lot of a part."""
    own, read = part.fields[i], part.cars[i]
    currency = part.currencies[i] or main
    remarks = [*own.remarks, *read.remarks]
    amounts = (own.low, own.high, own.reserve.amount)
    if currency != main and any(a is not None for a in amounts):
        remarks.append(f"Its estimate is in {currency}, that of most lots in {main}.")
    return Lot(
        number=own.number,
        day=own.day,
        sale_date=own.sale_date,
        order=order,
        car=_for_sale(read.car, own.reserve.kind),
        estimate_low=own.low,
        estimate_high=own.high,
        reserve_kind=own.reserve.kind,
        reserve=own.reserve.amount,
        currency=currency,
        venue=read.car.sale.get("venue", ""),
        notes=own.notes,
        remarks=tuple(dict.fromkeys(remarks)),
        row=part.raw.rows[i],
        file=part.raw.name,
    )


def _for_sale(car: Car, reserve: str) -> Car:
    """Return the car with what is known of the reserve it is offered with."""
    if reserve == "not stated":
        return car
    return replace(car, sale={**car.sale, "reserve": reserve})
