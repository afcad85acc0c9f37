"""The page on ranges: what held, what fails, and how a frozen model ages."""

from __future__ import annotations

from pathlib import Path

import pytest
from ranges import HEADS, ahead_of, backtest_of, main, row_of

from valuation.study.ranges import RangeCheck, SegmentCheck
from valuation.synthetic.market import SyntheticMarket


@pytest.fixture
def folder(small_world: SyntheticMarket, tmp_path: Path) -> Path:
    small_world.table.to_csv(tmp_path / "auction_lots.csv.gz", index=False)
    return tmp_path


def test_a_row_says_what_the_backtest_says(folder: Path) -> None:
    result = backtest_of(folder, "auction_lots", "frozen")
    row = dict(zip(HEADS, row_of("auction_lots", "frozen", result), strict=True))
    p = result.predictions
    given = p["lower"].notna()
    inside = (p["price"] >= p["lower"]) & (p["price"] <= p["upper"])
    assert row["sales"] == f"{len(p):,}"
    assert float(row["given a range %"]) == pytest.approx(100 * given.mean(), abs=0.05)
    assert float(row["80 % held"]) == pytest.approx(100 * inside[given].mean(), abs=0.05)
    assert row["meets 78 to 82 %"] == {True: "yes", False: "no"}[bool(result.ranges.meets)]


def test_months_ahead_are_shown_month_after_month() -> None:
    segments = (
        SegmentCheck("make", "Torvane", 50, 80.0, False),
        SegmentCheck("months_ahead", "0 months", 1040, 79.0, False),
        SegmentCheck("months_ahead", "1 months", 40, 52.5, True),
    )
    check = RangeCheck({80: 78.0}, None, segments)
    assert ahead_of("f", check) == [
        ["f", "0 months", "1,040", "79.0"],
        ["f", "1 months", "40", "52.5"],
    ]


def test_the_page_is_saved(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["--data", str(folder), "--files", "auction_lots", "--out", str(folder / "out")])
    page = (folder / "out" / "ranges.md").read_text(encoding="utf-8")
    assert page in capsys.readouterr().out
    assert page.count("| auction_lots | frozen |") == page.count("| auction_lots | month |") == 1
