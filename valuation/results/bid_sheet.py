"""What a bid sheet is: the walk-away bid of one car, and every reason for it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from valuation.results.bid_parts import (
    AccountLine,
    BidCheck,
    MarketCourse,
    Resale,
    Rung,
    Stop,
    Swing,
    WorkStep,
)
from valuation.results.bid_text import (
    bid_words,
    check_lines,
    course_lines,
    ladder_lines,
    resale_lines,
    swing_lines,
    work_lines,
)
from valuation.results.valuation import Evidence

__all__ = ["ANSWERS", "BidSheet", "plain_value"]

FORMAT = 1
"""Version of the machine-readable form."""

ANSWERS = ("bid", "no bid until cured", "no bid makes sense", "evidence too thin to bid on")
"""What a sheet can answer."""


@dataclass(frozen=True)
class BidSheet:
    """How much to bid for one car, and why.

    Parameters
    ----------
    car : str
        Name of the car.
    as_of : datetime.date or None
        Day of the bid.
    way : str
        How it is bought: the venue or kind of purchase whose costs were taken.
    currency, resale_currency : str
        Of the bids, and of every other amount.
    answer : str
        One of :data:`ANSWERS`.
    walk_away : Decimal or None
        Highest bid that breaks no limit; None where the answer is no bid.
    once_cured : Decimal or None
        What it would be with everything cured that stops the purchase.
    binds : tuple of str
        Limits that the next higher bid breaks: ``margin``, ``risk``, ``outlay``.
    reasons : tuple of str
        Why the answer is what it is, in sentences.
    warnings : tuple of str
        What to know before relying on it.
    target_margin : Decimal
        Least expected margin.
    loss_limit : float
        Largest accepted probability of loss.
    ladder : tuple of Rung
        Bids around the walk-away bid, rising.
    broken : tuple of (Decimal, Decimal)
        Bids below the walk-away bid that break a limit all the same, from and to.
    resale : Resale or None
        What the resale rests on; None where the evidence gives none.
    account : tuple of AccountLine
        From the resale to the margin at the walk-away bid, or the lowest bid if there is none.
    courses, swings, checks, stops, work : tuple
        See the classes.
    evidence : Evidence or None
        How much stands behind the resale; None for stated amounts.
    cautions : tuple of str
        What the reader must know.
    lot : str
        Number of the lot as the catalogue prints it, empty where it is none.
    account_at : Decimal or None
        The bid for which the account stands, None without an account.
    outlay_limit : Decimal or None
        Most that may be paid for one car, in the resale's currency; None for no such limit.
    """

    car: str
    as_of: date | None
    way: str
    currency: str
    resale_currency: str
    answer: str
    walk_away: Decimal | None
    once_cured: Decimal | None
    binds: tuple[str, ...]
    reasons: tuple[str, ...]
    warnings: tuple[str, ...]
    target_margin: Decimal
    loss_limit: float
    ladder: tuple[Rung, ...]
    broken: tuple[tuple[Decimal, Decimal], ...]
    resale: Resale | None
    account: tuple[AccountLine, ...]
    courses: tuple[MarketCourse, ...]
    swings: tuple[Swing, ...]
    checks: tuple[BidCheck, ...]
    stops: tuple[Stop, ...]
    work: tuple[WorkStep, ...]
    evidence: Evidence | None
    cautions: tuple[str, ...]
    lot: str = ""
    account_at: Decimal | None = None
    outlay_limit: Decimal | None = None

    def summary(self) -> str:
        """Return the sheet as plain text: answer, reasons, ladder, what to check first."""
        day = f" on {self.as_of.isoformat()}" if self.as_of else ""
        lines = [f"{self.car}{day}, bought as: {self.way}"]
        if self.walk_away is not None:
            lines.append(f"  walk-away bid  {bid_words(self.walk_away, self.currency)}")
        else:
            lines.append(f"  {self.answer}")
        if self.once_cured is not None:
            cured = bid_words(self.once_cured, self.currency)
            lines.append(f"  once cured, the walk-away bid would be {cured}")
        lines += [f"  {text}" for text in (*self.reasons, *self.warnings)]
        if self.resale:
            lines += ["", *resale_lines(self.resale, self.resale_currency)]
        lines += ladder_lines(self.ladder, self.walk_away, self.currency, self.resale_currency)
        lines += work_lines(self.work, self.resale_currency)
        lines += course_lines(self.courses, self.currency)
        lines += check_lines(self.checks, self.currency)
        lines += swing_lines(self.swings, self.currency)
        if self.evidence:
            e = self.evidence
            lines += ["", f"  evidence: {e.strength}; {e.sales} sales of the same {e.level}"]
            lines += [f"  note: {w}" for w in e.warnings]
        return "\n".join(lines)

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``).

        Amounts are numbers with not more than two decimals, probabilities are not rounded.
        """
        out: dict[str, Any] = {"format": FORMAT}
        out.update({key: plain_value(value) for key, value in asdict(self).items()})
        out["binds"] = " and ".join(self.binds)
        return out


def plain_value(value: Any) -> Any:
    """Return a value as JSON has it."""
    if isinstance(value, Decimal):
        return int(value) if value == value.to_integral_value() else float(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, dict):
        return {k: plain_value(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [plain_value(v) for v in value]
    return value
