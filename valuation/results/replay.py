"""What bids on past lots would have won and brought, rule by rule."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from valuation.money import format_money

__all__ = ["KINDS", "AuctionResult", "LossBand", "Measured", "Replay", "RuleResult"]

KINDS = ("loss limit", "plain share", "matched share", "every lot")
"""Rules of bidding.

``loss limit``: the walk-away bid, with a limit of the risk of loss.  ``plain share``: a
share of the central estimate of the resale.  ``matched share``: the plain share that wins as many
lots as a loss limit does.  ``every lot``: whatever it takes, to see what the lots are worth
unselected.
"""


@dataclass(frozen=True, slots=True)
class Measured:
    """A mean or a share with its 95 % interval.

    Parameters
    ----------
    value : float
        What was measured.
    low, high : float
        Ends of the interval.
    """

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class RuleResult:
    """What one rule of bidding would have won, and what that brought.

    Parameters
    ----------
    kind : str
        One of :data:`KINDS`.
    level : float or None
        The loss limit, or the share of the central estimate; None for every lot.
    corrected : bool
        Whether the expected resale was lowered by what winning says.
    matches : float or None
        The loss limit that a matched share wins as many lots as.
    seen : int
        Lots that were sold and could be bid on.
    bids : int
        Lots on which the rule makes a bid.
    bid_to_estimate : float or None
        Median bid as a share of the central estimate of the resale; of every lot, what it took.
    risk_binds : int
        Bids that the loss limit keeps from going higher; the others are kept by the target margin
        or by the money that may go into one car.
    won : int
        Lots it wins.
    share_won : Measured
        Share of the lots seen.
    expected_margin : float or None
        Mean expected margin at the price paid, over the lots won.
    known : int
        Lots won of which it is known what they brought; everything below is about them.
    expected_of_known : float or None
        Mean expected margin of these.
    realised_margin : Measured or None
        Mean margin that they brought; this and what follows is None for fewer than five lots.
    predicted_loss : float or None
        Mean risk of loss that was predicted at the price paid; of all lots won if fewer than five
        are known.
    realised_loss : Measured or None
        Share of them that lost money.
    realised_total, outlay_total : float
        Sum of the margins, and of the money that it took.
    return_on_outlay : Measured or None
        Margin per unit of outlay, all lots together.
    surprise : Measured or None
        By how many per cent the resales lay above the estimates that the bids rested on, below
        them if negative: the mean of the logarithms as a change.
    """

    kind: str
    level: float | None
    corrected: bool
    matches: float | None
    seen: int
    bids: int
    bid_to_estimate: float | None
    risk_binds: int
    won: int
    share_won: Measured
    expected_margin: float | None
    known: int
    expected_of_known: float | None
    realised_margin: Measured | None
    predicted_loss: float | None
    realised_loss: Measured | None
    realised_total: float
    outlay_total: float
    return_on_outlay: Measured | None
    surprise: Measured | None

    @property
    def name(self) -> str:
        """The rule in words."""
        if self.kind == KINDS[3]:
            return "every lot at its price"
        level = f"{self.level or 0:.0%}" if self.kind != KINDS[2] else f"{self.level or 0:.1%}"
        if self.kind == KINDS[0]:
            return f"loss limit {level}" + ("" if self.corrected else ", winning not corrected")
        return f"{level} of the estimate"

    @property
    def overrated(self) -> str:
        """How the resales lay to the estimates, in words; empty if too few are known."""
        if self.surprise is None:
            return ""
        off = self.surprise.value
        return f"{abs(off):.0f}% {'below' if off < 0 else 'above'} the estimates"

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form."""
        return {"name": self.name, **asdict(self)}


@dataclass(frozen=True, slots=True)
class LossBand:
    """Lots of like predicted risk, as if each had been bought at its price.

    Parameters
    ----------
    low, high : float
        Between which the predicted risk of loss lies, the lower end included.
    lots : int
        Lots.
    predicted : float
        Their mean predicted risk of loss.
    realised : Measured
        Share of them that lost money.
    """

    low: float
    high: float
    lots: int
    predicted: float
    realised: Measured


@dataclass(frozen=True, slots=True)
class AuctionResult:
    """What the winners of invented auctions among bidders of equal skill expected and made.

    Parameters
    ----------
    rivals : int
        Bidders besides the firm.
    corrected : bool
        Whether all bidders correct for winning.
    lots, sold : int
        Lots, and those on which somebody bid.
    expected : Measured
        Mean expected margin at the price paid.
    realised : Measured
        Mean margin that the lots brought.
    difference : Measured
        Mean of realised less expected margin, lot by lot.
    predicted_loss : float
        Mean predicted risk of loss.
    realised_loss : Measured
        Share of the lots sold that lost money.
    """

    rivals: int
    corrected: bool
    lots: int
    sold: int
    expected: Measured
    realised: Measured
    difference: Measured
    predicted_loss: float
    realised_loss: Measured

    def summary(self) -> str:
        """Return the result as plain text."""
        rivals = "1 rival" if self.rivals == 1 else f"{self.rivals} rivals"
        how = "corrected" if self.corrected else "not corrected"
        d = self.difference
        return (
            f"{rivals}, winning {how}: expected {_money(self.expected.value)} a lot, made "
            f"{_money(self.realised.value)}; difference {_money(d.value)} ({_money(d.low)} to "
            f"{_money(d.high)}); risk of loss predicted {self.predicted_loss:.1%}, lost "
            f"{_share(self.realised_loss)}"
        )

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form."""
        return asdict(self)


@dataclass(frozen=True)
class Replay:
    """Bids on past lots, replayed.

    Parameters
    ----------
    currency : str
        ISO 4217 code of all amounts.
    first, last : datetime.date
        Days of the first and the last lot.
    fitted_on : int
        Sales before the first lot.
    fits : int
        How often the market was learned.
    resale : str
        What the margins rest on, in a sentence.
    seen : int
        Lots that were sold and could be bid on.
    left_out : tuple of (str, int)
        Why other lots of the stretch are not among them, and how many.
    rules : tuple of RuleResult
        Rule by rule.
    bands : tuple of LossBand
        Predicted and realised risk over all lots seen, without the correction for winning.
    made_good : Measured or None
        How much of an apparent bargain the resales made good, over all lots seen: 1 if what looks
        cheap is cheap, 0 if the price was right and the estimate wrong.
    own_share : Measured or None
        Share of the spread of estimates around resales that was misjudgement of the firm's own.
    own_share_stated : float or None
        What the cost settings take it for; None if they state the correction for winning itself.
    intervals : str
        What the intervals of margins rest on, in a sentence.
    notes : tuple of str
        What to know before relying on it.
    """

    currency: str
    first: date
    last: date
    fitted_on: int
    fits: int
    resale: str
    seen: int
    left_out: tuple[tuple[str, int], ...]
    rules: tuple[RuleResult, ...]
    bands: tuple[LossBand, ...]
    made_good: Measured | None
    own_share: Measured | None
    own_share_stated: float | None
    intervals: str
    notes: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        return {
            "format": 1,
            "currency": self.currency,
            "first": self.first.isoformat(),
            "last": self.last.isoformat(),
            "fitted_on": self.fitted_on,
            "fits": self.fits,
            "resale": self.resale,
            "seen": self.seen,
            "left_out": [{"reason": r, "lots": n} for r, n in self.left_out],
            "rules": [r.to_dict() for r in self.rules],
            "bands": [asdict(b) for b in self.bands],
            "made_good": None if self.made_good is None else asdict(self.made_good),
            "own_share": None if self.own_share is None else asdict(self.own_share),
            "own_share_stated": self.own_share_stated,
            "intervals": self.intervals,
            "notes": list(self.notes),
        }

    @property
    def lessons(self) -> tuple[str, ...]:
        """What all lots say of bargains and of misjudgement, in sentences."""
        said = []
        if self.made_good is not None:
            m = self.made_good
            said.append(
                "Of each per cent by which a lot looked cheaper than its estimate, the resale made "
                f"good {m.value:.2f} ({m.low:.2f} to {m.high:.2f}); the rest was an error of the "
                "estimate."
            )
        if self.own_share is not None:
            stated = self.own_share_stated
            taken = "" if stated is None else f"; the cost settings take it for {stated:.0%}"
            said.append(
                "Misjudgement of your own makes "
                f"{_share(self.own_share, 0)} of the spread of estimates around resales{taken}."
            )
        return tuple(said)

    def summary(self) -> str:
        """Return the result as plain text."""
        lines = [
            f"Would it have bought? {self.seen:,} lots from {self.first} to {self.last}, bid on "
            f"with what was known before each ({self.fitted_on:,} sales before the first; learned "
            f"{self.fits} times). Amounts in {self.currency}.",
            *(f"  left out: {n:,}, {reason}" for reason, n in self.left_out),
            *(line for rule in self.rules for line in ("", *_lines(rule))),
        ]
        if self.bands:
            lines += ["", "Had every lot been bought at its price, by predicted risk of loss:"]
            lines += [
                f"  {b.low:4.0%} to {b.high:4.0%}   {b.lots:>6,} lots   predicted "
                f"{b.predicted:5.1%}   lost {_share(b.realised)}"
                for b in self.bands
            ]
        said = (*self.lessons, self.resale, self.intervals, *self.notes)
        return "\n".join([*lines, "", *said])


def _lines(rule: RuleResult) -> list[str]:
    """Return a rule as lines of text."""
    as_many = f", as many as loss limit {rule.matches:.0%}" if rule.matches is not None else ""
    won = f"{rule.won:,} lot{'' if rule.won == 1 else 's'} won"
    out = [f"{rule.name}: {rule.bids:,} bids, {won}{as_many}: {_share(rule.share_won)}"]
    margin, lost, earned = rule.realised_margin, rule.realised_loss, rule.return_on_outlay
    if margin is not None and lost is not None and earned is not None:
        some = f" (of {rule.known:,} lots)" if rule.known < rule.won else ""
        out += [
            f"  margin a lot       expected {_money(rule.expected_of_known)}, realised "
            f"{_money(margin.value)} ({_money(margin.low)} to {_money(margin.high)}){some}",
            f"  resale             {rule.overrated}",
            f"  risk of loss       predicted {rule.predicted_loss or 0:.1%}, lost {_share(lost)}",
            f"  in all             {_money(rule.realised_total)} on an outlay of "
            f"{_money(rule.outlay_total)}: {_share(earned)}",
        ]
    elif rule.won:
        out += [
            f"  margin a lot       expected {_money(rule.expected_margin)}",
            f"  risk of loss       predicted {rule.predicted_loss or 0:.1%}",
        ]
    return out


def _money(amount: float | None) -> str:
    return "–" if amount is None else format_money(amount, "")


def _share(m: Measured, digits: int = 1) -> str:
    return f"{m.value:.{digits}%} ({m.low:.{digits}%} to {m.high:.{digits}%})"
