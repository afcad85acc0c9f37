"""What was said last of a car before its sale, beside that sale."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import duckdb

from valuation.evidence.book import evidence_book
from valuation.evidence.journal import add_row
from valuation.evidence.known_sales import KnownSale, firm_sales, known_sales, lot_key, own_sales
from valuation.evidence.ledger_in import ledger_of
from valuation.evidence.margins import margin_of, recorded_parts, was_won
from valuation.evidence.opening import reading, writing
from valuation.evidence.said_in import SaidStore, said_of
from valuation.evidence.workspace import Workspace
from valuation.importing.repeats import chassis_key
from valuation.importing.sales import NO_CURRENCY
from valuation.reading.text import compact
from valuation.records import SalesBook
from valuation.results.ledger import StockCar
from valuation.results.pair import MATCHES, Pair
from valuation.results.said import KINDS, Override, Said
from valuation.schema.sale import BASES

__all__ = [
    "PairSettings",
    "PairsFound",
    "find_pairs",
    "keep_pairs",
    "pair_up",
    "pairs_of",
    "sales_spoken_of",
]


@dataclass(frozen=True, slots=True)
class PairSettings:
    """How a sale is found for what was said.

    Parameters
    ----------
    within_days : int
        Longest time from what was said to the sale.
    lot_days : int
        The same where only venue and lot number tell: a house uses its numbers again.
    """

    within_days: int = 730
    lot_days: int = 60


@dataclass(frozen=True)
class PairsFound:
    """What came of what was said.

    Parameters
    ----------
    pairs : tuple of Pair
        In the order of the sales.
    said : int
        How many things were said.
    waiting : int
        How many of them have no sale yet.
    """

    pairs: tuple[Pair, ...]
    said: int
    waiting: int


def find_pairs(
    con: duckdb.DuckDBPyConnection, *, as_of: date, settings: PairSettings | None = None
) -> PairsFound:
    """Find the sale of each car of which something was said.

    Parameters
    ----------
    con : duckdb.DuckDBPyConnection
        From ``reading`` or ``writing``.
    as_of : datetime.date
        Day up to which sales count.
    settings : PairSettings, optional
        How long after what was said a sale counts.

    Returns
    -------
    PairsFound
        Pairs, and how many things were said.

    Notes
    -----
    A valuation is held against the first sale of the car after it, in the evidence or by or to the
    firm; a bid, which foretells a resale, against the sale by the firm.  A sale is found by chassis
    number, else by venue, lot number and day, else by the firm's own number.  A sale dated before
    what was said never counts.  Of all that was said of one sale the last counts.
    """
    store = said_of(con)
    cars = ledger_of(con, as_of=as_of).cars
    sales = sales_spoken_of(store, evidence_book(con, as_of=as_of), cars)
    return pair_up(store, sales, cars, settings or PairSettings())


def pair_up(
    store: SaidStore,
    sales: Sequence[KnownSale],
    cars: Sequence[StockCar],
    settings: PairSettings,
) -> PairsFound:
    """Put what was said beside the sales that came; see :func:`find_pairs`.

    Parameters
    ----------
    store : SaidStore
        Everything that was said.
    sales : sequence of KnownSale
        From :func:`sales_spoken_of`.
    cars : sequence of StockCar
        Of the ledger.
    settings : PairSettings
        How long after what was said a sale counts.
    """
    finder = _Finder(sales, cars, settings)
    found: dict[tuple[str, bool], list[tuple[str, Said, _Found]]] = {}
    waiting = 0
    for identity, said in store.said.items():
        match = finder.find(said)
        if match is None:
            waiting += 1
            continue
        key = (match.sale.key, said.kind != KINDS[0])
        found.setdefault(key, []).append((identity, said, match))
    parts = recorded_parts(cars)
    pairs = [_pair(of_sale, store.overrides, parts) for of_sale in found.values()]
    ordered = sorted(pairs, key=lambda p: (p.sold_on, p.said_id))
    return PairsFound(tuple(ordered), len(store.said), waiting)


@dataclass(frozen=True, slots=True)
class _Found:
    """A sale that was found, by what, and the firm's car if it was one."""

    sale: KnownSale
    by: str
    car: StockCar | None = None


def _keys(said: Said) -> tuple[str, str, str]:
    """Return the keys of chassis, lot and stock number of what was said."""
    car = said.car
    return chassis_key(car.chassis, car.make), lot_key(car.venue, car.lot), compact(car.stock)


def sales_spoken_of(
    store: SaidStore, book: SalesBook, cars: Sequence[StockCar]
) -> tuple[KnownSale, ...]:
    """Return the sales of evidence and ledger that may have been spoken of, each once.

    Parameters
    ----------
    store : SaidStore
        Everything that was said.
    book : SalesBook
        The evidence.
    cars : sequence of StockCar
        Of the ledger.
    """
    keys = [_keys(s) for s in store.said.values()]
    in_book = known_sales(book, chassis=(k[0] for k in keys), lots=(k[1] for k in keys))
    own = own_sales(book, cars)
    bought = {o.stock for o in own if o.event == "bought"}
    sold = {o.sale_key for o in own if o.event == "sold"}
    # Of a purchase the record of the evidence says more; of a sale the ledger is exact.
    kept = [s for s in in_book if s.key not in sold]
    for car in cars:
        name = car.mark.stock or car.mark.chassis
        events = firm_sales([car])
        kept += [s for s in events if s.key.endswith(":sold") or name not in bought]
    return tuple(kept)


class _Finder:
    """Sales by their keys, and cars of the firm by theirs."""

    def __init__(
        self, sales: Sequence[KnownSale], cars: Sequence[StockCar], settings: PairSettings
    ) -> None:
        self.settings = settings
        self._sales: dict[tuple[str, str], list[KnownSale]] = {}
        for sale in sorted(sales, key=lambda s: (s.on, s.key)):
            for way, key in zip(MATCHES, (sale.chassis, sale.lot, sale.stock), strict=True):
                if key:
                    self._sales.setdefault((way, key), []).append(sale)
        self._cars: dict[tuple[str, str], list[StockCar]] = {}
        for car in cars:
            for way, key in zip(MATCHES, _car_keys(car), strict=True):
                if key and car.sold is not None:
                    self._cars.setdefault((way, key), []).append(car)

    def find(self, said: Said) -> _Found | None:
        """Return the sale that something was said of, None if there is none yet."""
        look = self._sale if said.kind == KINDS[0] else self._resale
        for way, key in zip(MATCHES, _keys(said), strict=True):
            found = look(said, way, key) if key else None
            if found is not None:
                return found
        return None

    def _sale(self, said: Said, way: str, key: str) -> _Found | None:
        limit = self.settings.lot_days if way == MATCHES[1] else self.settings.within_days
        own = _keys(said)[0]
        for sale in self._sales.get((way, key), ()):
            other = bool(own and sale.chassis and own != sale.chassis)
            if not other and _within(said.said_on, sale.on, limit):
                return _Found(sale, way)
        return None

    def _resale(self, said: Said, way: str, key: str) -> _Found | None:
        best: _Found | None = None
        own = _keys(said)[0]
        for car in self._cars.get((way, key), ()):
            if own and _car_keys(car)[0] not in ("", own):
                continue
            bought = car.bought.on if car.bought else None
            if way == MATCHES[1] and not _within(said.said_on, bought, self.settings.lot_days):
                continue
            sale = next(s for s in firm_sales([car]) if s.key.endswith(":sold"))
            in_time = _within(said.said_on, sale.on, self.settings.within_days)
            if in_time and (best is None or sale.on < best.sale.on):
                best = _Found(sale, way, car)
        return best


def _car_keys(car: StockCar) -> tuple[str, str, str]:
    bought = car.bought
    lot = lot_key(bought.venue, bought.lot) if bought else ""
    return chassis_key(car.mark.chassis, car.mark.make), lot, compact(car.mark.stock)


def _within(said_on: date, on: date | None, days: int) -> bool:
    return on is not None and said_on <= on <= said_on + timedelta(days=days)


def _pair(
    of_sale: Sequence[tuple[str, Said, _Found]],
    overrides: Mapping[str, tuple[Override, ...]],
    parts: tuple[str, ...],
) -> Pair:
    """Return the pair of a sale with what was said last of it."""
    identity, said, match = max(of_sale, key=lambda e: (e[1].said_at, e[0]))
    sale, car = match.sale, match.car
    before = [o for o in overrides.get(identity, ()) if o.at.date() <= sale.on]
    left_out = _left_out(said, sale)
    margin, no_margin = margin_of(said, car, parts)
    return Pair(
        said_id=identity,
        kind=said.kind,
        car=said.car.name,
        said_on=said.said_on,
        by=said.by,
        version=said.version,
        sold_on=sale.on,
        price=sale.price,
        currency=sale.currency,
        basis=sale.basis,
        channel=sale.channel,
        source=sale.source,
        sale_key=sale.key,
        matched_by=match.by,
        central=said.central,
        lower=said.lower,
        upper=said.upper,
        level=said.level,
        own_figure=said.own_figure,
        override=before[-1].figure if before else None,
        override_reason=before[-1].reason if before else "",
        earlier=len(of_sale) - 1,
        left_out=left_out,
        margin=None if left_out else margin,
        no_margin=no_margin,
        expected=said.bid.before_winning if said.bid and was_won(said, car) else None,
    )


_WITH_PREMIUM = frozenset(BASES[1:4:2])
"""Two names of what the buyer pays in all."""


def _left_out(said: Said, sale: KnownSale) -> str:
    """Say why a sale can't be held against what was said, nothing if it can."""
    if said.central is None:
        return "no estimate was given"
    if NO_CURRENCY not in (said.currency, sale.currency) and said.currency != sale.currency:
        return "said in another currency"
    if said.kind != KINDS[0]:
        return ""
    bases = {said.basis, sale.basis} - {"", BASES[-1]}
    if len(bases) == 2 and bases != _WITH_PREMIUM:
        return "said for another price basis"
    if len({said.channel, sale.channel} - {""}) == 2:
        return "said for another channel"
    return ""


def keep_pairs(
    workspace: Workspace,
    *,
    as_of: date,
    who: str,
    now: datetime,
    settings: PairSettings | None = None,
    wait: float = 10.0,
) -> PairsFound:
    """Find the pairs of a workspace and keep them in its table ``pairs``, in place of those before.

    Parameters
    ----------
    workspace : Workspace
        The evidence.
    as_of, settings
        As for :func:`find_pairs`.
    who : str
        Who asks.
    now : datetime.datetime
        When, with its time zone.
    wait : float
        Seconds to wait for somebody else.

    Returns
    -------
    PairsFound
        As :func:`find_pairs` has it; done twice, the table is the same.
    """
    with reading(workspace, wait=wait) as con:
        found = find_pairs(con, as_of=as_of, settings=settings)
        if pairs_of(con) == found.pairs:
            return found
    with writing(workspace, who=who, now=now, wait=wait, doing="pairing sales") as con:
        con.execute("DELETE FROM pairs")
        for p in found.pairs:
            row = {
                "said_id": p.said_id,
                "matched_by": p.matched_by,
                "source": p.source,
                "sale_key": p.sale_key,
                "sold_on": p.sold_on,
                "price": p.price,
                "currency": p.currency,
                "left_out": p.left_out,
                "content": json.dumps(p.to_dict(), ensure_ascii=False, sort_keys=True),
            }
            add_row(con, "pairs", row)
    return found


def pairs_of(con: duckdb.DuckDBPyConnection) -> tuple[Pair, ...]:
    """Return the pairs that were kept last."""
    rows = con.execute("SELECT content FROM pairs ORDER BY sold_on, said_id").fetchall()
    return tuple(Pair.from_dict(json.loads(row[0])) for row in rows)
