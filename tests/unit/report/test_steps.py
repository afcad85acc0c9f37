from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

from valuation.report.steps import chart_steps, in_order, without_effect
from valuation.results.valuation import Contribution, Valuation

Build = Callable[..., Valuation]


def line(name: str, amount: int, half: float = 50) -> Contribution:
    return Contribution(
        name, name.title(), "", amount, float(amount), amount - half, amount + half, 9, 1.0
    )


def test_the_steps_lead_from_start_to_central(example: Valuation) -> None:
    steps = chart_steps(example)
    assert steps[0].before == example.start
    for earlier, later in pairwise(steps):
        assert later.before == earlier.before + earlier.amount
    assert steps[-1].before + steps[-1].amount == example.central


def test_small_lines_go_together_and_lose_no_money(example: Valuation) -> None:
    for most in range(4, 16):
        steps = chart_steps(example, most=most)
        assert len(steps) <= most
        assert example.start + sum(s.amount for s in steps) == example.central
    assert "7 smaller lines together" in [s.label for s in chart_steps(example, most=5)]


def test_a_sum_of_lines_and_a_remainder_have_no_interval(example: Valuation) -> None:
    without = [s.label for s in chart_steps(example) if s.interval is None]
    assert without == ["2 smaller lines together", "Forecast correction and skew of the unknowns"]


def test_lines_are_ordered_by_money_and_corrections_come_last() -> None:
    lines = [line("correction", 900), line("b", -5), line("closest sales", 1), line("a", 5)]
    assert [c.attribute for c in in_order([*lines, line("c", 0), line("d", 70)])] == [
        "d", "a", "b", "closest sales", "correction",
    ]  # fmt: skip


def test_lines_without_money_are_kept_apart() -> None:
    lines = [line("a", 0), line("b", 1)]
    assert [c.attribute for c in without_effect(lines)] == ["a"]


def test_no_lines_is_no_step(build_valuation: Build) -> None:
    assert chart_steps(build_valuation(contributions=())) == []
