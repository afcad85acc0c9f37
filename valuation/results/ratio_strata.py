"""A ratio study: estimates against prices, over all sales and stratum by stratum."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from valuation.results.ratio_parts import KeptApart, OutlyingSale, StrataKind, Stratum
from valuation.results.ratio_words import (
    MEASURES,
    band_words,
    chasing_words,
    doubtful_words,
    kind_findings,
    measured_words,
    overall_findings,
)
from valuation.scoring.scatter import ScatterOnly

__all__ = ["RatioReport"]

FORMAT = 1
"""Version of the machine-readable form."""


@dataclass(frozen=True)
class RatioReport:
    """A ratio study of forecasts against the prices that were paid.

    Parameters
    ----------
    currency : str
        Of all amounts; empty if not stated.
    first, last : datetime.date or None
        Days of the first and the last sale; None in an undated list.
    rows : int
        Rows given.
    apart : tuple of KeptApart
        Rows that are no sale at a known price.
    overall : Stratum
        All sales.
    trimmed : Stratum or None
        All sales without the outlying ones; None if there are none.
    outliers : tuple of OutlyingSale
        Sales with outlying ratios, the furthest first.
    scatter : ScatterOnly or None
        What the scatter of prices alone would show of fair estimates; None for too few sales.
    kinds : tuple of StrataKind
        Strata, kind by kind.
    least : int
        Fewest sales of a stratum that stands by itself.
    seed : int
        Seed of the intervals that are drawn.
    notes : tuple of str
        What the figures rest on, in sentences.
    """

    currency: str
    first: date | None
    last: date | None
    rows: int
    apart: tuple[KeptApart, ...]
    overall: Stratum
    trimmed: Stratum | None
    outliers: tuple[OutlyingSale, ...]
    scatter: ScatterOnly | None
    kinds: tuple[StrataKind, ...]
    least: int
    seed: int
    notes: tuple[str, ...]

    @property
    def findings(self) -> tuple[str, ...]:
        """What is in order and what is not: of all sales first, then kind by kind."""
        return (*overall_findings(self.overall, self.scatter), *self.strata_findings)

    @property
    def strata_findings(self) -> tuple[str, ...]:
        """Which strata lie beyond a band, and whether by more than chance explains."""
        strata = [said for kind in self.kinds for said in kind_findings(kind, self.overall)]
        doubtful = doubtful_words(self.kinds, self.overall)
        return (*strata, *([doubtful] if doubtful else []))

    @property
    def failing(self) -> tuple[Stratum, ...]:
        """Strata that lie beyond a band by more than chance explains."""
        return tuple(
            s for kind in self.kinds for s in kind.strata if any(m.proven for m in s.measures)
        )

    @property
    def chasing(self) -> str:
        """Whether estimates look as if they had been set to the prices, in words."""
        return chasing_words(self.overall.study.chasing if self.overall.study else None)

    def kind(self, by: str) -> StrataKind | None:
        """Return the strata of a kind, None if there are none."""
        return next((kind for kind in self.kinds if kind.by == by), None)

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        return {
            "format": FORMAT,
            "currency": self.currency,
            "first": self.first and self.first.isoformat(),
            "last": self.last and self.last.isoformat(),
            "rows": self.rows,
            "apart": [asdict(part) for part in self.apart],
            "overall": self.overall.to_dict(),
            "without_outliers": self.trimmed.to_dict() if self.trimmed else None,
            "outliers": [asdict(sale) for sale in self.outliers],
            "scatter_alone": asdict(self.scatter) if self.scatter else None,
            "kinds": [kind.to_dict() for kind in self.kinds],
            "least": self.least,
            "seed": self.seed,
            "findings": list(self.findings),
            "sales_chasing": self.chasing,
            "notes": list(self.notes),
        }

    def summary(self) -> str:
        """Return the report as plain text."""
        lines = [f"Ratio study: {self.overall.tested:,} sales{self._days()}."]
        lines += [f"  {part.rows:,} rows kept apart: {part.what}" for part in self.apart]
        lines += ["", *_stratum_lines(self.overall)]
        if self.trimmed is not None:
            lines += ["", f"Without {_count(len(self.outliers), 'outlying sale')}:"]
            lines += _stratum_lines(self.trimmed)
        for kind in self.kinds:
            lines += ["", f"{kind.label}:", *(f"  {_line(s)}" for s in kind.strata)]
        return "\n".join([*lines, "", *self.findings, "", self.chasing, *self.notes])

    def _days(self) -> str:
        if self.first is None or self.last is None:
            return ""
        return f" from {self.first} to {self.last}"


def _stratum_lines(stratum: Stratum) -> list[str]:
    lines = [
        f"  {MEASURES[m.name].title:<14}{measured_words(m):<27}accepted "
        f"{band_words(m.name):<16}{m.verdict}"
        for m in stratum.measures
    ]
    if stratum.within_10_pct is not None:
        given = f"; given a range {stratum.priced_pct:.1f}%" if stratum.priced else ""
        lines.append(
            f"  within 10%    {stratum.within_10_pct:.1f}%, within 20% "
            f"{stratum.within_20_pct:.1f}%{given}"
        )
    return lines + [f"  {h.level}% ranges    held {h.words()}" for h in stratum.held]


def _line(stratum: Stratum) -> str:
    parts = [_count(stratum.tested, "sale")]
    parts += [
        f"{MEASURES[m.name].title} {measured_words(m)}{_mark(m.verdict, m.proven)}"
        for m in stratum.measures
        if m.name in ("median_ratio", "cod", "prb")
    ]
    return f"{stratum.name}: {'; '.join(parts)}"


def _mark(verdict: str, proven: bool) -> str:
    if verdict == "inside":
        return ""
    return f" [{verdict}]" if proven else f" [{verdict}, may be chance]"


def _count(count: int, noun: str) -> str:
    return f"{count:,} {noun}" if count == 1 else f"{count:,} {noun}s"
