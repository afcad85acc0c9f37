"""A user's table of currency rates, and amounts brought to one currency at the sale date."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from pathlib import Path

from valuation.errors import RatesError, SaleFileError
from valuation.importing.files import read_raw
from valuation.reading.dates import read_dates
from valuation.reading.money import CURRENCIES
from valuation.reading.text import fold

__all__ = ["OLDEST_RATE_DAYS", "RateTable", "convert", "read_rates"]

OLDEST_RATE_DAYS = 31
"""A rate older than this on the day of the sale is not used."""


@dataclass(frozen=True)
class RateTable:
    """Values of one unit of each currency in the target currency.

    Parameters
    ----------
    rates : mapping of str to tuple of (datetime.date, Decimal)
        By currency, in the order of days.
    """

    rates: Mapping[str, tuple[tuple[date, Decimal], ...]]

    def rate(self, currency: str, day: date | None) -> tuple[Decimal | None, str]:
        """Return the last rate on or before a day, and a fault code if there is none to use.

        Parameters
        ----------
        currency : str
            ISO 4217 code.
        day : datetime.date, optional
            Day of the sale; None, for a list without dates, takes the last rate of all.
        """
        known = self.rates.get(currency, ())
        if not known:
            return None, "no rate"
        if day is None:
            return known[-1][1], ""
        i = bisect_right([d for d, _ in known], day)
        if i == 0:
            return None, "no rate"
        then, rate = known[i - 1]
        return (rate, "") if (day - then).days <= OLDEST_RATE_DAYS else (None, "rate too old")


def convert(amount: float, rate: Decimal) -> float:
    """Return an amount times a rate, exactly, to the cent.

    Examples
    --------
    >>> convert(100.0, Decimal("1.085"))
    108.5
    """
    exact = Decimal(str(amount)) * rate
    return float(exact.quantize(Decimal("0.01"), ROUND_HALF_UP))


def read_rates(path: str | Path) -> RateTable:
    """Read a rate table.

    Parameters
    ----------
    path : str or pathlib.Path
        CSV or workbook with the columns ``currency``, ``date`` and ``rate``: the value of one unit
        in the currency of the book.

    Returns
    -------
    RateTable
        The rates.

    Raises
    ------
    RatesError
        If a column is missing or a row can't be read.
    """
    try:
        raw = read_raw(path)[0]
    except SaleFileError as error:
        raise RatesError(error.where, error.problem, got=error.got, remedy=error.remedy) from error
    columns = {fold(str(c)): str(c) for c in raw.cells.columns}
    missing = [c for c in ("currency", "date", "rate") if c not in columns]
    if missing:
        raise RatesError(
            raw.name,
            f"the rate table has no column {' and '.join(missing)}",
            got=", ".join(columns.values()),
            remedy="Name its columns currency, date and rate",
        )
    days = read_dates(raw.cells[columns["date"]].tolist())
    rates: dict[str, dict[date, Decimal]] = {}
    for i, row in enumerate(raw.rows):
        code = str(raw.cells[columns["currency"]].iloc[i]).upper()
        text = str(raw.cells[columns["rate"]].iloc[i])
        day = days.values[i]
        where = f"{raw.name}, row {row}"
        if code not in CURRENCIES:
            raise RatesError(where, "no known currency", got=code, remedy="Write an ISO 4217 code")
        if day is None:
            raise RatesError(
                where,
                "the date can't be read",
                got=str(raw.cells[columns["date"]].iloc[i]),
                remedy="Write it as 2025-06-14",
            )
        rates.setdefault(code, {})[day] = _positive(text, where)
    return RateTable({c: tuple(sorted(of.items())) for c, of in rates.items()})


def _positive(text: str, where: str) -> Decimal:
    try:
        rate = Decimal(text.replace(",", ".") if text.count(",") == 1 else text)
    except InvalidOperation:
        rate = Decimal(0)
    if not (rate.is_finite() and rate > 0):
        raise RatesError(
            where, "the rate is no positive number", got=text, remedy="Write it as 1.0850"
        )
    return rate
