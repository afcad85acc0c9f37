"""How the width of a sheet is shared among the columns of a table."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["column_widths"]

_MOST = 0.6
"""Share of a sheet beyond which a text makes its column wider only at the cost of nobody."""

_NOT_FULL = 0.6
"""Share of a sheet that a table has at least which need not fill it."""


def column_widths(
    least: Sequence[float],
    whole: Sequence[float],
    width: float,
    *,
    fills: bool = True,
    equal: bool = False,
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

    Returns
    -------
    tuple of float
        Never more than `width` together.  If everything fits, what is left is shared in proportion
        to what columns need; if lines have to break, columns have their least and the rest goes to
        those that want more; if words have to be cut, all give way in proportion.
    """
    most = [max(low, min(high, _MOST * width)) for low, high in zip(least, whole, strict=True)]
    if sum(least) > width:
        return tuple(width * low / sum(least) for low in least)
    if sum(whole) <= width:
        full = width if fills else max(sum(whole), _NOT_FULL * width)
        shared = _between([0.0] * len(whole), whole, full)
    elif sum(most) <= width:
        shared = _between(most, whole, width)
    else:
        shared = _between(least, most, width)
    return _equalled(shared, least) if equal else shared


def _between(least: Sequence[float], most: Sequence[float], width: float) -> tuple[float, ...]:
    """Return widths that go from the least towards the most until they are `width` together."""
    share = (width - sum(least)) / ((sum(most) - sum(least)) or 1.0)
    return tuple(low + share * (high - low) for low, high in zip(least, most, strict=True))


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
