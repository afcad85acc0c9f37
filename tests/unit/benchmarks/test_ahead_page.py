"""The page on months ahead: sales priced from a cut, before and after."""

from __future__ import annotations

from pathlib import Path

import ahead
import numpy as np
import pytest
from ahead import CUTS, MONTHS, Priced, joined, main, priced_from, rows_of

from valuation.appraisal.data import MarketData
from valuation.appraisal.walk import unseen_chassis
from valuation.features.table import day_number
from valuation.synthetic.market import SyntheticMarket

CUT = "2023-06-30"


@pytest.fixture(scope="module")
def priced(dated_sales: MarketData) -> Priced:
    return priced_from(dated_sales, CUT)[0]


def test_only_sales_so_many_months_ahead_are_priced(
    priced: Priced, dated_sales: MarketData
) -> None:
    known = dated_sales.day <= day_number(np.datetime64(CUT).item())
    first = np.flatnonzero(known)
    gap = dated_sales.day - dated_sales.day[known].max()
    ahead_of = np.any([(gap >= max(a, 1)) & (gap < b) for a, b in MONTHS.values()], axis=0)
    fit = unseen_chassis(dated_sales, first, np.flatnonzero(ahead_of & ~known))
    assert set(priced.ahead) <= set(gap[fit])
    assert 0.7 * len(fit) < len(priced.ahead) <= len(fit)


def test_ranges_months_ahead_are_wider_after_and_the_others_are_not(priced: Priced) -> None:
    near = priced.ahead <= 30
    assert near.any()
    assert np.array_equal(priced.width_before[near], priced.width_after[near])
    assert (priced.width_after[~near] >= priced.width_before[~near]).all()
    assert (priced.width_after > priced.width_before).any()
    assert (priced.after >= priced.before).all()


def test_a_row_for_each_number_of_months() -> None:
    one = Priced(
        np.array([10.0, 90.0]),
        np.log([1.1, 0.9]),
        np.array([True, False]),
        np.array([50.0, 60.0]),
        np.array([True, True]),
        np.array([50.0, 70.0]),
    )
    assert rows_of("f", joined([one, one])) == [
        ["f", "under 1", "2", "+10.0", "100.0", "50.0", "100.0", "50.0"],
        ["f", "3", "2", "-10.0", "0.0", "60.0", "100.0", "70.0"],
    ]


def test_the_page_is_saved(
    small_world: SyntheticMarket,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    small_world.table.to_csv(tmp_path / "auction_lots.csv.gz", index=False)
    monkeypatch.setitem(CUTS, "auction_lots", (CUT,))
    assert ahead.CUTS is CUTS
    main(["--data", str(tmp_path), "--files", "auction_lots", "--out", str(tmp_path / "out")])
    page = (tmp_path / "out" / "ahead.md").read_text(encoding="utf-8")
    assert page in capsys.readouterr().out
    assert page.count("| auction_lots | ") == len(MONTHS) + 1
    assert f"| auction_lots | {CUT} | " in page
