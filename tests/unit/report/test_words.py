from __future__ import annotations

from datetime import date

import pytest

from valuation.report import words
from valuation.results.valuation import Comparable, Contribution, Evidence, NoRange, PriceRange


def line(share: float) -> Contribution:
    return Contribution("body", "Body", "open", 10, 10.0, 5, 15, 3, share)


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (1.0, "all evidence"),
        (0.0, "all assumption"),
        (0.996, "all evidence"),
        (0.62, "62% evidence"),
    ],
)
def test_source_says_how_much_is_evidence(share: float, said: str) -> None:
    assert words.source_words(line(share)) == said


def test_evidence_is_said_in_words() -> None:
    thin = Evidence("thin", "make", 1, False, ())
    assert words.evidence_words(thin) == (
        "Thin: few sales of such cars. Treat the range as a first orientation. "
        "Compared with 1 sale of the same make."
    )
    market = Evidence("none", "market", 0, True, ())
    assert words.evidence_words(market).endswith("Compared with 0 sales in the whole market.")


def test_an_unforeseen_strength_is_said_as_it_is() -> None:
    assert words.evidence_words(Evidence("mixed", "make", 4, False, ())).startswith("Mixed. ")


def test_a_range_is_said_or_its_absence() -> None:
    assert words.range_words(PriceRange(0.8, 41_340.4, 60_120), "EUR") == "41,340 to 60,120 EUR"
    assert words.range_words(NoRange("too few"), "EUR") == "No range"


def test_a_sale_leaves_out_what_is_unknown() -> None:
    def sale(basis: str, outcome: str, channel: str) -> Comparable:
        return Comparable("1", "car", None, 1, 1, 0, 0, 1, basis, outcome, channel, ())

    assert words.sale_words(sale("hammer price", "unknown", "")) == "hammer price"
    assert words.sale_words(sale("unknown", "unknown", "")) == "nothing stated about the sale"
    assert words.sale_words(sale("asking price", "offered", "dealer")) == (
        "offered, asking price, dealer"
    )


def test_a_day_is_never_mistaken_for_a_month() -> None:
    assert words.day(date(2025, 3, 4)) == "4 Mar 2025"
    assert words.day(None) == "no date"


def test_large_is_a_word_beyond_the_limit() -> None:
    assert words.large(-20.1, 20) == "large"
    assert words.large(20, 20) == ""


def test_a_long_text_is_cut_at_a_word_or_within_one() -> None:
    assert words.shorten("short", 9) == "short"
    assert words.shorten("one two three", 9) == "one two …"
    assert words.shorten("unbrokenword", 6) == "unbro…"
    assert all(len(words.shorten("a bc def ghij klmno", n)) <= n for n in range(3, 25))
