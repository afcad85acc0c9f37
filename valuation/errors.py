"""One error tree; every message is a sentence in four parts.

*Where* it happened, *what* is wrong, *what came*, and *what to do*.
"""

from __future__ import annotations

__all__ = [
    "CarFileError",
    "CostsError",
    "EvidenceError",
    "LedgerFileError",
    "ListingError",
    "LotFileError",
    "MapError",
    "ModelFileError",
    "NotCalibratedError",
    "QuestionError",
    "RatesError",
    "ResaleError",
    "SaidFileError",
    "SaleFileError",
    "SettingsError",
    "SheetError",
    "TooFewSalesError",
    "ValuationError",
]


class ValuationError(Exception):
    """Base of all errors that a user can mend.

    Parameters
    ----------
    where : str
        File, row, column, cell or setting the error is about.
    problem : str
        What is wrong, without a full stop.
    got : str, optional
        What was found instead, as it was written.
    remedy : str, optional
        What to do about it, as an imperative sentence without a full stop.

    Examples
    --------
    >>> print(ValuationError("sales.csv, row 3", "no price", got="n/a", remedy="Fill the price"))
    sales.csv, row 3: no price (got: n/a). Fill the price.
    """

    def __init__(self, where: str, problem: str, *, got: str = "", remedy: str = "") -> None:
        self.where = where
        self.problem = problem
        self.got = got
        self.remedy = remedy
        super().__init__(self.sentence())

    def __reduce__(self) -> tuple[object, ...]:
        """Say how to make it again: without it an error can't leave a worker process."""
        return _again, (type(self), self.where, self.problem, self.got, self.remedy)

    def sentence(self) -> str:
        """Return the whole message: where, what is wrong, what came, what to do."""
        came = f" (got: {self.got})" if self.got else ""
        mend = f" {self.remedy}." if self.remedy else ""
        return f"{self.where}: {self.problem}{came}.{mend}"


def _again(
    kind: type[ValuationError], where: str, problem: str, got: str, remedy: str
) -> ValuationError:
    return kind(where, problem, got=got, remedy=remedy)


class SaleFileError(ValuationError):
    """A sale file that can't be read at all."""


class MapError(ValuationError):
    """A column map that is wrong or doesn't fit its file."""


class RatesError(ValuationError):
    """A currency rate table that is wrong or too short."""


class CarFileError(ValuationError):
    """A car file that can't be understood."""


class ListingError(ValuationError):
    """The words of a listing that can't be read."""


class LotFileError(ValuationError):
    """A catalogue of lots that can't be read at all."""


class LedgerFileError(ValuationError):
    """A stock ledger that can't be read at all."""


class SaidFileError(ValuationError):
    """A record of what was said that is damaged or does not fit."""


class SettingsError(ValuationError):
    """A settings or assumptions file with a wrong entry."""


class SheetError(ValuationError):
    """An inspection sheet with a wrong entry."""


class CostsError(ValuationError):
    """Cost settings with a wrong entry."""


class ResaleError(ValuationError):
    """Points of the resale that can't be used."""


class ModelFileError(ValuationError):
    """A model on disk that is damaged, changed, foreign or from a newer version."""


class EvidenceError(ValuationError):
    """Evidence of a workspace that is missing, in use, damaged, or doesn't allow what was asked."""


class TooFewSalesError(ValuationError):
    """Not enough sales to do what was asked."""


class NotCalibratedError(ValuationError):
    """A step of the life cycle fit, calibrate, price is missing."""


class QuestionError(ValuationError):
    """A what-if question that can't be asked of a car."""
