from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from valuation.errors import RatesError
from valuation.importing.rates import convert, read_rates


def _rates(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "rates.csv"
    path.write_text(text, encoding="utf-8")
    return path


GOOD = "currency,date,rate\nUSD,2024-01-01,0.90\nUSD,2024-02-01,0.92\nGBP,2024-01-15,1.16\n"


def test_the_last_rate_on_or_before_the_day(tmp_path: Path) -> None:
    table = read_rates(_rates(tmp_path, GOOD))
    assert table.rate("USD", date(2024, 1, 1)) == (Decimal("0.90"), "")
    assert table.rate("USD", date(2024, 1, 31)) == (Decimal("0.90"), "")
    assert table.rate("USD", date(2024, 2, 1)) == (Decimal("0.92"), "")


def test_no_rate_and_too_old_a_rate(tmp_path: Path) -> None:
    table = read_rates(_rates(tmp_path, GOOD))
    assert table.rate("USD", date(2023, 12, 31)) == (None, "no rate")
    assert table.rate("CHF", date(2024, 2, 1)) == (None, "no rate")
    assert table.rate("GBP", date(2024, 2, 15)) == (Decimal("1.16"), "")
    assert table.rate("GBP", date(2024, 2, 16)) == (None, "rate too old")


def test_a_list_without_dates_takes_the_last_rate(tmp_path: Path) -> None:
    assert read_rates(_rates(tmp_path, GOOD)).rate("USD", None) == (Decimal("0.92"), "")


def test_conversion_is_exact() -> None:
    assert convert(41_250.0, Decimal("0.9137")) == 37_690.13
    # 0.1 + 0.2 would already be wrong in binary fractions.
    assert convert(0.3, Decimal("3")) == 0.9


def test_a_decimal_comma(tmp_path: Path) -> None:
    table = read_rates(_rates(tmp_path, "currency;date;rate\nUSD;2024-01-01;0,90\n"))
    assert table.rate("USD", date(2024, 1, 1)) == (Decimal("0.90"), "")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "currency,rate\nUSD,1\n",
            "rates.csv: the rate table has no column date (got: currency, rate). "
            "Name its columns currency, date and rate.",
        ),
        (
            "currency,date,rate\nDollar,2024-01-01,1\n",
            "rates.csv, row 2: no known currency (got: DOLLAR). Write an ISO 4217 code.",
        ),
        (
            "currency,date,rate\nUSD,soon,1\n",
            "rates.csv, row 2: the date can't be read (got: soon). Write it as 2025-06-14.",
        ),
        (
            "currency,date,rate\nUSD,2024-01-01,1\nUSD,2024-01-02,-1\n",
            "rates.csv, row 3: the rate is no positive number (got: -1). Write it as 1.0850.",
        ),
        (
            "currency,date,rate\nUSD,2024-01-01,much\n",
            "rates.csv, row 2: the rate is no positive number (got: much). Write it as 1.0850.",
        ),
        (
            "",
            "rates.csv: it is empty. Choose a file with sales in it.",
        ),
    ],
)
def test_wrong_tables(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(RatesError) as error:
        read_rates(_rates(tmp_path, text))
    assert str(error.value) == message
