"""Other cars' chassis numbers are masked however they are written; nothing else is."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.appraisal.market import MarketModel
from valuation.reading.text import compact
from valuation.records import Car
from valuation.selling.private_words import MASK, PrivateWords, private_words

WORDS = PrivateWords(
    frozenset({"tr41180k", "40115", "os12ab9", "k1180", "wvtz1234567890123", "1234567"}),
    frozenset({"tr42200k"}),
)


@pytest.mark.parametrize(
    ("text", "masked"),
    [
        ("Chassis TR4-1180-K", f"Chassis {MASK}"),
        ("tr4.1180.k and TR41180K", f"{MASK} and {MASK}"),
        ("T R 4 1 1 8 0 K.", f"{MASK}."),
        ("noTR4_1180_Kx", f"no{MASK}x"),
        ("ＴＲ4–1180–K", MASK),
        ("WVTZ 1234567890123", MASK),
        ("frame no. 40115", f"frame no. {MASK}"),
        ("# 40 115", f"# {MASK}"),
        ("40,115 miles, EUR 40115", "40,115 miles, EUR 40115"),
        ("car K-1180!", f"car {MASK}!"),
        ("car XK1180", "car XK1180"),
        ("1.234.567", MASK),
        ("TR4-1181-K, TR4 118 K", "TR4-1181-K, TR4 118 K"),
        ("our own TR4-2200-K", "our own TR4-2200-K"),
        ("", ""),
    ],
)
def test_numbers_are_masked(text: str, masked: str) -> None:
    assert WORDS.masked(text) == masked


def test_an_own_number_that_holds_another_one_stands() -> None:
    words = PrivateWords(frozenset({"k1180"}), frozenset({"tr4k1180"}))
    assert words.masked("TR4-K1180, not K1180") == f"TR4-K1180, not {MASK}"


def test_of_two_numbers_at_one_place_the_longer_is_masked() -> None:
    words = PrivateWords(frozenset({"tr41180", "tr41180k"}))
    assert words.masked("TR4-1180-K") == MASK
    assert words.found("a TR4-1180-K b") == ("TR4-1180-K",)


@given(
    st.lists(
        st.sampled_from(["", " ", "-", "/", ".", "\u00a0", " · ", "(", "_"]), min_size=7, max_size=7
    ),
    st.booleans(),
    st.text(alphabet=" ,.;x", max_size=6),
)
def test_no_spacing_hides_a_number(gaps: list[str], upper: bool, around: str) -> None:
    number = "".join(c + gap for c, gap in zip("tr41180", gaps, strict=True)) + "k"
    text = f"{around} {number.upper() if upper else number} {around}"
    masked = WORDS.masked(text)
    assert "tr41180k" not in compact(masked)
    assert MASK in masked
    # Masking once is enough.
    assert WORDS.masked(masked) == masked


def test_the_evidence_tells_which_numbers_there_are(small_market: MarketModel) -> None:
    frame = small_market.frame
    number = frame["chassis"].dropna().iloc[7]
    car = Car({"make": "Torvane", "model": "GT", "year": 1966.0}, chassis="ZZ-9-9871-Q")
    words = private_words(small_market, car)
    assert words.masked(f"Sold as {number} in spring") == f"Sold as {MASK} in spring"
    assert words.own == {"zz99871q"}
    own = private_words(small_market, Car(car.values, chassis=number))
    assert own.masked(f"Sold as {number}") == f"Sold as {number}"
    for name in ("make", "model", "variant"):
        for value in frame[name].dropna().unique():
            assert words.masked(value) == value


def test_a_number_in_the_variant_of_a_car_is_no_name(small_market: MarketModel) -> None:
    frame = small_market.frame.copy()
    number = frame["chassis"].dropna().iloc[7]
    frame.loc[frame["chassis"] == number, "variant"] = f"Sprint {number}"
    car = Car({"make": "Torvane", "model": "GT", "year": 1966.0})
    words = private_words(replace(small_market, frame=frame), car)
    assert words.masked(f"Sprint {number}") == f"Sprint {MASK}"
