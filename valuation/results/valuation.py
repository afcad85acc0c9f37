"""What a valuation is: frozen results with plain fields, ready to print, show or save."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from valuation.money import format_money

__all__ = [
    "Adjustment",
    "Check",
    "Comparable",
    "Contribution",
    "Evidence",
    "NoRange",
    "PriceRange",
    "Valuation",
    "chance_words",
]

FORMAT = 1
"""Version of the machine-readable form."""


@dataclass(frozen=True, slots=True)
class PriceRange:
    """A price range that should hold the price with probability `level`.

    Parameters
    ----------
    level : float
        Nominal coverage, such as 0.8.
    lower, upper : float
        Bounds in the currency of the valuation.
    """

    level: float
    lower: float
    upper: float


@dataclass(frozen=True, slots=True)
class NoRange:
    """The answer when the evidence can't carry a range.

    Parameters
    ----------
    reason : str
        Why not, in one sentence.
    """

    reason: str


@dataclass(frozen=True, slots=True)
class Contribution:
    """One line of the explanation: what one attribute adds to or takes from the start.

    Parameters
    ----------
    attribute : str
        Name in the contract, or ``market``, ``sale``, ``wording``, ``earlier sale``,
        ``closest sales``, ``correction``, ``everything else``.
    label : str
        Name for people.
    value : str
        Value of this car, in words.
    amount : int
        Money in whole currency units; start and all amounts add up to the central value.
    exact : float
        The same before rounding.
    lower, upper : float
        90 % interval of the amount.  Intervals don't add.
    sales : int
        Number of sales behind the line.
    evidence_share : float
        0 where the line is assumption alone, 1 where it is evidence alone.
    statement : str
        Words or cell that led to the value, empty if it was given as such.
    """

    attribute: str
    label: str
    value: str
    amount: int
    exact: float
    lower: float
    upper: float
    sales: int
    evidence_share: float
    statement: str = ""


@dataclass(frozen=True, slots=True)
class Adjustment:
    """One step from a comparable sale towards this car.

    Parameters
    ----------
    attribute, label : str
        As for :class:`Contribution`; the market comes first.
    theirs, ours : str
        Value of the comparable and of this car, in words.
    amount : int
        Money added to the comparable's price.
    percent : float
        The same as a log effect in per cent.
    """

    attribute: str
    label: str
    theirs: str
    ours: str
    amount: int
    percent: float


@dataclass(frozen=True, slots=True)
class Comparable:
    """A sale that was compared, with its adjustment grid.

    Parameters
    ----------
    sale_id, title : str
        Identity and words of the sale.
    sale_date : datetime.date or None
        Day of the sale.
    price, adjusted_price : int
        As recorded (one currency), and after all adjustments.
    net_adjustment, gross_adjustment : float
        Signed and absolute sum of the adjustments in per cent (log scale).
    weight : float
        Share of this sale in the line of the closest sales, 0 to 1.
    basis, outcome, channel : str
        What the price is.
    adjustments : tuple of Adjustment
        Price plus all amounts is the adjusted price.
    """

    sale_id: str
    title: str
    sale_date: date | None
    price: int
    adjusted_price: int
    net_adjustment: float
    gross_adjustment: float
    weight: float
    basis: str
    outcome: str
    channel: str
    adjustments: tuple[Adjustment, ...]


@dataclass(frozen=True, slots=True)
class Check:
    """One fact to check before bidding: what hangs on it, how likely that is, and how to look.

    Parameters
    ----------
    attribute, label : str
        Name in the contract and name for people.
    state : {"open", "not looked at", "contradicted"}
        How the fact stands.
    possible : str
        What it can still be, in words.
    claim, contradiction : str
        As the seller has it, and what speaks against it; empty for nothing.
    if_bad, if_good : str
        The worst and the best it can turn out to be, in words.
    bad, good : int
        Central estimate in whole currency units if it turns out so.
    fall, rise : int
        The same less today's central estimate: at most and at least zero.
    bad_chance, good_chance : float
        How likely each is, 0 to 1.
    where, tool, how : str
        Where on the car to look, with what, and how to settle it.
    minutes : float or None
        How long that takes.
    worth : int
        What it is worth to know before bidding, whole currency units.
    """

    attribute: str
    label: str
    state: str
    possible: str
    claim: str
    contradiction: str
    if_bad: str
    if_good: str
    bad: int
    good: int
    fall: int
    rise: int
    bad_chance: float
    good_chance: float
    where: str
    tool: str
    how: str
    minutes: float | None
    worth: int


@dataclass(frozen=True, slots=True)
class Evidence:
    """How much stands behind a valuation.

    Parameters
    ----------
    strength : {"strong", "fair", "thin", "none"}
        In one word.
    level : str
        Where the comparables came from: ``variant``, ``model line``, ``make``, ``market``.
    sales : int
        Number of sales at that level.
    outside : bool
        True if the car lies outside what the evidence has seen.
    warnings : tuple of str
        Sentences.
    """

    strength: str
    level: str
    sales: int
    outside: bool
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class Valuation:
    """What one car is worth, how sure that is, and why.

    Parameters
    ----------
    car : str
        Name of the car.
    as_of : datetime.date or None
        Day for which it is valued; None for an undated list.
    currency, basis, estimand : str
        What the amounts are: currency, price basis, and ``market bid``, ``price if sold`` or
        ``asking price``.
    central : int
        Median of the predictive distribution, whole currency units.
    range : PriceRange or NoRange
        The range at the default level.
    ranges : tuple of PriceRange
        Ranges at 50, 80 and 95 %, empty without a range.
    start_label : str
        What the start is: the typical car of the model line.
    start : int
        Its price on that day.
    contributions : tuple of Contribution
        From start to central.
    comparables : tuple of Comparable
        The closest sales, nearest first.
    evidence : Evidence
        How much stands behind it.
    cautions : tuple of str
        What the reader must know before relying on it.
    checks : tuple of Check
        Facts to check before bidding, the one most worth knowing first.
    """

    car: str
    as_of: date | None
    currency: str
    basis: str
    estimand: str
    central: int
    range: PriceRange | NoRange
    ranges: tuple[PriceRange, ...]
    start_label: str
    start: int
    contributions: tuple[Contribution, ...]
    comparables: tuple[Comparable, ...]
    evidence: Evidence
    cautions: tuple[str, ...]
    checks: tuple[Check, ...] = ()

    @property
    def meaning(self) -> str:
        """What the amounts are, in words: estimand and price basis."""
        if self.basis == "unknown":
            return f"{self.estimand}, price basis not known"
        return self.estimand if self.basis == self.estimand else f"{self.estimand}, {self.basis}"

    def summary(self) -> str:
        """Return the valuation as plain text: range, explanation, evidence."""
        day = f" on {self.as_of.isoformat()}" if self.as_of else ""
        lines = [f"{self.car}{day} ({self.meaning})"]
        lines.append(f"  central estimate  {format_money(self.central, self.currency)}")
        if isinstance(self.range, PriceRange):
            low = format_money(self.range.lower, "")
            high = format_money(self.range.upper, self.currency)
            lines.append(f"  {self.range.level:.0%} range         {low} to {high}")
        else:
            lines.append(f"  no range: {self.range.reason}")
        lines.append("")
        lines.append(f"  {self.start_label:<58}{format_money(self.start, ''):>12}")
        for c in self.contributions:
            text = f"{c.label}: {c.value}" if c.value else c.label
            shown = format_money(c.amount, "", signed=True)
            lines.append(f"  {_cut(text, 57):<58}{shown:>12}")
        lines.append(f"  {'= central estimate':<58}{format_money(self.central, ''):>12}")
        lines.append("")
        e = self.evidence
        lines.append(f"  evidence: {e.strength}; {e.sales} sales of the same {e.level}")
        lines.extend(f"  note: {w}" for w in e.warnings)
        if self.checks:
            lines += ["", "  What to check before bidding"]
        for check in self.checks:
            lines += [f"  {text}" for text in _check_lines(check, self.currency)]
        return "\n".join(lines)

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        if isinstance(self.range, PriceRange):
            ranged: dict[str, Any] = _range_dict(self.range)
        else:
            ranged = {"reason": self.range.reason}
        return {
            "format": FORMAT,
            "car": self.car,
            "as_of": self.as_of.isoformat() if self.as_of else None,
            "currency": self.currency,
            "basis": self.basis,
            "estimand": self.estimand,
            "central": self.central,
            "range": ranged,
            "ranges": [_range_dict(r) for r in self.ranges],
            "start": {"label": self.start_label, "amount": self.start},
            "contributions": [_contribution_dict(c) for c in self.contributions],
            "comparables": [_comparable_dict(c) for c in self.comparables],
            "evidence": asdict(self.evidence) | {"warnings": list(self.evidence.warnings)},
            "cautions": list(self.cautions),
            "checks": [_check_dict(c) for c in self.checks],
        }


def chance_words(chance: float) -> str:
    """Say how likely something is; what is unlikely is not called impossible.

    Examples
    --------
    >>> chance_words(0.334), chance_words(0.001), chance_words(0.999)
    ('likely 33%', 'likely under 1%', 'likely over 99%')
    """
    if 0.005 <= chance <= 0.995:
        return f"likely {chance:.0%}"
    return "likely under 1%" if chance < 0.5 else "likely over 99%"


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else text[: width - 1] + "…"


def _check_lines(check: Check, currency: str) -> list[str]:
    def side(word: str, central: int, step: int, chance: float) -> str:
        change = format_money(step, "", signed=True)
        return f"{word}: {format_money(central, '')} ({change}, {chance_words(chance)})"

    worth = format_money(check.worth, currency)
    place = f" Where: {check.where}." if check.where else ""
    tool = f" With: {check.tool}." if check.tool else ""
    time = f" {check.minutes:g} minutes." if check.minutes is not None else ""
    return [
        f"- {check.label}, {check.state}: {check.possible}; worth knowing {worth}",
        "  " + side(check.if_bad, check.bad, check.fall, check.bad_chance),
        "  " + side(check.if_good, check.good, check.rise, check.good_chance),
        f"  {check.how}{place}{tool}{time}",
    ]


def _check_dict(c: Check) -> dict[str, Any]:
    chances = {"bad_chance": round(c.bad_chance, 4), "good_chance": round(c.good_chance, 4)}
    return asdict(c) | chances


def _range_dict(r: PriceRange) -> dict[str, Any]:
    return {"level": r.level, "lower": round(r.lower), "upper": round(r.upper)}


def _contribution_dict(c: Contribution) -> dict[str, Any]:
    whole = {"lower": round(c.lower), "upper": round(c.upper)}
    out = asdict(c) | whole | {"evidence_share": round(c.evidence_share, 3)}
    del out["exact"]
    return out


def _comparable_dict(c: Comparable) -> dict[str, Any]:
    return asdict(c) | {
        "sale_date": c.sale_date.isoformat() if c.sale_date else None,
        "net_adjustment": round(c.net_adjustment, 2),
        "gross_adjustment": round(c.gross_adjustment, 2),
        "weight": round(c.weight, 4),
        "adjustments": [asdict(a) | {"percent": round(a.percent, 2)} for a in c.adjustments],
    }
