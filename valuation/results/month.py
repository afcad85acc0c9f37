"""A month's work: what was read in, what the study found, and what was decided."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from valuation.results.chance_check import ChanceCheck
from valuation.results.change import ModelChange
from valuation.results.coverage import CoverageReport
from valuation.results.decision import Decision
from valuation.results.index import MarketIndex
from valuation.results.look import LookList
from valuation.results.ratio_strata import RatioReport
from valuation.results.realised import Realised
from valuation.results.screens import BatchScreen
from valuation.scoring.accuracy import AccuracySummary

__all__ = ["FileRead", "MonthStudy"]


@dataclass(frozen=True, slots=True)
class FileRead:
    """What became of one file of the inbox.

    Parameters
    ----------
    file : str
        Its name.
    kind : {"sales", "ledger", "said"}
        What it holds.
    outcome : str
        ``new`` or ``known`` to the model in use, ``read in`` for what is no list of sales, or
        ``refused``.
    batch : str
        The batch it became, empty if it was refused.
    rows, accepted, set_aside : int
        Its rows, and how many can be used and can't.
    status : str
        ``in use``, ``held`` or ``undone``; empty if it was refused.
    why : str
        Why it was refused or is held, as a sentence.
    """

    file: str
    kind: str
    outcome: str
    batch: str = ""
    rows: int = 0
    accepted: int = 0
    set_aside: int = 0
    status: str = ""
    why: str = ""

    def summary(self) -> str:
        """Return one line for people."""
        if self.outcome == "refused":
            return f"{self.file}: not read in. {self.why}"
        said = f"{self.file} ({self.kind}): {self.outcome}, batch {self.batch}"
        if self.outcome != "known":
            said += f", {self.accepted:,} of {self.rows:,} rows accepted"
        return f"{said}; {self.status}" + (f": {self.why}" if self.why else "")


@dataclass(frozen=True)
class MonthStudy:
    """Everything that a month's work found.

    Parameters
    ----------
    as_of : datetime.date
        Day up to which sales count.
    currency : str
        Of all amounts.
    sales : int
        Sales the candidate rests on.
    set_aside : int
        Rows of batches in use that joining and corrections took out.
    files : tuple of FileRead
        What became of the files of the inbox.
    screens : tuple of BatchScreen
        Doubts about batches that the model in use does not know.
    decision : Decision
        Whether the candidate is published, and why.
    accuracy : AccuracySummary
        How close forward forecasts came to prices that were paid.
    ratios : RatioReport or None
        The ratio study of them; None if too few sales could be tested.
    coverage : CoverageReport or None
        How often their ranges held, group by group.
    index : MarketIndex or None
        The market by segment; None for too few sales.
    look : LookList
        Sales to look at.
    change : ModelChange or None
        What moved since the model in use; None for a first model.
    realised : Realised or None
        What was said against what came; None if nothing was said.
    chances : ChanceCheck or None
        Chances of a sale against the sales that came; None if no car of the ledger was on offer.
    notes : tuple of str
        What else was noticed, in sentences.
    """

    as_of: date
    currency: str
    sales: int
    set_aside: int
    files: tuple[FileRead, ...]
    screens: tuple[BatchScreen, ...]
    decision: Decision
    accuracy: AccuracySummary
    ratios: RatioReport | None
    coverage: CoverageReport | None
    index: MarketIndex | None
    look: LookList
    change: ModelChange | None
    realised: Realised | None
    chances: ChanceCheck | None = None
    notes: tuple[str, ...] = ()

    def summary(self) -> str:
        """Return what was decided and found, as plain text."""
        a = self.accuracy
        lines = [self.decision.summary()]
        if self.files:
            lines += ["", *(f.summary() for f in self.files)]
        lines += ["", f"{self.sales:,} sales up to {self.as_of.isoformat()}, {self.currency}"]
        if a.median_abs_pct_error is not None:
            held = "" if a.coverage_80 is None else f", 80% ranges held {a.coverage_80:.1f}%"
            lines.append(
                f"  {a.tested:,} priced before they were known: median error "
                f"{a.median_abs_pct_error:.1f}%{held}"
            )
        if self.chances is not None:
            lines.append(f"  of the firm's cars: {self.chances.headline()}")
        lines += [f"  note: {n}" for n in self.notes]
        return "\n".join(lines)

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        parts = {
            "ratios": self.ratios,
            "coverage": self.coverage,
            "index": self.index,
            "look": self.look,
            "change": self.change,
            "realised": self.realised,
            "chances": self.chances,
        }
        return {
            "format": 1,
            "as_of": self.as_of.isoformat(),
            "currency": self.currency,
            "sales": self.sales,
            "set_aside": self.set_aside,
            "files": [asdict(f) for f in self.files],
            "screens": [s.to_dict() for s in self.screens],
            "decision": self.decision.to_dict(),
            "accuracy": self.accuracy.to_dict(),
            **{name: None if part is None else part.to_dict() for name, part in parts.items()},
            "notes": list(self.notes),
        }
