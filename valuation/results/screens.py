"""What a look at a whole batch of sales says before it may move a model."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

__all__ = ["BatchScreen", "ScreenDoubt", "Verdict"]

FORMAT = 1
"""Version of the machine-readable form."""

Verdict = Literal["pass", "warn", "hold"]
"""``hold`` keeps a batch out of the next fit until a person has looked at it."""

_GRAVITY: dict[Verdict, int] = {"pass": 0, "warn": 1, "hold": 2}


@dataclass(frozen=True, slots=True)
class ScreenDoubt:
    """One thing about a batch that is not as it should be.

    Parameters
    ----------
    kind : str
        Short stable name, such as ``whole batch off``.
    verdict : {"warn", "hold"}
        How grave it is.
    sentence : str
        What was seen, with figures, and what it may be.
    figures : mapping of str to float
        The figures behind the sentence.
    sales : tuple of str
        Keys of the sales it is about, or file and row; empty where it is about all.
    """

    kind: str
    verdict: Verdict
    sentence: str
    figures: Mapping[str, float] = field(default_factory=dict)
    sales: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Return plain values, ready for JSON."""
        return {
            "kind": self.kind,
            "verdict": self.verdict,
            "sentence": self.sentence,
            "figures": dict(self.figures),
            "sales": list(self.sales),
        }


@dataclass(frozen=True)
class BatchScreen:
    """A batch of sales beside the model that did not know it.

    Parameters
    ----------
    batch : str
        Name of the batch, empty where it has none.
    rows : int
        Rows it came with.
    sales : int
        Sales among them that can be used.
    judged : int
        Sales whose price could be set beside an estimate.
    shift : float or None
        How far prices lie above (below, if negative) their estimates in the middle, per cent;
        None where too few could be judged.
    shift_low, shift_high : float or None
        95 per cent interval of that.
    near : float or None
        Share of the prices within two per cent of their estimates, 0 to 1.
    near_expected : float or None
        Share that the model's own ranges have there.
    doubts : tuple of ScreenDoubt
        What is not as it should be, the gravest first.
    """

    batch: str
    rows: int
    sales: int
    judged: int
    shift: float | None
    shift_low: float | None
    shift_high: float | None
    near: float | None
    near_expected: float | None
    doubts: tuple[ScreenDoubt, ...]

    @property
    def verdict(self) -> Verdict:
        """The gravest verdict of its doubts; ``pass`` without any."""
        return max((d.verdict for d in self.doubts), key=_GRAVITY.__getitem__, default="pass")

    @property
    def reason(self) -> str:
        """The sentences that led to the verdict, empty for a batch that passed."""
        return " ".join(d.sentence for d in self.doubts if d.verdict == self.verdict)

    @property
    def head(self) -> str:
        """What was seen, in one sentence."""
        name = f"Batch {self.batch}: " if self.batch else ""
        seen = f"{name}{self.sales:,} sales of {self.rows:,} rows"
        if self.shift is None:
            return f"{seen}; too few to set their prices beside estimates."
        return (
            f"{seen}; prices {self.shift:+.1f}% beside their estimates "
            f"(95% interval {self.shift_low:+.1f} to {self.shift_high:+.1f}%)."
        )

    def summary(self) -> str:
        """Return the screen as plain text."""
        lines = [f"{self.head} {_WORDS[self.verdict]}"]
        lines += [f"  {d.verdict}: {d.sentence}" for d in self.doubts]
        return "\n".join(lines)

    def to_dict(self) -> dict[str, Any]:
        """Return plain values, ready for JSON."""
        return {
            "format": FORMAT,
            "batch": self.batch,
            "rows": self.rows,
            "sales": self.sales,
            "judged": self.judged,
            "shift": self.shift,
            "shift_low": self.shift_low,
            "shift_high": self.shift_high,
            "near": self.near,
            "near_expected": self.near_expected,
            "verdict": self.verdict,
            "doubts": [d.to_dict() for d in self.doubts],
        }


_WORDS: dict[Verdict, str] = {
    "pass": "Nothing speaks against it.",
    "warn": "It can be used; look at what is said of it.",
    "hold": "It is held until a person has looked at it.",
}
