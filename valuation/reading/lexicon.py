"""The phrases of the reader of listings, loaded once from the files in ``words``."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from valuation.reading.phrases import Index

__all__ = ["index", "lexicon_phrases"]

_TOPIC_FILES = ("faults", "papers", "work", "changes")
_KINDS = ("say", "deny", "maybe", "void", "beside", "near", "only_denied")


def _load(name: str) -> dict[str, Any]:
    text = (files("valuation.reading") / "words" / f"{name}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def lexicon_phrases() -> list[tuple[str, tuple[str, ...]]]:
    """Return every phrase with its label.

    A label is ``(kind, topic, value)`` for statements, ``("part", name)``, ``("property", name)``,
    ``("cue", name)``, or ``("void",)`` for words that say nothing.
    """
    out: list[tuple[str, tuple[str, ...]]] = []
    for name in _TOPIC_FILES:
        for topic, values in _load(name).items():
            for value, kinds in values.items():
                for kind, phrases in kinds.items():
                    if kind not in _KINDS:
                        raise ValueError(f"{name}.toml: no such kind (got: {kind})")
                    label = ("void", topic, value) if kind == "void" else (kind, topic, value)
                    out += [(p, label) for p in phrases]
    parts = _load("components")
    for part, phrases in parts["parts"].items():
        out += [(p, ("part", part)) for p in phrases]
    out += [(p, ("void", "part", "")) for p in parts["not_parts"]["void"]]
    for name, phrases in parts["properties"].items():
        out += [(p, ("property", name)) for p in phrases]
    for name, phrases in _load("cues")["cues"].items():
        out += [(p, ("cue", name)) for p in phrases]
    out += [(f"{{{name}}}", ("noun", name)) for name in ("person", "paper")]
    return out


@cache
def index() -> Index:
    """Return the index of every phrase."""
    return Index(lexicon_phrases(), _load("classes")["classes"])
