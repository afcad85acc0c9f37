"""The versions of a published folder with the figures they were published with."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from valuation.store.published import current_version, published_versions

__all__ = ["VersionLine", "version_lines"]


@dataclass(frozen=True, slots=True)
class VersionLine:
    """One version in a line.

    Parameters
    ----------
    version : str
        Its name.
    in_use : bool
        Whether it is in use.
    sales : int or None
        Sales it rests on; None where nothing is on record, as for all that follow.
    tested : int or None
        Sales priced before they were known, in the study before it was published.
    error_percent : float or None
        Median absolute error of these.
    held_percent : float or None
        How many of their 80 % ranges held.
    median_ratio : float or None
        Median estimate over price.
    warnings : tuple of str
        What to keep an eye on.
    """

    version: str
    in_use: bool
    sales: int | None
    tested: int | None
    error_percent: float | None
    held_percent: float | None
    median_ratio: float | None
    warnings: tuple[str, ...] = ()

    def summary(self) -> str:
        """Return the line as plain text, each warning below it."""
        mark = "in use" if self.in_use else ""
        said = [f"{self.version:<22}  {mark:<6}"]
        if self.sales is not None:
            said.append(f"{self.sales:>7,} sales")
        if self.error_percent is not None:
            said.append(f"error {self.error_percent:.1f}%")
        if self.held_percent is not None:
            said.append(f"80% ranges held {self.held_percent:.0f}%")
        if self.median_ratio is not None:
            said.append(f"estimate/price {self.median_ratio:.3f}")
        return "\n".join(["  ".join(said), *(f"    {w}" for w in self.warnings)])

    def to_dict(self) -> dict[str, Any]:
        """Return all fields as plain values."""
        return {**asdict(self), "warnings": list(self.warnings)}


def version_lines(folder: Path) -> tuple[VersionLine, ...]:
    """Return a line for every version, the oldest first.

    Parameters
    ----------
    folder : pathlib.Path
        The published folder.
    """
    current = current_version(folder)
    lines = []
    for version in published_versions(folder):
        study, decision = version.read("study.json"), version.read("decision.json")
        accuracy = study.get("accuracy", {})
        lines.append(
            VersionLine(
                version.version,
                version == current,
                study.get("sales"),
                accuracy.get("tested"),
                accuracy.get("median_abs_pct_error"),
                accuracy.get("coverage_80"),
                accuracy.get("median_ratio"),
                tuple(decision.get("reasons", ())),
            )
        )
    return tuple(lines)
