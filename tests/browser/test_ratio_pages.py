"""The page of a ratio study in a real browser: phone, desk and paper."""

from __future__ import annotations

from functools import cache

import pypdf
import pytest
import ratios
from one_page import OnePage

from valuation.report.ratio_page import render_ratios

pytestmark = pytest.mark.browser


@cache
def page() -> str:
    return render_ratios(ratios.studied(), ratios.covered())


@pytest.mark.parametrize(
    ("width", "size"), [(340, "narrow"), (390, "narrow"), (820, "wide"), (1200, "wide")]
)
def test_it_fits_and_shows_the_fitting_charts(browse: OnePage, width: int, size: str) -> None:
    found = browse.probe(page(), width)
    charts = found.pop("charts").split()
    assert found == {"overflow": 0, "outside": 0, "small": 0, "cut": [], "tables": 20}
    assert len(charts) == 18
    assert all(chart.endswith(f"-{size}") for chart in charts)
    assert {f"value-groups-{size}", f"ratios-make-{size}", f"coverage-make-{size}"} <= set(charts)


def test_it_prints_and_says_for_whom(browse: OnePage) -> None:
    printed = [p.extract_text() for p in pypdf.PdfReader(browse.printed(page())).pages]
    assert 8 <= len(printed) <= 20
    assert all("Internal: not for customers." in text for text in printed)
    assert "Ratio study" in printed[0]
    # A table of groups stands on one sheet as far as it can.
    assert any("Ratios by make" in text and "Pooled: Hestia" in text for text in printed)
