"""Ranges checked at three levels and segment by segment."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pandas as pd
import pytest

from valuation.study.ranges import RangeCheck, check_ranges

N = 600


def _checked(z: np.ndarray, **keys: Any) -> RangeCheck:
    """Check ranges of 1, 2 and 3 around 10 for prices that lie `z` from it."""
    n = len(z)
    p = pd.DataFrame({"price": 10.0 + z, "lower": np.full(n, 8.0), "upper": np.full(n, 12.0)})
    for level, half in ((50, 1.0), (95, 3.0)):
        p[f"lower_{level}"], p[f"upper_{level}"] = 10.0 - half, 10.0 + half
    p.loc[np.isnan(z), ["price"]] = 10.0
    p.loc[np.isnan(z), ["lower", "upper", "lower_50", "upper_50", "lower_95", "upper_95"]] = np.nan
    months = np.array([f"2024-{1 + i % 12:02d}" for i in range(n)])
    return check_ranges(p, {"month": months, **keys})


def _held(share: float) -> np.ndarray:
    """Return distances of which a share is inside the 80 % ranges."""
    return np.where(np.arange(N) % 100 < 100 * share, 0.5, 2.5)


def test_shares_are_counted_at_each_level() -> None:
    found = _checked(np.tile([0.0, 0.5, 1.5, 2.5, 3.5], N // 5))
    assert found.held_pct == pytest.approx({80: 60.0, 50: 40.0, 95: 80.0})
    assert found.interval is not None
    assert found.interval.coverage == pytest.approx(0.6)
    assert found.meets is False


def test_cars_without_a_range_do_not_count() -> None:
    z = _held(0.8)
    z[::2] = np.nan
    found = _checked(z)
    assert found.held_pct[80] == pytest.approx(80.0)
    assert sum(s.ranges for s in found.segments if s.by == "month") == N // 2


def test_without_any_range_nothing_is_said() -> None:
    found = _checked(np.full(N, np.nan))
    assert found == RangeCheck({}, None, ())
    assert found.lines() == []
    assert found.meets is None


def test_a_segment_with_too_narrow_ranges_fails_and_is_named() -> None:
    make = np.where(np.arange(N) < 300, "Torvane", "Kora")
    z = _held(0.8)
    z[:300] = np.where(np.arange(300) % 10 < 6, 0.5, 2.5)
    found = _checked(z, make=make)
    assert [(s.by, s.segment) for s in found.failing] == [("make", "Torvane")]
    assert found.failing[0].held_pct == pytest.approx(60.0)
    assert "  too narrow              make Torvane: 60.0% of 300 held" in found.lines()


def test_many_segments_that_miss_by_chance_do_not_fail() -> None:
    rng = np.random.default_rng(5)
    failing = 0
    for _ in range(20):
        z = np.where(rng.random(N) < 0.8, 0.5, 2.5)
        failing += len(_checked(z, make=rng.integers(0, 10, N).astype(str)).failing)
    # 22 segments a time at 5 % over all of a kind: 440 segments, two kinds, 20 times.
    assert failing <= 4


def test_small_segments_are_not_tested() -> None:
    make = np.array(["Kora"] * 29 + ["Torvane"] * (N - 29))
    named = {s.segment for s in _checked(_held(0.8), make=make).segments}
    assert "Torvane" in named
    assert "Kora" not in named


def test_the_machine_readable_form() -> None:
    out = _checked(_held(0.8)).to_dict()
    assert list(out) == ["held_pct", "interval_80", "meets_78_to_82", "segments"]
    assert out["held_pct"] == {"80": 80.0, "50": 80.0, "95": 100.0}
    assert out["meets_78_to_82"] is True
    assert json.loads(json.dumps(out, allow_nan=False)) == out


def test_the_lines_say_whether_the_months_agree() -> None:
    said = _checked(_held(0.6)).lines()
    assert said[0] == (
        "  held                    60.0% of the 80% ranges, 60.0% of the 50% ranges, 100.0% of the "
        "95% ranges"
    )
    assert said[1].endswith("which misses 78% to 82%")
