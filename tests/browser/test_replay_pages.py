"""The page of replayed bids in a real browser: phone, desk and paper."""

from __future__ import annotations

import pypdf
import pytest
import replays
from one_page import OnePage

from valuation.report.replay_page import render_replay

pytestmark = pytest.mark.browser


@pytest.mark.parametrize(
    ("width", "chart"),
    [(340, "rules-narrow"), (390, "rules-narrow"), (820, "rules-wide"), (1200, "rules-wide")],
)
def test_it_fits_and_shows_the_fitting_chart(browse: OnePage, width: int, chart: str) -> None:
    assert browse.probe(render_replay(replays.replayed()), width) == {
        "overflow": 0, "outside": 0, "charts": chart, "small": 0, "cut": [], "tables": 2
    }  # fmt: skip


def test_it_prints_and_says_for_whom(browse: OnePage) -> None:
    pdf = browse.printed(render_replay(replays.replayed()))
    printed = [page.extract_text() for page in pypdf.PdfReader(pdf).pages]
    assert 2 <= len(printed) <= 5
    assert all("Internal: not for customers." in page for page in printed)
    assert "Would it have bought?" in printed[0]
