"""Sales to look at: what is odd about each, and what hangs on it."""

from __future__ import annotations

from collections import Counter
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

__all__ = [
    "LOOK_KINDS",
    "Change",
    "LookList",
    "LookPattern",
    "LookReason",
    "SaleToLookAt",
    "count_kinds",
]

FORMAT = 1
"""Version of the machine-readable form."""

LOOK_KINDS = (
    "price off by a factor",
    "contradictory",
    "odd",
    "influential",
    "wrong currency",
    "wrong basis",
)
"""What can be the matter with a sale: the clearest first, suspicions of whole groups last."""


@dataclass(frozen=True, slots=True)
class Change:
    """What one figure would become if a sale were left out.

    Parameters
    ----------
    of : str
        Which figure, in words that can stand in a sentence.
    before, after : int
        The figure with the sale and without it, in whole units of the list's currency.
    per_cent : float
        From the one to the other.
    """

    of: str
    before: int
    after: int
    per_cent: float

    @property
    def money(self) -> int:
        """How much the figure would move."""
        return self.after - self.before


@dataclass(frozen=True, slots=True)
class LookReason:
    """Why a sale should be looked at.

    Parameters
    ----------
    kind : str
        One of :data:`LOOK_KINDS`.
    sentence : str
        What speaks for it, with figures.
    likely : float or None
        Probability that the price is wrong in this way; None where none can be given.
    """

    kind: str
    sentence: str
    likely: float | None = None


@dataclass(frozen=True, slots=True)
class SaleToLookAt:
    """One sale, what is the matter with it, and what hangs on it.

    Parameters
    ----------
    key : str
        Key of the sale in the evidence, empty where it has none.
    sale_id, file : str
        Number of the sale and the file it stands in, empty where not known.
    row : int
        Row of that file.
    batch : str
        The batch it came with, empty where it came with none.
    car : str
        Its title, or year, make and model.
    sale_date : datetime.date or None
        Day of the sale.
    venue, basis, outcome : str
        Where it was sold, what the amount is, whether it was sold; empty where not stated.
    price : int
        As it stands in the evidence.
    estimate : int
        What the other sales say of it.
    weight : float
        What it still counts in the fit, 1 for a sale that fits.
    reasons : tuple of LookReason
        At least one, the clearest first.
    own : Change
        Its own estimate.
    typical : Change
        The typical car of its model line.
    line : Change or None
        The line of its explanation that it moves most; None where it differs from the typical
        car in nothing.
    """

    key: str
    sale_id: str
    file: str
    row: int
    batch: str
    car: str
    sale_date: date | None
    venue: str
    basis: str
    outcome: str
    price: int
    estimate: int
    weight: float
    reasons: tuple[LookReason, ...]
    own: Change
    typical: Change
    line: Change | None

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds of its reasons, each once."""
        return tuple(dict.fromkeys(r.kind for r in self.reasons))

    @property
    def off(self) -> float:
        """How far the price is from what the other sales say, per cent."""
        return 100.0 * (self.price / self.estimate - 1.0)

    @property
    def at_stake(self) -> int:
        """The largest of the changes, in money and without its sign."""
        changes = (self.own, self.typical, self.line)
        return max(abs(c.money) for c in changes if c is not None)

    @property
    def place(self) -> str:
        """Where it stands, in words: its key, or file and row."""
        return self.key or f"row {self.row} of {self.file}"

    @property
    def command(self) -> str:
        """The command that sets it aside, empty where it has no key."""
        return f'valuation sales set-aside {self.key} --reason "…"' if self.key else ""

    def summary(self) -> str:
        """Return the sale in a few lines of plain text."""
        day = self.sale_date.isoformat() if self.sale_date else "no date"
        lines = [
            f"{self.place}  {self.car} ({day}): {self.price:,}, the others say "
            f"{self.estimate:,} ({self.off:+.0f}%)"
        ]
        lines += [f"    {r.kind}: {r.sentence}" for r in self.reasons]
        changes = [c for c in (self.own, self.typical, self.line) if c is not None]
        told = "; ".join(f"{c.of} {c.money:+,} ({c.per_cent:+.1f}%)" for c in changes)
        lines.append(f"    left out: {told}")
        return "\n".join(lines)

    def to_dict(self) -> dict[str, Any]:
        """Return plain values, ready for JSON."""
        out = asdict(self)
        out["sale_date"] = self.sale_date.isoformat() if self.sale_date else None
        for name in ("own", "typical", "line"):
            change = getattr(self, name)
            if change is not None:
                out[name]["money"] = change.money
        return {**out, "kinds": list(self.kinds), "at_stake": self.at_stake}


@dataclass(frozen=True, slots=True)
class LookPattern:
    """Sales of one source that are off by a common factor.

    Parameters
    ----------
    kind : str
        ``wrong basis`` or ``wrong currency``.
    who : str
        Whose sales, in words: a venue, a file, a venue in a file.
    venue, source : str
        The same as names; empty where the pattern is of all venues, or of all sources.  A source
        is a batch, or a file where there are no batches.
    factor : float
        Their prices over what the other sales say.
    low, high : float
        95 per cent interval of the factor.
    sales : int
        How many they are.
    sentence : str
        What speaks for it, with figures.
    """

    kind: str
    who: str
    venue: str
    source: str
    factor: float
    low: float
    high: float
    sales: int
    sentence: str


@dataclass(frozen=True)
class LookList:
    """The sales of a market that should be looked at, those on which most hangs first.

    Parameters
    ----------
    currency : str
        Currency of all amounts.
    as_of : datetime.date or None
        Day of the model.
    judged : int
        Sales that were gone through.
    sales : tuple of SaleToLookAt
        Those to look at.
    patterns : tuple of LookPattern
        Whole sources that look wrong.
    found : mapping of str to int
        How many sales each kind has, those beyond the end of the list included.
    left_out : int
        Sales with a reason that stand below the end of the list.
    notes : tuple of str
        What to know of the list, in sentences.
    """

    currency: str
    as_of: date | None
    judged: int
    sales: tuple[SaleToLookAt, ...]
    patterns: tuple[LookPattern, ...]
    found: dict[str, int]
    left_out: int = 0
    notes: tuple[str, ...] = ()

    @property
    def head(self) -> str:
        """How many sales the list names out of how many, in a sentence."""
        if not self.sales:
            return f"None of {self.judged:,} sales needs a look."
        rest = f", the first of {len(self.sales) + self.left_out:,}" if self.left_out else ""
        return f"{len(self.sales):,} of {self.judged:,} sales to look at{rest}."

    def summary(self) -> str:
        """Return the list as plain text."""
        lines = [self.head]
        if self.found:
            lines.append("  " + "; ".join(f"{kind}: {n:,}" for kind, n in self.found.items()))
        lines += [f"  {p.who}: {p.sentence}" for p in self.patterns]
        lines += [f"  {line}" for s in self.sales for line in s.summary().splitlines()]
        lines += [f"  note: {note}" for note in self.notes]
        if any(s.key for s in self.sales):
            lines.append('  Set one aside: valuation sales set-aside KEY --reason "…"')
        return "\n".join(lines)

    def to_dict(self) -> dict[str, Any]:
        """Return plain values, ready for JSON."""
        return {
            "format": FORMAT,
            "currency": self.currency,
            "as_of": self.as_of.isoformat() if self.as_of else None,
            "judged": self.judged,
            "found": dict(self.found),
            "left_out": self.left_out,
            "sales": [s.to_dict() for s in self.sales],
            "patterns": [asdict(p) for p in self.patterns],
            "notes": list(self.notes),
        }


def count_kinds(sales: tuple[tuple[LookReason, ...], ...]) -> dict[str, int]:
    """Return how many sales have a reason of each kind, in the order of the kinds."""
    counted = Counter(k for reasons in sales for k in {r.kind for r in reasons})
    return {kind: counted[kind] for kind in LOOK_KINDS if counted[kind]}
