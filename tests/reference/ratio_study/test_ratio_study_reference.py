"""The five worked examples, against print and against a second derivation."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from valuation.scoring.ratio_study import ratio_study
from valuation.scoring.screens import outlier_mask

CASES = sorted(p.parent for p in Path(__file__).parent.glob("*/sales.csv"))


def sales(case: Path) -> tuple[np.ndarray, np.ndarray]:
    table = np.loadtxt(case / "sales.csv", delimiter=",", skiprows=1)
    return table[:, 0], table[:, 1]


def values(case: Path, file: str) -> dict[str, Any]:
    return json.loads((case / file).read_text(encoding="utf-8"))["values"]


def found(case: Path) -> dict[str, Any]:
    price, estimate = sales(case)
    study = ratio_study(price, estimate, seed=1, replications=100)
    assert study.prb is not None
    assert study.median_interval is not None
    got: dict[str, Any] = {
        "sum_prices": price.sum(),
        "sum_estimates": estimate.sum(),
        "median_ratio": study.median_ratio,
        "median_lower": study.median_interval.lower,
        "median_upper": study.median_interval.upper,
        "mean_ratio": study.mean_ratio,
        "weighted_mean_ratio": study.weighted_mean_ratio,
        "cod": study.cod,
        "cov": study.cov,
        "prd": study.prd,
        "prb": study.prb.value,
        "prb_lower": study.prb.interval.lower,
        "prb_upper": study.prb.interval.upper,
        "mki": study.mki,
        "outliers": int(outlier_mask(price, estimate).sum()),
    }
    if study.chasing is not None:
        got |= {
            "share_near_one": study.chasing.share_near_one,
            "share_near_one_expected": study.chasing.share_expected,
            "largest_step": study.chasing.largest_step,
            "sales_chasing": study.chasing.suspected,
        }
    if study.vei is None:
        return got
    groups = study.vei.groups
    return got | {
        "vei": study.vei.value,
        "vei_significance": study.vei.significance,
        "vei_group_sales": [g.sales for g in groups],
        "vei_group_medians": [g.median for g in groups],
        "vei_first_lower": groups[0].interval.lower,
        "vei_first_upper": groups[0].interval.upper,
        "vei_last_lower": groups[-1].interval.lower,
        "vei_last_upper": groups[-1].interval.upper,
    }


def test_all_five_cases_are_here() -> None:
    sizes = {c.name: sales(c)[0].size for c in CASES}
    assert sizes == {
        "draft_2025_section_6_1": 54,
        "standard_2013_table_1_1": 36,
        "standard_2013_table_1_4": 17,
        "standard_2013_table_d_1": 25,
        "standard_2013_table_d_2": 16,
    }


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.name)
def test_print_is_reproduced_to_its_last_digit(case: Path) -> None:
    got = found(case)
    for name, printed in values(case, "published.json").items():
        many = isinstance(printed, list)
        pairs = zip(got[name], printed, strict=True) if many else [(got[name], printed)]
        for value, text in pairs:
            digits = len(text.partition(".")[2])
            assert f"{value:.{digits}f}" == text, name


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.name)
def test_second_derivation_agrees(case: Path) -> None:
    got, expected = found(case), values(case, "expected.json")
    assert set(got) == set(expected)
    for name, value in expected.items():
        assert got[name] == pytest.approx(value, rel=1e-9), name


def test_one_dear_sale_fails_the_prd_and_passes_the_prb() -> None:
    case = next(c for c in CASES if c.name.endswith("d_2"))
    verdicts = ratio_study(*sales(case), seed=1).verdicts()
    assert (verdicts["prd"], verdicts["prb"]) == ("outside", "inside")


def test_regressive_sample_is_far_outside() -> None:
    case = next(c for c in CASES if c.name.endswith("d_1"))
    assert ratio_study(*sales(case), seed=1).verdicts()["prb"] == "far outside"


def test_the_examples_that_are_large_enough_are_checked_for_sales_chasing() -> None:
    checked = {c.name: found(c).get("sales_chasing") for c in CASES}
    assert checked == {
        "draft_2025_section_6_1": False,
        "standard_2013_table_1_1": False,
        "standard_2013_table_1_4": None,
        "standard_2013_table_d_1": None,
        "standard_2013_table_d_2": None,
    }
