"""Whether two chassis numbers may be one, written twice."""

from __future__ import annotations

__all__ = ["chassis_alike"]

_READ_AS = str.maketrans({"o": "0", "q": "0", "i": "1", "l": "1", "s": "5", "b": "8", "z": "2"})
"""Letters that are taken for figures on a worn plate."""

_PART = 5
"""Signs that a part of a number needs to stand for the whole."""

_FIGURES = 3
"""Figures among them."""


def chassis_alike(one: str, other: str) -> bool:
    """Tell whether two keys of chassis numbers may belong to one car.

    Parameters
    ----------
    one, other : str
        From :func:`valuation.importing.repeats.chassis_key`.

    Returns
    -------
    bool
        True if they are the same but for letters that look like figures, for two neighbours
        changed over, or for a part that one of them leaves out at its beginning or end.  Numbers
        that differ in one figure are those of two cars built one after the other.

    Examples
    --------
    >>> chassis_alike("torvane:tr41180k", "torvane:tr4118ok")
    True
    >>> chassis_alike("torvane:tr41180k", "torvane:1180k")
    True
    >>> chassis_alike("torvane:tr41180k", "torvane:tr41181k")
    False
    """
    a, b = (key.rpartition(":")[2].translate(_READ_AS) for key in (one, other))
    if a == b:
        return True
    short, long = sorted((a, b), key=len)
    telling = len(short) >= _PART and sum(c.isdigit() for c in short) >= _FIGURES
    at_an_end = long.startswith(short) or long.endswith(short)
    return (telling and at_an_end) or _swapped(a, b)


def _swapped(a: str, b: str) -> bool:
    """Tell whether two neighbours were changed over."""
    if len(a) != len(b):
        return False
    at = [i for i, (x, y) in enumerate(zip(a, b, strict=True)) if x != y]
    return len(at) == 2 and at[1] == at[0] + 1 and a[at[0]] == b[at[1]] and a[at[1]] == b[at[0]]
