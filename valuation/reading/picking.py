"""Which of the phrases found in a text count: the longest, and no idioms."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from valuation.reading.phrases import Hit

__all__ = ["cues", "kinds", "outer", "properties", "topics", "unmasked"]


def outer(hits: Sequence[Hit]) -> list[Hit]:
    """Leave out what lies within a longer hit."""
    ordered = sorted(hits, key=lambda h: (h.start, -h.end))
    out: list[Hit] = []
    for hit in ordered:
        if any(o.holds(hit) for o in out):
            continue
        out.append(hit)
    return out


_STRONG = frozenset({"original", "matching", "type", "dated", "true"})


def properties(hits: Sequence[Hit]) -> list[Hit]:
    """Leave out what lies within a longer hit of the same property, or of one that settles it."""
    ordered = sorted(hits, key=lambda h: (h.start, -h.end))
    return [
        h
        for h in ordered
        if not any(o.holds(h) and (o.label == h.label or o.label[1] in _STRONG) for o in ordered)
    ]


def unmasked(hits: Iterable[Hit], masks: Sequence[Hit]) -> list[Hit]:
    """Leave out what overlaps words that only look like it."""
    return [h for h in hits if not any(m.start <= h.start and h.end <= m.end for m in masks)]


def kinds(hits: Sequence[Hit], *wanted: str) -> list[Hit]:
    """Return the hits of some kinds."""
    return [h for h in hits if h.label[0] in wanted]


def cues(hits: Sequence[Hit]) -> list[Hit]:
    """Return negations and doubts, without idioms that are none."""
    cues = kinds(hits, "cue")
    masks = [h for h in cues if h.label[1] in ("mask", "sure")]
    real = [h for h in cues if h.label[1] in ("neg", "without", "hedge", "void")]
    real = unmasked(real, masks)
    kept = outer([h for h in real if h.label[1] != "void"])
    return sorted([*kept, *(h for h in real if h.label[1] == "void")], key=lambda h: h.start)


def topics(hits: Sequence[Hit]) -> list[Hit]:
    """Return the statements' own phrases, the longest where they overlap."""
    flat = kinds(hits, "say", "deny", "maybe", "beside", "near", "only_denied")
    out = []
    voids = kinds(hits, "void")
    for hit in flat:
        masks = [v for v in voids if v.label[1:] == hit.label[1:]]
        # Words that lead into an idiom are part of it: "thick file of invoices".
        if not any(m.start < hit.end <= m.end for m in masks):
            out.append(hit)
    return [h for h in out if not any(o.holds(h) and not _beside(o, h) for o in out)]


def _beside(other: Hit, hit: Hit) -> bool:
    """Tell whether one run of words says both: "I bought it new in 1971"."""
    values = {other.label[2], hit.label[2]}
    if (other.label[1], hit.label[1]) in (("restoration", "documents"), ("history", "faults")):
        return True
    if (other.label[1], hit.label[0], hit.label[1]) == ("originality", "deny", "restoration"):
        # "Original and unrestored".
        return True
    if values == {"colour", "repainted"}:
        return True
    return other.label[1] == "owners" and len(values) == 2 and "long ownership" in values
