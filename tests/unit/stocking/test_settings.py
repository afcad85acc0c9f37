"""Settings of the stock: figures on paper to effects on the log scale, and every fault at once."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from valuation.errors import SettingsError
from valuation.stocking.settings import (
    MONTH_DAYS,
    default_stock_settings,
    read_stock_settings,
)


def _settings(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "stock.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_figures_of_the_package_mean_what_they_say() -> None:
    s = default_stock_settings()
    a = s.assumptions
    assert 1 - math.exp(-MONTH_DAYS * math.exp(a.base.mean)) == pytest.approx(0.30)
    # Ten per cent more cut the sales a day by 45 per cent.
    assert math.exp(-math.exp(a.elasticity.mean) * math.log(1.1)) == pytest.approx(0.55)
    assert math.exp(a.elasticity.sd) == pytest.approx(1.6)
    assert math.expm1(math.exp(a.error.mean)) == pytest.approx(0.12)
    assert 1 / (1 + math.exp(-a.sees.mean)) == pytest.approx(0.4)
    assert a.best_day == 135
    assert math.exp(a.swing.mean) == pytest.approx(1.3)
    assert [start for start, _ in a.steps] == [30, 90, 180]
    assert math.exp(a.steps[1][1].mean) == pytest.approx(0.7)
    assert (s.least_sales, s.least_cars, s.asking.target_days) == (20, 4, 90)


def test_what_a_file_leaves_out_is_as_in_the_package(tmp_path: Path) -> None:
    s = read_stock_settings(_settings(tmp_path, "[chance]\nfirst_month_percent = 50\n"))
    usual = default_stock_settings()
    assert math.exp(-MONTH_DAYS * math.exp(s.assumptions.base.mean)) == pytest.approx(0.5)
    assert s.assumptions.base.sd == usual.assumptions.base.sd
    assert s.asking == usual.asking


def test_all_faults_come_at_once(tmp_path: Path) -> None:
    text = """
[price]
ten_percent_more = 5
[season]
best_day = "31-31"
[time_on_offer]
steps = [{ from_day = 90, effect_percent = 0, give_or_take_percent = 10 }, { from_day = 30 }]
[asking]
target_days = 400
horizon_days = 300
[haste]
much = 1
"""
    with pytest.raises(SettingsError) as caught:
        read_stock_settings(_settings(tmp_path, text))
    assert str(caught.value) == (
        "stock.toml: 6 entries are wrong: "
        "haste has to be one of own, chance, price, estimate, season, time_on_offer, condition, "
        "segments, asking, auction, review (got: an unknown table); "
        "price.ten_percent_more has to be a number from -99 to -0.1 (got: 5); "
        "season.best_day has to be month and day such as \"05-15\" (got: '31-31'); "
        "time_on_offer.steps 2.effect_percent has to be a number from -95 to 500 (got: nothing); "
        "time_on_offer.steps 2.give_or_take_percent has to be a number from 0.1 to 500 "
        "(got: nothing); "
        "asking.horizon_days has to be no fewer days than target_days (got: 300). Correct them."
    )


def test_steps_have_to_rise(tmp_path: Path) -> None:
    step = "{{ from_day = {}, effect_percent = 0, give_or_take_percent = 10 }}"
    text = f"[time_on_offer]\nsteps = [{step.format(90)}, {step.format(30)}]\n"
    with pytest.raises(SettingsError, match=r"steps has to be steps whose from_day rises"):
        read_stock_settings(_settings(tmp_path, text))


@pytest.mark.parametrize(
    ("text", "told"),
    [("[own", "this is not valid TOML"), ("own = 3", r"own has to be a table \[own\] \(got: 3\)")],
)
def test_what_is_no_settings_file(tmp_path: Path, text: str, told: str) -> None:
    with pytest.raises(SettingsError, match=told):
        read_stock_settings(_settings(tmp_path, text))


def test_days_are_whole(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match=r"own.least_sales has to be a whole number"):
        read_stock_settings(_settings(tmp_path, "[own]\nleast_sales = 2.5\n"))


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="the settings can't be read"):
        read_stock_settings(tmp_path / "none.toml")
