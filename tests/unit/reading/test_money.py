from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.reading.money import find_currency, read_money, read_outcome


@pytest.mark.parametrize(
    ("text", "amount", "currency"),
    [
        ("$41,250", 41_250, "USD"),
        ("41.250,00 €", 41_250, "EUR"),
        (" £8,000", 8_000, "GBP"),
        ("54,900 LYD", 54_900, "LYD"),
        ("bid to 38k", 38_000, ""),
        ("CHF 45'000.-", 45_000, "CHF"),
        ("1.250.000,-- EUR", 1_250_000, "EUR"),
        ("41 250 zł", 41_250, "PLN"),
        ("US$ 1.2m", 1_200_000, "USD"),
        ("1,25 Mio. €", 1_250_000, "EUR"),
        ("A$12,500", 12_500, "AUD"),
        ("150 tys. zł", 150_000, "PLN"),
        ("38.5k", 38_500, ""),
        ("15000.0", 15_000, ""),
        ("0", 0, ""),
        ("-500", -500, ""),
        ("41,250 (incl. 10%)", 41_250, ""),
        ("sold for EUR 34,500", 34_500, "EUR"),
    ],
)
def test_amounts(text: str, amount: float, currency: str) -> None:
    read = read_money(text)
    assert read.amount == amount
    assert read.currency == currency
    assert read.problem == ""


def test_three_digits_behind_one_sign_are_thousands_whatever_the_column_says() -> None:
    assert read_money("34,500", ",").amount == 34_500
    assert read_money("34.500", ".").amount == 34_500
    assert read_money("34,50", ",").amount == 34.5


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", "no price"),
        ("n/s", "no price"),
        ("NA", "no price"),
        ("not sold", "no price"),
        ("on request", "unreadable price"),
        ("40,000 - 45,000", "unreadable price"),
        ("20-25k", "unreadable price"),
        ("est. 40,000", "unreadable price"),
        ("Estimate: € 40.000", "unreadable price"),
        ("41,250 USD / 38,000 EUR", "unreadable price"),
    ],
)
def test_cells_without_a_price(text: str, problem: str) -> None:
    read = read_money(text)
    assert read.amount is None
    assert read.problem == problem


@pytest.mark.parametrize(
    ("text", "outcome"),
    [
        ("bid to 38k", "not sold"),
        ("Unsold", "not sold"),
        ("Reserve not met", "not sold"),
        ("nicht verkauft", "not sold"),
        ("Niesprzedany", "not sold"),
        ("invendu", "not sold"),
        ("sold", "sold"),
        ("Verkauft", "sold"),
        ("vendu", "sold"),
        ("for sale", "offered"),
        ("asking 41,000", "offered"),
        ("41,000", ""),
        ("soldier", ""),
    ],
)
def test_outcome_words(text: str, outcome: str) -> None:
    assert read_outcome(text) == outcome
    assert read_money(text).outcome == outcome


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("eur", "EUR"),
        ("C$ 5", "CAD"),
        ("R$ 5", "BRL"),
        ("5 euros", "EUR"),
        ("5 ABC", ""),
        ("try all", ""),
        ("", ""),
    ],
)
def test_currencies(text: str, code: str) -> None:
    assert find_currency(text) == code


@given(
    st.integers(1000, 99_999_999),
    st.sampled_from(
        [
            ("${}", ",", "."),
            ("{} €", ".", ","),
            ("CHF {}", "'", "."),
            ("{} kr", " ", ","),
            ("£{}", ",", "."),
        ]
    ),
    st.booleans(),
)
def test_amounts_survive_every_notation(
    amount: int, notation: tuple[str, str, str], cents: bool
) -> None:
    frame, thousands, decimal = notation
    written = f"{amount:,}".replace(",", thousands) + (f"{decimal}00" if cents else "")
    assert read_money(frame.format(written)).amount == amount


@given(st.text(max_size=40))
def test_any_text_is_read_without_an_accident(text: str) -> None:
    read = read_money(text)
    assert (read.amount is None) == (read.problem != "")
