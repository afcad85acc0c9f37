"""Text for cells of spreadsheets: nothing that came from elsewhere may run as a formula."""

from __future__ import annotations

import unicodedata

__all__ = ["LONGEST", "cell_text", "guarded", "starts_formula", "unguarded"]

LONGEST = 32_767
"""Signs that one cell holds (ECMA-376 workbooks as programs read them)."""

_STARTS = frozenset("=+-@\N{MINUS SIGN}")
_QUOTES = frozenset("\"'`\N{ACUTE ACCENT}")
_UNSEEN = frozenset(("Cf", "Pi", "Pf"))


def cell_text(text: str) -> str:
    r"""Return a text as a cell can hold it.

    Parameters
    ----------
    text : str
        Anything.

    Returns
    -------
    str
        The same with line ends as ``\n``, tabs as spaces, without control characters, halves of
        characters and what is no character, and not longer than :data:`LONGEST`.

    Examples
    --------
    >>> cell_text("a\tb\r\nc\x00")
    'a b\nc'
    """
    plain = text.replace("\r\n", "\n").replace("\r", "\n").replace("\t", " ")
    return "".join(sign for sign in plain if sign == "\n" or _stands(sign))[:LONGEST]


def _stands(sign: str) -> bool:
    # U+FFFE, U+FFFF and their like in other planes are no characters, and XML refuses two of them.
    return unicodedata.category(sign) not in ("Cc", "Cs") and ord(sign) & 0xFFFE != 0xFFFE


def starts_formula(text: str) -> bool:
    """Tell whether a spreadsheet program could take a text for a formula.

    Spaces, quotes and signs that can't be seen may stand before its first sign, and that sign may
    be a wide or small form: programs and the steps before them drop or translate those.

    Examples
    --------
    >>> starts_formula("=1+1"), starts_formula(' "＝1+1'), starts_formula("1968 Torvane")
    (True, True, False)
    """
    for sign in text:
        if sign.isspace() or sign in _QUOTES or unicodedata.category(sign) in _UNSEEN:
            continue
        return unicodedata.normalize("NFKC", sign)[0] in _STARTS
    return False


def guarded(text: str) -> str:
    """Return a text for a field of a CSV file, with an apostrophe before all that could run.

    Many programs split at semicolons whatever the file's own separator is, so what follows one is
    guarded as if a field began there.

    Parameters
    ----------
    text : str
        Anything.

    Returns
    -------
    str
        One line.  :func:`unguarded` returns the text again.

    Examples
    --------
    >>> guarded("=1+1"), guarded("sound; -5 points"), guarded("1968 Torvane")
    ("'=1+1", "sound;' -5 points", '1968 Torvane')
    """
    line = cell_text(text).replace("\n", " ")
    parts = line.split(";")
    return ";".join(f"'{part}" if starts_formula(part) else part for part in parts)


def unguarded(text: str) -> str:
    """Take away the apostrophes that :func:`guarded` put before what could run.

    Examples
    --------
    >>> unguarded("'=1+1"), unguarded("sound;' -5 points"), unguarded("'68 Torvane")
    ('=1+1', 'sound; -5 points', "'68 Torvane")
    """
    parts = text.split(";")
    return ";".join(
        part[1:] if part.startswith("'") and starts_formula(part[1:]) else part for part in parts
    )
