"""How the width of a sheet is shared among the columns of a table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

__all__ = ["column_widths"]

_HALVINGS = 60
"""Steps in which a width is found; each halves what is not known of it."""

_NOT_FULL = 0.6
"""Share of a sheet that a table has at least which need not fill it."""


def column_widths(
    least: Sequence[float],
    whole: Sequence[float],
    width: float,
    *,
    fills: bool = True,
    equal: bool = False,
    evenly: float = 1.0,
) -> tuple[float, ...]:
    """Return the width of each column.

    Parameters
    ----------
    least : sequence of float
        What a column needs so that no word is cut, in points.
    whole : sequence of float
        What it needs so that no line breaks.
    width : float
        Of the sheet.
    fills : bool
        True to share out all of it.
    equal : bool
        True for columns of one width behind the first, if that leaves every word whole.
    evenly : float
        How a shortage is shared: 1 takes from the widest until they are equal, 0 leaves to each the
        same part of what it wants beyond its least, and values between are between.

    Returns
    -------
    tuple of float
        Never more than `width` together.  If everything fits, what is left is shared in proportion
        to what columns need; if lines have to break, `evenly` says where; if words have to be cut,
        all give way in proportion.
    """
    needed, want = sum(least), sum(whole)
    if needed > width:
        return tuple(width * low / needed for low in least)
    if want <= width:
        full = width if fills else max(want, _NOT_FULL * width)
        shared = tuple(full * high / want if want else 0.0 for high in whole)
    else:
        share = (width - needed) / (want - needed)
        even = _down_to_one_width(least, whole, width)
        shared = tuple(
            evenly * level + (1 - evenly) * (low + share * (high - low))
            for level, low, high in zip(even, least, whole, strict=True)
        )
    return _equalled(shared, least) if equal else shared


def _down_to_one_width(
    least: Sequence[float], whole: Sequence[float], width: float
) -> tuple[float, ...]:
    """Return widths that are `width` together, of which the widest gave way to be equal."""
    low, high = 0.0, max(whole)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if sum(_at_most(middle, least, whole)) > width:
            high = middle
        else:
            low = middle
    return tuple(_at_most(low, least, whole))


def _at_most(level: float, least: Sequence[float], whole: Sequence[float]) -> Iterator[float]:
    for low, high in zip(least, whole, strict=True):
        yield max(low, min(high, level))


def _equalled(shared: tuple[float, ...], least: Sequence[float]) -> tuple[float, ...]:
    """Return widths of which all behind the first are one, where words stay whole."""
    if len(shared) < 3:
        return shared
    one = sum(shared[1:]) / (len(shared) - 1)
    short = max(0.0, max(least[1:]) - one) * (len(shared) - 1)
    if shared[0] - short < least[0]:
        return shared
    one += short / (len(shared) - 1)
    return (shared[0] - short, *[one] * (len(shared) - 1))
