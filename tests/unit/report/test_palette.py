from __future__ import annotations

import pytest

from valuation.report import palette

TEXTS = ("INK", "QUIET")
GROUNDS = ("PAPER", "TINT")


@pytest.mark.parametrize("text", TEXTS)
@pytest.mark.parametrize("ground", GROUNDS)
def test_text_can_be_read(text: str, ground: str) -> None:
    assert palette.contrast(getattr(palette, text), getattr(palette, ground)) >= 4.5


@pytest.mark.parametrize("mark", ["RAISES", "LOWERS", "BAND_50", "MIDDLE", "INK"])
def test_marks_stand_out_from_the_paper(mark: str) -> None:
    assert palette.contrast(getattr(palette, mark), palette.PAPER) >= 3


def test_bands_differ_in_lightness_not_only_in_hue() -> None:
    assert palette.contrast(palette.BAND_50, palette.BAND_80) >= 1.5
    assert palette.contrast(palette.BAND_80, palette.BAND_95) >= 1.25


def test_contrast_is_that_of_the_standard() -> None:
    assert palette.contrast("#777777", "#ffffff") == pytest.approx(4.478, abs=1e-3)
    assert palette.contrast("#ffffff", "#777777") == palette.contrast("#777777", "#ffffff")
