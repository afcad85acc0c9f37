"""Predicted against realised: exact where it can be, silent where there are too few pairs."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from said import PAIR, many_pairs

from valuation.bidding.costs import Winning
from valuation.bidding.costs_file import read_costs
from valuation.bidding.winning import RECORD_STRENGTH, correction
from valuation.results.pair import MarginPair, Pair
from valuation.scoring.intervals import coverage_interval
from valuation.study.realised import FEWEST, FEWEST_FOR_INTERVAL, realised_study, won_record

DAY = date(2025, 1, 1)


def study(pairs: tuple[Pair, ...], seed: int = 0) -> object:
    return realised_study(pairs, as_of=DAY, said=len(pairs) + 2, waiting=2, seed=seed)


def test_shares_medians_and_counts_are_those_of_the_pairs() -> None:
    pairs = tuple(p for p in many_pairs(28) if not p.of_resale)
    found = study(pairs)
    (prices,) = found.accuracy
    ratios = [float(p.central / p.price) for p in pairs]
    assert prices.what == "prices"
    assert prices.ratio.value == pytest.approx(np.median(ratios), rel=1e-12)
    assert prices.error == pytest.approx(np.median(np.abs(np.array(ratios) - 1)), rel=1e-12)
    assert prices.inside.value == sum(p.inside for p in pairs) / len(pairs)
    columns = ([float(getattr(p, n)) for p in pairs] for n in ("price", "lower", "upper"))
    months = [f"{p.sold_on:%Y-%m}" for p in pairs]
    expected = coverage_interval(*columns, months)
    assert (prices.inside.low, prices.inside.high) == (expected.lower, expected.upper)
    assert prices.ratio.low <= prices.ratio.value <= prices.ratio.high


def test_the_order_of_the_pairs_does_not_matter_and_the_seed_is_the_only_chance() -> None:
    pairs = many_pairs(28)
    assert study(pairs) == study(tuple(reversed(pairs)))
    one, other = study(pairs, 1).own.difference, study(pairs, 2).own.difference
    assert one.value == other.value
    assert (one.low, one.high) != (other.low, other.high)


@pytest.mark.parametrize("count", [0, 1, FEWEST - 1])
def test_few_pairs_give_no_figure_and_say_so(count: int) -> None:
    pairs = tuple(p for p in many_pairs(28) if not p.of_resale)[:count]
    found = study(pairs)
    assert all(a.ratio is None and a.inside is None and a.error is None for a in found.accuracy)
    assert found.own is None or found.own.difference is None
    if count:
        words = "one pair only" if count == 1 else f"{count} pairs only"
        assert f"{words}, too few for a figure" in found.summary()
        assert "nobody can be called nearer yet" in found.summary()


def test_a_figure_of_few_pairs_has_no_interval() -> None:
    pairs = tuple(
        replace(p, kind="price", margin=None) for p in many_pairs(FEWEST_FOR_INTERVAL - 1)
    )
    (prices,) = study(pairs).accuracy
    assert prices.ratio.low is None
    one_month = tuple(replace(p, sold_on=date(2024, 5, 1 + i)) for i, p in enumerate(pairs))
    (prices,) = study(one_month).accuracy
    assert prices.inside.low is None


def test_pairs_left_out_are_counted_by_reason_and_enter_no_figure() -> None:
    pairs = many_pairs(14)
    wrong = replace(
        PAIR, said_id="f" * 16, price=Decimal(1), left_out="said for another channel", margin=None
    )
    found, plain = study((*pairs, wrong)), study(pairs)
    assert found.left_out == (("said for another channel", 1),)
    assert (found.accuracy, found.own, found.margins) == (plain.accuracy, plain.own, plain.margins)
    assert "Not compared, said for another channel: 1." in found.summary()


def test_margins_are_means_of_exact_amounts_by_currency() -> None:
    third = MarginPair(Decimal("0.10"), Decimal("0.05"), Decimal(1), ("work",))
    pairs = [replace(PAIR, kind="bid", margin=third, said_id=f"{i}") for i in range(3)]
    dollars = replace(
        pairs[0],
        said_id="9",
        currency="USD",
        margin=replace(third, expected=Decimal(7), realised=Decimal("-2.01")),
    )
    euros, other = study((*pairs, dollars)).margins
    assert (euros.currency, euros.expected, euros.realised) == (
        "EUR",
        Decimal("0.10"),
        Decimal("0.05"),
    )
    assert (other.currency, other.expected, other.lost) == ("USD", Decimal("7.00"), 1)


cents = st.integers(-(10**9), 10**9)


@given(st.lists(st.tuples(cents, cents), min_size=1, max_size=12))
def test_a_mean_margin_is_the_exact_mean_rounded_once(amounts: list[tuple[int, int]]) -> None:
    pairs = tuple(
        replace(
            PAIR,
            kind="bid",
            said_id=f"{i}",
            margin=MarginPair(Decimal(a) / 100, Decimal(b) / 100, Decimal(1), ()),
        )
        for i, (a, b) in enumerate(amounts)
    )
    (margins,) = study(pairs).margins
    for mean, column in ((margins.expected, 0), (margins.realised, 1)):
        exact = Fraction(sum(a[column] for a in amounts), 100 * len(amounts))
        assert abs(Fraction(mean) - exact) <= Fraction(1, 200)


def _duel_pairs(better: str) -> tuple[Pair, ...]:
    near, far = (Decimal("1.02"), Decimal("1.20"))
    model, own = (far, near) if better == "own" else (near, far)
    return tuple(
        replace(
            PAIR,
            said_id=f"{i}",
            price=Decimal(10000 + 500 * i),
            central=(10000 + 500 * i) * model,
            own_figure=(10000 + 500 * i) * own,
            lower=None,
            upper=None,
            level=None,
        )
        for i in range(12)
    )


@pytest.mark.parametrize(
    ("better", "verdict"),
    [
        ("own", "The own figures were nearer than the model."),
        ("model", "The model was nearer than the own figures."),
    ],
)
def test_who_was_nearer_is_said_where_the_interval_says_it(better: str, verdict: str) -> None:
    duel = study(_duel_pairs(better)).own
    assert duel.verdict == verdict
    assert {duel.nearer_model, duel.nearer_other} == {0, 12}
    assert {round(duel.model_error, 4), round(duel.other_error, 4)} == {0.02, 0.2}


def test_where_the_interval_holds_zero_nobody_is_called_nearer() -> None:
    mixed = tuple(
        replace(p, central=p.own_figure, own_figure=p.central) if i % 2 else p
        for i, p in enumerate(_duel_pairs("own"))
    )
    duel = study(mixed).own
    assert duel.difference.low <= 0 <= duel.difference.high
    assert duel.verdict == "It can't be told yet whether the model or the own figure is nearer."


def test_overrides_that_made_it_worse_are_said_to() -> None:
    pairs = tuple(replace(p, override=p.own_figure, own_figure=None) for p in _duel_pairs("model"))
    found = study(pairs)
    assert found.own is None
    assert found.overrides.verdict == "The overrides made it worse."


def test_the_record_for_winning_holds_the_estimate_before_the_correction() -> None:
    pairs = many_pairs(6)
    record = won_record(pairs)
    lines = record.content.splitlines()
    assert lines[0] == "expected,realised,sold on,said"
    bids = sorted((p for p in pairs if p.expected), key=lambda p: p.sold_on)
    assert lines[1:] == [
        f"{p.expected},{p.price},{p.sold_on.isoformat()},{p.said_id}" for p in bids
    ]
    assert (record.pairs, record.currency, record.other_currency) == (3, "EUR", 0)


def test_one_record_is_in_one_currency() -> None:
    pairs = many_pairs(6)
    mixed = (*pairs[:-1], replace(pairs[-1], currency="USD"))
    assert (won_record(mixed).pairs, won_record(mixed).other_currency) == (2, 1)
    assert won_record(mixed, currency="USD").pairs == 1
    assert won_record(()).pairs == 0


def test_the_correction_for_winning_takes_the_record_into_account(tmp_path: Path) -> None:
    pairs = many_pairs(14)
    (tmp_path / "won.csv").write_text(won_record(pairs).content, encoding="utf-8", newline="")
    (tmp_path / "costs.toml").write_text(
        'currency = "EUR"\n[target]\nmargin = 100\n'
        "[buying.default]\nincrements = [{ step = 500 }]\n"
        '[winning]\nrivals = 2\nown_share = 0.3\nrecord = "won.csv"\n',
        encoding="utf-8",
    )
    winning = read_costs(tmp_path / "costs.toml").winning
    won = [p for p in pairs if p.expected]
    assert sorted(winning.record) == sorted((p.expected, p.price) for p in won)
    errors = [float(np.log(float(p.price / p.expected))) for p in won]
    weight = len(won) / (len(won) + RECORD_STRENGTH)
    assumed = correction(Winning(2, Decimal("0.3")), 0.2)
    made = correction(winning, 0.2)
    assert made.log == pytest.approx(weight * np.mean(errors) + (1 - weight) * assumed.log)
    assert made.log != pytest.approx(assumed.log)
    assert f"{len(won)} purchases on record" in made.source
