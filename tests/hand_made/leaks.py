"""What a text for a customer may not hold, in every form in which it could stand there."""

from __future__ import annotations

import html
import io
import re
from collections.abc import Iterable, Mapping

from pypdf import PdfReader

from valuation.reading.text import compact

__all__ = ["amounts_in", "leaks_in", "numbers_in", "pdf_text", "visible"]

_SEPARATOR = "[.,'’\u00a0\u202f\u2009 ]?"
"""Between thousands, as one country or another writes them."""


def amounts_in(text: str, amounts: Iterable[float]) -> list[float]:
    """Return which amounts stand in a text, however their thousands are set apart."""
    return [a for a in amounts if _pattern(a).search(text)]


def _pattern(amount: float) -> re.Pattern[str]:
    whole = f"{amount:,.0f}".replace(",", _SEPARATOR)
    # Three more digits behind a sign that sets thousands apart make it another, larger amount.
    return re.compile(rf"(?<![\d.,]){whole}(?!\d|[,.'\u00a0\u202f]\d{{3}}(?!\d))")


def numbers_in(text: str, numbers: Iterable[str]) -> list[str]:
    """Return which chassis numbers stand in a text, however they are spaced and punctuated."""
    signs = compact(text)
    return [n for n in numbers if compact(n) in signs]


def leaks_in(
    text: str, *, amounts: Iterable[float], numbers: Iterable[str], words: Iterable[str]
) -> list[object]:
    """Return everything private that stands in a text."""
    plain = html.unescape(text).casefold()
    said = [w for w in words if w.casefold() in plain]
    return [*amounts_in(text, amounts), *numbers_in(text, numbers), *said]


def visible(page: str) -> str:
    """Return what a page shows, and what it tells in attributes, without drawing."""
    page = re.sub(r"<style.*?</style>", " ", page, flags=re.S)
    told = re.findall(
        r'\b(?:title|alt|aria-label|content|href|name|id|data-[\w-]+)="([^"]*)"', page
    )
    return html.unescape(re.sub(r"<[^>]*>", " ", page)) + " " + " | ".join(map(html.unescape, told))


def pdf_text(content: bytes) -> str:
    """Return the words of a PDF, and what it says of itself."""
    reader = PdfReader(io.BytesIO(content))
    about: Mapping[str, object] = reader.metadata or {}
    pages = [page.extract_text() for page in reader.pages]
    outline = [str(getattr(entry, "title", entry)) for entry in reader.outline]
    return "\n".join([*pages, *map(str, about.values()), *outline])
