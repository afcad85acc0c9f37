"""The run list: a whole catalogue with its bids, sorted and planned."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from itertools import groupby

import numpy as np

from valuation.appraisal.market import MarketModel
from valuation.bidding.costs import Costs
from valuation.bidding.from_market import Candidate, market_prospects
from valuation.bidding.plan import Chance, best_within
from valuation.bidding.run_line import PricedLot, price_lot
from valuation.bidding.sheet import CAUTIONS
from valuation.cents import from_cents, in_cents
from valuation.errors import SettingsError
from valuation.importing.lot_list import Lot, LotList
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.title_states import title_note
from valuation.records import SetAside
from valuation.results.bid_text import bid_words
from valuation.results.run_list import RunLine, RunList, UnpricedLot
from valuation.running.runner import Progress, Runner

__all__ = ["SORTED_BY", "RunSettings", "lot_candidates", "run_list"]

SORTED_BY = ("margin", "margin per capital", "running order")
"""What a run list can be sorted by.

``margin`` puts the lots with a reserve or an estimate first, by the expected margin at the reserve
or low estimate; then those without, by margin per unit of capital; then those whose reserve or
low estimate lies above the walk-away bid; then those without a bid.
"""

LONGEST = 120
"""Signs of a row that could not be priced that are shown."""

TOGETHER = 100
"""Lots that are valued in one go, so that a bar can move."""


@dataclass(frozen=True)
class RunSettings:
    """What a buyer asks of a run list.

    Parameters
    ----------
    sorted_by : str
        One of :data:`SORTED_BY`.
    budget : Decimal or None
        Money for the day, in the resale's currency.
    won : mapping of str to Decimal
        Hammer prices of lots bought already, by lot number; the sale is past every lot before
        the last of them.
    changed : mapping of str to tuple of str
        What differs from an earlier list, by lot number.
    changes : tuple of str
        What differs as a whole.
    """

    sorted_by: str = SORTED_BY[0]
    budget: Decimal | None = None
    won: Mapping[str, Decimal] | None = None
    changed: Mapping[str, tuple[str, ...]] | None = None
    changes: tuple[str, ...] = ()


def run_list(
    market: MarketModel,
    lots: LotList,
    costs: Costs,
    *,
    as_of: date | None = None,
    settings: RunSettings | None = None,
    inspection: InspectionSettings | None = None,
    run: Runner | None = None,
    progress: Progress | None = None,
) -> RunList:
    """Price every lot of a catalogue and plan the day.

    Parameters
    ----------
    market : MarketModel
        Fitted and calibrated.
    lots : LotList
        The catalogue.
    costs : Costs
        The firm's settings, in the currency of the market.
    as_of : datetime.date, optional
        Day of the bids; by default that of each lot, see :func:`lot_candidates`.
    settings : RunSettings, optional
        Order, budget, what was won.
    inspection : InspectionSettings, optional
        What zone marks count.
    run : Runner, optional
        How parts of the list are run; in this process if not given.  The list is the same.
    progress : callable, optional
        Told how many lots of how many are priced.

    Returns
    -------
    RunList
        Every lot is in it, priced or with the reason why not: one bad lot never stops the list.

    Raises
    ------
    CostsError
        If costs and market have different currencies.
    SettingsError
        If a lot said to be won is not in the list.
    """
    asked = settings or RunSettings()
    if asked.sorted_by not in SORTED_BY:
        raise SettingsError(
            "sorted_by", "no such order", got=asked.sorted_by, remedy=f"Use {', '.join(SORTED_BY)}"
        )
    priced, first_day = _priced(market, lots, costs, as_of, inspection, run or Runner(), progress)
    lines, planned = _planned(priced, lots, asked)
    changed = asked.changed or {}
    lines = [replace(x, changed=tuple(changed.get(x.number, ()))) for x in lines]
    return RunList(
        source=_source(lots),
        as_of=first_day or as_of or market.as_of,
        resale_currency=costs.currency,
        lines=tuple(sorted(lines, key=_order(asked.sorted_by))),
        unpriced=tuple(map(_unpriced, lots.set_aside, lots.aside_places)),
        sorted_by=asked.sorted_by,
        budget=asked.budget,
        planned=planned,
        notes=(*lots.notes, *_titles(lots), *_over(planned, asked.budget)),
        changes=asked.changes,
        cautions=CAUTIONS,
        settings=_settings(costs),
    )


def _over(planned: Decimal | None, budget: Decimal | None) -> tuple[str, ...]:
    if planned is None or budget is None or planned <= budget:
        return ()
    return ("The lots that were won take more than the budget: nothing is left to pursue.",)


def _titles(lots: LotList) -> tuple[str, ...]:
    """Say once what holds for nearly every lot of a catalogue: nobody has seen its title."""
    n = sum(bool(title_note(lot.car)) for lot in lots.lots)
    said = f"The title of {n:,} lots is not stated or not settled: see each before you bid."
    return (said,) if n else ()


def _settings(costs: Costs) -> tuple[str, ...]:
    """Say what the firm asks of a purchase, and how it sells."""
    t, s, h = costs.target, costs.selling, costs.holding
    asked = []
    if t.margin:
        asked.append(f"a margin of {bid_words(t.margin, costs.currency)}")
    if t.share:
        asked.append(f"a margin of {_per_cent(t.share)} of the resale")
    if t.loss_probability < 1:
        asked.append(f"a risk of loss of at most {_per_cent(t.loss_probability)}")
    if t.outlay is not None:
        asked.append(f"an outlay of at most {bid_words(t.outlay, costs.currency)}")
    place = " ".join(x for x in (s.channel or "the usual channel", s.venue, s.basis) if x)
    return (
        f"Asked of each car: {', '.join(asked)}.",
        f"Sold as: {place}, {h.days_low} to {h.days_high} days after payment.",
    )


def _per_cent(share: Decimal) -> str:
    return f"{(100 * share).normalize():f}%"


def lot_candidates(
    market: MarketModel,
    lots: Sequence[Lot],
    costs: Costs,
    *,
    as_of: date | None = None,
    inspection: InspectionSettings | None = None,
) -> Iterator[tuple[Lot, Candidate, date | None]]:
    """Yield lots with their cars valued, and the day of the bid.

    Parameters
    ----------
    market, costs, inspection
        As for :func:`run_list`.
    lots : sequence of Lot
        The lots, in any order.
    as_of : datetime.date, optional
        Day of the bids.  Without it each lot is bid on its own day, where the catalogue states one
        that is not before the day of the model; the others on the day of the model.
    """
    valuing = _Valuing(market, costs, inspection)
    for part in _parts(market, lots, as_of):
        yield from ((lot, c, part.day) for lot, c in valuing.candidates(part))


@dataclass(frozen=True)
class _Part:
    """Lots that are valued in one go."""

    day: date | None
    lots: tuple[Lot, ...]


@dataclass(frozen=True)
class _Valuing:
    """What all lots share."""

    market: MarketModel
    costs: Costs
    inspection: InspectionSettings | None

    def candidates(self, part: _Part) -> Iterator[tuple[Lot, Candidate]]:
        cars = [lot.car for lot in part.lots]
        found = market_prospects(
            self.market, cars, self.costs, as_of=part.day, inspection=self.inspection
        )
        return zip(part.lots, found, strict=True)


def _price_part(valuing: _Valuing, part: _Part) -> list[PricedLot]:
    return [price_lot(lot, c, valuing.costs) for lot, c in valuing.candidates(part)]


def _parts(market: MarketModel, lots: Sequence[Lot], as_of: date | None) -> Iterator[_Part]:
    """Cut lots, in their order, into parts of one day."""
    for day, run in groupby(lots, key=lambda lot: _day_of(lot, market, as_of)):
        same = tuple(run)
        for start in range(0, len(same), TOGETHER):
            yield _Part(day, same[start : start + TOGETHER])


def _day_of(lot: Lot, market: MarketModel, as_of: date | None) -> date | None:
    if as_of is not None or market.as_of is None:
        return as_of
    return max(market.as_of, lot.sale_date or market.as_of)


def _priced(
    market: MarketModel,
    lots: LotList,
    costs: Costs,
    as_of: date | None,
    inspection: InspectionSettings | None,
    run: Runner,
    progress: Progress | None,
) -> tuple[list[PricedLot], date | None]:
    """Return every lot with its bid, and the first day of the bids."""
    parts = list(_parts(market, lots.lots, as_of))
    valuing = _Valuing(market, costs, inspection)
    out: list[PricedLot] = []
    for priced in run.each(_price_part, parts, common=valuing):
        out += priced
        if progress is not None:
            progress(len(out), len(lots.lots), "pricing lots")
    return out, min((part.day for part in parts if part.day), default=None)


def _planned(
    priced: Sequence[PricedLot], lots: LotList, asked: RunSettings
) -> tuple[list[RunLine], Decimal | None]:
    """Return every line with its place in the plan, and the money that the plan would take."""
    won = dict(asked.won or {})
    _check_won(won, priced)
    last = max((p.lot.order for p in priced if p.lot.number in won), default=0)
    spent = {p.lot.number: _spent(p, won[p.lot.number]) for p in priced if p.lot.number in won}
    ahead = [p for p in priced if _open(p) and p.lot.order > last and p.lot.number not in won]
    if asked.budget is None:
        words = dict.fromkeys(spent, "won")
        lines = [replace(p.line, plan=words.get(p.lot.number, "")) for p in priced]
        return lines, None if not spent else sum(spent.values(), Decimal(0))
    left = asked.budget - sum(spent.values(), Decimal(0))
    chances = [Chance(p.most, p.line.expected_margin or Decimal(0)) for p in ahead]
    chosen = {id(p) for p, yes in zip(ahead, best_within(chances, left), strict=True) if yes}
    lines, total = [], sum(spent.values(), Decimal(0))
    for p in priced:
        if p.lot.number in spent:
            word = "won"
        elif id(p) in chosen:
            word, total = "pursue", total + p.most
        elif p.lot.order < last:
            word = "past"
        else:
            word = "left out" if _open(p) else "too dear" if p.line.walk_away else "no bid"
        lines.append(replace(p.line, plan=word))
    return lines, total


def _open(p: PricedLot) -> bool:
    """Tell whether a lot can be pursued: it has a bid, and that reaches what it can be had for."""
    line = p.line
    if line.walk_away is None or line.at is None:
        return False
    return line.at <= line.walk_away


def _spent(p: PricedLot, hammer: Decimal) -> Decimal:
    """Return what a lot that was won takes."""
    if p.deal is None:
        return hammer
    outlay, _ = p.deal.expected(np.array([in_cents(hammer)]))
    return from_cents(int(outlay[0]))


def _check_won(won: Mapping[str, Decimal], priced: Sequence[PricedLot]) -> None:
    numbers = Counter(p.lot.number for p in priced)
    for number in won:
        if numbers[number] > 1:
            raise SettingsError(
                "won",
                "two lots of the list have this number",
                got=number,
                remedy="Give one of them another number in the catalogue",
            )
        if not numbers[number]:
            raise SettingsError(
                "won",
                "no such lot in the list, or none that could be priced",
                got=number,
                remedy="Write it as the catalogue does, such as 112=41000",
            )


def _order(sorted_by: str) -> Callable[[RunLine], tuple[float, float, int]]:
    def by_margin(line: RunLine) -> tuple[float, float, int]:
        if line.walk_away is None:
            return 3.0, 0.0, line.order
        if line.at is not None and line.at > line.walk_away:
            return 2.0, -float(line.expected_margin or 0), line.order
        if line.reserve is not None or line.estimate_low is not None:
            return 0.0, -float(line.expected_margin or 0), line.order
        return 1.0, -(line.margin_per_capital or 0.0), line.order

    def by_capital(line: RunLine) -> tuple[float, float, int]:
        if line.walk_away is None:
            return 1.0, 0.0, line.order
        return 0.0, -(line.margin_per_capital or 0.0), line.order

    def by_place(line: RunLine) -> tuple[float, float, int]:
        return 0.0, 0.0, line.order

    return dict(zip(SORTED_BY, (by_margin, by_capital, by_place), strict=True))[sorted_by]


def _source(lots: LotList) -> str:
    files = dict.fromkeys([*(x.file for x in lots.lots), *(s.file for s in lots.set_aside)])
    return ", ".join(files)


def _unpriced(row: SetAside, place: tuple[str, str]) -> UnpricedLot:
    """Return a row that is no lot to be priced, with its number and day where it names them."""
    told = [v.strip() for v in row.cells.values() if v.strip() not in place]
    reasons = []
    for fault in row.faults:
        got = f" ({fault.got})" if fault.got else ""
        reasons.append(f"{fault.code}{got}. {fault.remedy}.")
    words = ", ".join(v for v in told if v)
    return UnpricedLot(*place, row.row, words[:LONGEST], " ".join(reasons))
