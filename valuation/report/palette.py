"""Colours of charts and pages, and how far two of them stand apart.

Nothing is told by colour alone: what raises a price is a plain bar that points right, what lowers
it a hatched bar that points left, and every bar has its amount in figures.
"""

from __future__ import annotations

__all__ = [
    "BAND_50",
    "BAND_80",
    "BAND_95",
    "FAINT",
    "INK",
    "LOWERS",
    "MIDDLE",
    "PAPER",
    "QUIET",
    "RAISES",
    "TINT",
    "contrast",
]

INK = "#1d232b"
"""Text and axes."""

QUIET = "#565f6b"
"""Text of second rank."""

FAINT = "#c9cdd3"
"""Hair lines; never text."""

MIDDLE = "#868e99"
"""Hatching that has to be seen behind marks without hiding them; never text."""

PAPER = "#ffffff"
"""Ground of the page."""

TINT = "#f3f1ea"
"""Ground of boxes and table heads."""

RAISES = "#1f6150"
"""What raises the price."""

LOWERS = "#9a3f1d"
"""What lowers the price."""

BAND_50 = "#4a7f95"
"""Range at 50 per cent."""

BAND_80 = "#9cc0cd"
"""Range at 80 per cent."""

BAND_95 = "#dbe8ec"
"""Range at 95 per cent."""


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours by WCAG 2.2.

    Parameters
    ----------
    one, other : str
        Colours as ``#rrggbb``.

    Returns
    -------
    float
        From 1 (the same) to 21 (black on white).

    Examples
    --------
    >>> contrast("#000000", "#ffffff")
    21.0
    """
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    red, green, blue = (_linear(int(colour[i : i + 2], 16) / 255) for i in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(channel: float) -> float:
    return channel / 12.92 if channel <= 0.04045 else float(((channel + 0.055) / 1.055) ** 2.4)
