"""Settings of the synthetic market refuse what makes no market."""

from __future__ import annotations

from datetime import date

import pytest

from valuation.errors import SettingsError
from valuation.synthetic.settings import MarketSettings


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (
            {"sales": 10},
            "synthetic market, sales: value out of range (got: 10). Use 50 to 5,000,000.",
        ),
        (
            {"end": date(2019, 2, 1)},
            "synthetic market, end: value out of range (got: 2019-02-01). "
            "Use at least 90 days of sales.",
        ),
        (
            {"noise_df": 2.0},
            "synthetic market, noise_df: value out of range (got: 2.0). "
            "Use more than 2 degrees of freedom.",
        ),
        (
            {"reoffer_share": 1.2},
            "synthetic market, reoffer_share: value out of range (got: 1.2). "
            "Use a share from 0 to 1.",
        ),
        (
            {"drift_attribute": "smell"},
            "synthetic market, drift_attribute: value out of range (got: smell). "
            "Use the name of an attribute.",
        ),
        ({"line_spread": -1.0}, "synthetic market, line_spread: value out of range (got: -1.0)."),
        ({"lines": 0}, "synthetic market, lines: value out of range (got: 0)."),
        ({"start": date(1999, 1, 1)}, "synthetic market, start: value out of range"),
        ({"noise_sd": -0.1}, "synthetic market, noise_sd: value out of range (got: -0.1)."),
    ],
)
def test_values_out_of_range(wrong: dict[str, object], message: str) -> None:
    with pytest.raises(SettingsError) as caught:
        MarketSettings(**wrong)
    assert str(caught.value).startswith(message)


@pytest.mark.parametrize(
    ("sales", "lines"), [(300, 8), (6000, 33), (100_000, 200), (1_000_000, 873)]
)
def test_number_of_lines_grows_with_the_market(sales: int, lines: int) -> None:
    assert MarketSettings(sales=sales).number_of_lines == pytest.approx(lines, abs=1)


def test_number_of_lines_can_be_set() -> None:
    assert MarketSettings(lines=5).number_of_lines == 5
