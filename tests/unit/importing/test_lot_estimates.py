"""Estimates and reserves as houses print them."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.importing.lot_estimates import Estimate, read_estimate, read_reserve


def both(text: str) -> tuple[int | None, int | None, str]:
    read = read_estimate(text)
    low, high = (None if x is None else int(x) for x in (read.low, read.high))
    return low, high, read.currency


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("40.000 - 50.000 EUR", (40_000, 50_000, "EUR")),
        ("$40,000-50,000", (40_000, 50_000, "USD")),
        ("€ 40.000,- bis 50.000,-", (40_000, 50_000, "EUR")),
        ("40 000 à 50 000 €", (40_000, 50_000, "EUR")),
        ("SFr. 90'000.- / 110'000.-", (90_000, 110_000, "CHF")),
        ("est. 40,000/50,000", (40_000, 50_000, "")),
        ("40-50k", (40_000, 50_000, "")),
        ("€40k–50k", (40_000, 50_000, "EUR")),
        ("40k-50", (40_000, 50_000, "")),
        ("40/50.000 €", (40_000, 50_000, "EUR")),
        ("40 bis 50 Tsd. EUR", (40_000, 50_000, "EUR")),
        ("1.2-1.4m", (1_200_000, 1_400_000, "")),
        ("800k-1.2m", (800_000, 1_200_000, "")),
        ("1 200 000 - 1 400 000 SEK", (1_200_000, 1_400_000, "SEK")),
        ("40,000.00 - 50,000.00", (40_000, 50_000, "")),
        ("900 - 1,200", (900, 1_200, "")),
        ("45,000", (45_000, 45_000, "")),
        ("from 40,000 GBP", (40_000, None, "GBP")),
        ("Estimate: in excess of £40,000", (40_000, None, "GBP")),
        ("40,000+", (40_000, None, "")),
        ("up to 50,000", (None, 50_000, "")),
        ("0 - 0", (None, None, "")),
        ("", (None, None, "")),
        ("n/a", (None, None, "")),
    ],
)
def test_estimates_of_one_text(text: str, expected: tuple[int | None, int | None, str]) -> None:
    assert both(text) == expected
    assert read_estimate(text).remarks == ()


@pytest.mark.parametrize(
    ("text", "expected", "remark"),
    [
        ("50,000-40,000", (40_000, 50_000), "the wrong way round (50,000 to 40,000)"),
        ("40,000 to 500,000", (40_000, 500_000), "more than ten times the low one"),
        ("40-50", (40, 50), "below 1,000 (50): see whether thousands are meant"),
        ("Estimate on request", (None, None), "the house names it on request"),
        ("call the office", (None, None), "no amount can be read from it"),
        ("sold for 42,000", (None, None), "that is a price, and is not used"),
        ("asking 45,000", (None, None), "that is a price, and is not used"),
        ("40000-50000-60000", (None, None), "more than two amounts, none of them is used"),
        ("£40,000 - 50,000 (€46,000 - 58,000)", (40_000, 50_000), "the first currency counts"),
    ],
)
def test_what_is_odd_is_remarked_and_never_refused(
    text: str, expected: tuple[int | None, int | None], remark: str
) -> None:
    assert both(text)[:2] == expected
    (said,) = read_estimate(text).remarks
    assert remark in said


def test_the_first_of_two_currencies_is_the_one_named() -> None:
    assert read_estimate("£40,000 - 50,000 (€46,000 - 58,000)").currency == "GBP"


def test_cents_stay_exact() -> None:
    assert read_estimate("40,000.50 - 50,000.10").low == Decimal("40000.5")


@given(st.integers(1_000, 900_000), st.integers(0, 9))
def test_any_span_comes_back(low: int, tenths: int) -> None:
    high = low + low * tenths // 10
    for text in (f"{low:,} - {high:,} EUR", f"EUR {low}-{high}", f"{low:,}–{high:,} €"):
        assert read_estimate(text) == Estimate(Decimal(low), Decimal(high), "EUR")


@given(st.text(max_size=60))
def test_no_text_is_too_wild(text: str) -> None:
    read = read_estimate(text)
    assert read.low is None or read.high is None or 0 < read.low <= read.high
    read_reserve(text)


@pytest.mark.parametrize(
    ("text", "kind", "amount"),
    [
        ("none", "none", None),
        ("No reserve", "none", None),
        ("offered without reserve", "none", None),
        ("ohne Limit", "none", None),
        ("sans réserve", "none", None),
        ("no", "none", None),
        ("yes", "yes", None),
        ("x", "yes", None),
        ("with reserve", "yes", None),
        ("35,000", "yes", 35_000),
        ("Reserve: £20k", "yes", 20_000),
        ("", "not stated", None),
        ("not stated", "not stated", None),
    ],
)
def test_reserves(text: str, kind: str, amount: int | None) -> None:
    read = read_reserve(text)
    assert (read.kind, read.amount) == (kind, None if amount is None else Decimal(amount))
    assert read.remarks == ()


def test_a_reserve_that_cannot_be_read_is_not_stated() -> None:
    read = read_reserve("perhaps")
    assert read.kind == "not stated"
    assert read.remarks == ('The reserve reads "perhaps" and is taken as not stated.',)


def test_a_column_that_asks_the_other_way_round() -> None:
    assert [read_reserve(t, asks_for_none=True).kind for t in ("yes", "no", "")] == [
        "none", "yes", "not stated",
    ]  # fmt: skip
