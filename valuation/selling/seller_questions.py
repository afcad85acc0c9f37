"""What to ask the seller of another car, fact by fact."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources

__all__ = ["seller_questions"]


@cache
def seller_questions() -> dict[str, str]:
    """Return the question to a seller about each attribute that can be asked for, by its name."""
    source = resources.files("valuation") / "data" / "seller_questions.toml"
    entries = tomllib.loads(source.read_text(encoding="utf-8"))
    return {name: str(entry["ask"]) for name, entry in entries.items()}
