"""Checks of what comes in, and the two errors of this room."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from valuation.errors import ValuationError

__all__ = [
    "Floats",
    "ScoreInputError",
    "ScoreUndefinedError",
    "as_level",
    "as_positive",
    "as_range",
    "need_sales",
    "same_length",
]

Floats = npt.NDArray[np.float64]
"""One-dimensional array of floats."""


class ScoreInputError(ValuationError, ValueError):
    """Numbers that can't be scored: wrong shape, not positive, not finite."""


class ScoreUndefinedError(ScoreInputError):
    """Sound numbers for which a measure is not defined: too few sales, or no spread."""


def as_positive(where: str, name: str, values: npt.ArrayLike) -> Floats:
    """Return amounts as a float array after checking each is finite and above zero.

    Parameters
    ----------
    where : str
        Name of the measure, for the message.
    name : str
        What the amounts are, for the message.
    values : array-like, shape (n,)
        Amounts of money.

    Returns
    -------
    numpy.ndarray, shape (n,)
        The same amounts.

    Raises
    ------
    ScoreInputError
        If they are not one row of finite numbers above zero.
    """
    array = _as_row(where, name, values)
    wrong = ~(np.isfinite(array) & (array > 0))
    if wrong.any():
        at = int(np.argmax(wrong))
        raise ScoreInputError(
            where,
            f"each {name} must be a finite amount above zero",
            got=f"{array[at]:g} at position {at}; {int(wrong.sum())} of {array.size} are wrong",
            remedy="Leave these cars out or mend the amounts",
        )
    return array


def as_range(where: str, lower: npt.ArrayLike, upper: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Return both bounds as arrays; NaN in both marks a car without a range.

    Parameters
    ----------
    where : str
        Name of the measure, for the message.
    lower, upper : array-like, shape (n,)
        Bounds in money.

    Returns
    -------
    lower, upper : numpy.ndarray, shape (n,)
        The same bounds.

    Raises
    ------
    ScoreInputError
        If only one bound is NaN, a bound is not positive and finite, or lower exceeds upper.
    """
    low, high = _as_row(where, "lower bound", lower), _as_row(where, "upper bound", upper)
    same_length(where, {"lower bound": low.size, "upper bound": high.size})
    blank = np.isnan(low) & np.isnan(high)
    wrong = ~blank & ~((low > 0) & (low <= high) & np.isfinite(high))
    if wrong.any():
        at = int(np.argmax(wrong))
        raise ScoreInputError(
            where,
            "a range needs two finite bounds above zero, the lower one first",
            got=f"{low[at]:g} to {high[at]:g} at position {at}",
            remedy="Put NaN in both bounds where no range is given",
        )
    return low, high


def same_length(where: str, lengths: dict[str, int]) -> None:
    """Check that all inputs have one length.

    Parameters
    ----------
    where : str
        Name of the measure, for the message.
    lengths : dict of str to int
        Length of each input by its name.

    Raises
    ------
    ScoreInputError
        If they differ.
    """
    if len(set(lengths.values())) > 1:
        raise ScoreInputError(
            where,
            "the inputs have different lengths",
            got=", ".join(f"{name} {n}" for name, n in lengths.items()),
            remedy="Give one value a car in each",
        )


def need_sales(where: str, n: int, least: int, why: str) -> None:
    """Check that there are enough sales for a measure.

    Parameters
    ----------
    where : str
        Name of the measure, for the message.
    n, least : int
        Number of sales given and needed.
    why : str
        What they are needed for.

    Raises
    ------
    ScoreUndefinedError
        If `n` is below `least`.
    """
    if n < least:
        raise ScoreUndefinedError(
            where,
            f"{why} needs at least {least} sales",
            got=str(n),
            remedy="Pool more sales or leave this measure out",
        )


def as_level(where: str, level: float) -> float:
    """Check that a level lies strictly between 0 and 1.

    Parameters
    ----------
    where : str
        Name of the measure, for the message.
    level : float
        Nominal coverage or confidence.

    Returns
    -------
    float
        The same level.

    Raises
    ------
    ScoreInputError
        If it does not.
    """
    if not 0.0 < level < 1.0:
        raise ScoreInputError(
            where,
            "a level lies between 0 and 1",
            got=f"{level:g}",
            remedy="Write 80 per cent as 0.8",
        )
    return float(level)


def _as_row(where: str, name: str, values: npt.ArrayLike) -> Floats:
    try:
        array = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise ScoreInputError(
            where,
            f"each {name} must be a number",
            got=type(values).__name__,
            remedy="Give plain numbers in one currency",
        ) from None
    if array.ndim != 1:
        raise ScoreInputError(
            where,
            f"each {name} must stand in one row of numbers",
            got=f"{array.ndim} dimensions",
            remedy="Give a list or a one-dimensional array",
        )
    return array
