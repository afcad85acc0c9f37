"""How commands print."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

__all__ = ["print_json", "print_notes"]


def print_json(content: Mapping[str, Any]) -> None:
    """Print one JSON object; a number that is none would be an error, never ``NaN``."""
    print(json.dumps(content, ensure_ascii=False, indent=2, allow_nan=False))


def print_notes(notes: Sequence[str]) -> None:
    """Print remarks, one a line."""
    for note in notes:
        print(f"  note: {note}")
