"""The variant that a title names is the variant of the car."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from valuation.appraisal.appraise import appraise
from valuation.appraisal.market import MarketModel
from valuation.appraisal.named_variant import with_named_variant
from valuation.records import Car, OpenFact


@pytest.fixture(scope="module")
def line(small_market: MarketModel) -> tuple[str, str, str]:
    """Return a make, a model and a variant of several words that sales of it state."""
    stated = small_market.frame[["make", "model", "variant"]].dropna()
    counts = Counter(r for r in stated.itertuples(index=False) if " " in r[2])
    make, model, variant = max(counts, key=lambda r: (counts[r], r))
    return make, model, variant


def car(line: tuple[str, str, str], title: str, **values: str) -> Car:
    make, model, _ = line
    return Car({"make": make, "model": model, "year": 1966.0, **values}, title=title)


def test_its_words_stand_in_the_title(
    small_market: MarketModel, line: tuple[str, str, str]
) -> None:
    make, model, variant = line
    found = with_named_variant(
        small_market, car(line, f"1966 {make} {model} {variant.upper()}, ok")
    )
    assert found.values["variant"] == variant
    assert found.notes == (f"Variant is read from the title: {variant}.",)
    stated = car(line, "", variant=variant)
    assert found.values == stated.values
    shown = {c.attribute: c for c in appraise(small_market, found).contributions}
    assert shown["variant"].statement.startswith("title: ")


def test_words_that_are_not_there_whole_name_nothing(
    small_market: MarketModel, line: tuple[str, str, str]
) -> None:
    make, model, variant = line
    for title in ("", f"1966 {make} {model}", f"{make} {model} pre{variant}s"):
        plain = car(line, title)
        assert with_named_variant(small_market, plain) is plain


def test_what_is_stated_open_or_not_looked_at_stays(
    small_market: MarketModel, line: tuple[str, str, str]
) -> None:
    title = f"1966 {line[0]} {line[1]} {line[2]}"
    stated = car(line, title, variant="Standard")
    unseen = replace(car(line, title), not_looked_at=frozenset({"variant"}))
    unsure = replace(car(line, title), open=(OpenFact("variant", (line[2], "Standard")),))
    for kept in (stated, unseen, unsure):
        assert with_named_variant(small_market, kept) is kept


def test_the_longest_name_counts(small_market: MarketModel, line: tuple[str, str, str]) -> None:
    title = f"1966 {line[0]} {line[1]} {line[2]} Standard"
    assert with_named_variant(small_market, car(line, title)).values["variant"] == line[2]
