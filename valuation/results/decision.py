"""Whether a new model replaces the one in use, and every reason for it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from typing import Any, Literal

__all__ = ["Decision", "RuleCheck", "Weighed"]

Weighed = Literal["holds", "warns", "refuses", "not tested"]
"""What a rule says: nothing against it, look here, keep the old one, too little to say."""


@dataclass(frozen=True, slots=True)
class RuleCheck:
    """One rule, and what was found.

    Parameters
    ----------
    rule : str
        What is asked, in words.
    weighed : {"holds", "warns", "refuses", "not tested"}
        What it says.
    found : str
        What was measured.
    limit : str
        What is allowed.
    why : str
        The finding in a sentence.
    """

    rule: str
    weighed: Weighed
    found: str
    limit: str
    why: str


@dataclass(frozen=True, slots=True)
class Decision:
    """Whether a candidate is published.

    Parameters
    ----------
    publish : bool
        True if no rule refuses it.
    candidate : str
        Version of the candidate.
    in_use : str
        Version in use when it was weighed, empty for none.
    as_of : datetime.date or None
        Day up to which its evidence reaches.
    checks : tuple of RuleCheck
        Every rule.
    """

    publish: bool
    candidate: str
    in_use: str
    as_of: date | None
    checks: tuple[RuleCheck, ...]

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why it is refused; for one that is published, what to keep an eye on."""
        wanted = "warns" if self.publish else "refuses"
        return tuple(c.why for c in self.checks if c.weighed == wanted)

    @property
    def sentence(self) -> str:
        """The decision in one sentence."""
        if not self.publish:
            kept = (
                f"{self.in_use} stays in use" if self.in_use else "there is still no model in use"
            )
            return f"Not published: {kept}."
        warned = sum(c.weighed == "warns" for c in self.checks)
        marks = {0: "", 1: ", with a warning"}.get(warned, f", with {warned} warnings")
        after = f" in place of {self.in_use}" if self.in_use else ""
        return f"Published as {self.candidate}{after}{marks}."

    def summary(self) -> str:
        """Return the decision and every rule as plain text."""
        lines = [self.sentence, *(f"  {reason}" for reason in self.reasons), ""]
        wide = max((len(c.rule) for c in self.checks), default=0)
        lines += [
            f"  {c.rule:<{wide}}  {c.weighed:<10}  {c.found}"
            + (f" (allowed: {c.limit})" if c.limit else "")
            for c in self.checks
        ]
        return "\n".join(lines)

    def to_dict(self) -> dict[str, Any]:
        """Return the machine-readable form (``"format": 1``)."""
        return {
            "format": 1,
            "publish": self.publish,
            "candidate": self.candidate,
            "in_use": self.in_use,
            "as_of": self.as_of.isoformat() if self.as_of else None,
            "sentence": self.sentence,
            "reasons": list(self.reasons),
            "checks": [asdict(c) for c in self.checks],
        }
