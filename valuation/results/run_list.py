"""What a run list is: every lot with its range, its bid and what to look at first."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from valuation.results.bid_sheet import plain_value
from valuation.results.bid_text import bid_words

__all__ = ["RunLine", "RunList", "UnpricedLot"]

FORMAT = 1
"""Version of the machine-readable form."""


MARGIN_AT = (
    "margin at: expected margin at the reserve, else at the low estimate, else at the walk-away "
    "bid; below zero means too dear"
)
"""What the column of margins means."""


@dataclass(frozen=True, slots=True)
class RunLine:
    """One lot that was priced.

    Parameters
    ----------
    number, day : str
        Lot number and day as the catalogue prints them.
    order : int
        Place in the running order.
    car : str
        The car.
    estimate_low, estimate_high, reserve : Decimal or None
        As the catalogue states them, in the currency of the bid; None if it doesn't.
    no_reserve : bool
        True if it says that there is none.
    currency : str
        Currency of estimate, reserve and bid.
    central, lower, upper : Decimal or None
        Resale in the firm's selling channel: median and 80 % range, in the resale's currency;
        bounds are None where the evidence carries no range.
    answer : str
        One of :data:`valuation.results.bid_sheet.ANSWERS`.
    walk_away : Decimal or None
        Highest bid that breaks no limit.
    binds : tuple of str
        Which limits bind.
    at : Decimal or None
        The bid for which the next three stand: the reserve where it is known, else the low
        estimate, else the walk-away bid.
    outlay, expected_margin : Decimal or None
        At that bid, in the resale's currency.
    loss_probability : float or None
        At that bid.
    evidence : str
        Its strength in one word.
    first_check : str
        What to check first, in one line; empty if nothing is open.
    warnings : tuple of str
        Tribute, contradiction, outside the evidence, same chassis sold before, title.
    reasons : tuple of str
        Why the answer is what it is.
    plan : str
        Where a budget is given: ``won``; ``pursue``; ``left out``, for other lots promise more for
        the money; ``too dear``, as reserve or low estimate lie above the walk-away bid; ``no bid``;
        ``past``, as the sale has gone on to later lots.  Without a budget only ``won``.
    changed : tuple of str
        What differs from the earlier list.
    notes : str
        The buyer's own.
    winning_percent : float
        The correction for winning that is in range and margin, in per cent, zero or below.
    """

    number: str
    day: str
    order: int
    car: str
    estimate_low: Decimal | None
    estimate_high: Decimal | None
    reserve: Decimal | None
    no_reserve: bool
    currency: str
    central: Decimal | None
    lower: Decimal | None
    upper: Decimal | None
    answer: str
    walk_away: Decimal | None
    binds: tuple[str, ...]
    at: Decimal | None
    outlay: Decimal | None
    expected_margin: Decimal | None
    loss_probability: float | None
    evidence: str
    first_check: str
    warnings: tuple[str, ...]
    reasons: tuple[str, ...]
    plan: str = ""
    changed: tuple[str, ...] = ()
    notes: str = ""
    winning_percent: float = 0.0

    @property
    def margin_per_capital(self) -> float | None:
        """Expected margin for each unit of outlay, at the bid `at`."""
        if self.expected_margin is None or not self.outlay:
            return None
        return float(self.expected_margin / self.outlay)


@dataclass(frozen=True, slots=True)
class UnpricedLot:
    """A lot that could not be priced.

    Parameters
    ----------
    number, day : str
        As printed; empty if the row has none.
    row : int
        Row or place in the file.
    words : str
        What the catalogue says of it, shortened.
    reason : str
        Why it could not be priced and what to do.
    """

    number: str
    day: str
    row: int
    words: str
    reason: str


@dataclass(frozen=True)
class RunList:
    """A whole catalogue, priced.

    Parameters
    ----------
    source : str
        Name of the catalogue's file, without its folder.
    as_of : datetime.date or None
        Day of the bids.
    resale_currency : str
        Currency of ranges, outlays and margins.
    lines : tuple of RunLine
        Lots that were priced, in the order of `sorted_by`.
    unpriced : tuple of UnpricedLot
        Lots that were not.
    sorted_by : str
        ``margin``, ``margin per capital`` or ``running order``.
    budget, planned : Decimal or None
        Money for the day, and what the lots to pursue and those won would take of it, in the
        resale's currency.
    notes : tuple of str
        What was noticed about the catalogue as a whole.
    changes : tuple of str
        What differs from the earlier list as a whole: lots new and withdrawn.
    cautions : tuple of str
        What the reader must know.
    settings : tuple of str
        What the firm asks and pays, in sentences.
    """

    source: str
    as_of: date | None
    resale_currency: str
    lines: tuple[RunLine, ...]
    unpriced: tuple[UnpricedLot, ...]
    sorted_by: str
    budget: Decimal | None = None
    planned: Decimal | None = None
    notes: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    settings: tuple[str, ...] = ()

    def summary(self) -> str:
        """Return the list as plain text: a line for each lot, then what could not be priced."""
        day = f" on {self.as_of.isoformat()}" if self.as_of else ""
        lines = [
            f"{self.source}{day}: {len(self.lines)} lots priced, {len(self.unpriced)} not; "
            f"sorted by {self.sorted_by}"
        ]
        if self.budget is not None:
            planned = bid_words(self.planned or Decimal(0), self.resale_currency)
            lines.append(f"  planned {planned} of {bid_words(self.budget, self.resale_currency)}")
        lines += [f"  note: {text}" for text in (*self.notes, *self.changes)]
        lines += ["", f"  {'lot':<7}{'car':<42}{'walk-away bid':>18}{'margin at':>11}  evidence"]
        lines += [_line_words(x) for x in self.lines]
        lines += ["", f"  {MARGIN_AT}"]
        if self.unpriced:
            lines += ["", "  Could not be priced"]
        for lot in self.unpriced:
            place = f"lot {lot.number}" if lot.number else f"row {lot.row}"
            lines.append(f"  - {place}: {lot.reason}")
        return "\n".join(lines)

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        out: dict[str, Any] = {"format": FORMAT}
        out.update({key: plain_value(value) for key, value in asdict(self).items()})
        return out


def _line_words(line: RunLine) -> str:
    """Return one lot as a line of text."""
    car = line.car if len(line.car) <= 40 else f"{line.car[:39]}…"
    bid = line.answer if line.walk_away is None else bid_words(line.walk_away, line.currency)
    margin = "" if line.expected_margin is None else f"{line.expected_margin:,.0f}"
    more = [line.plan, *line.warnings[:1]]
    words = "; ".join([line.evidence, *(x for x in more if x)])
    return f"  {line.number:<7}{car:<42}{bid:>18}{margin:>11}  {words}"
