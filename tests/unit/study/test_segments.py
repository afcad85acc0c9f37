"""Segments as the firm cuts them: what belongs, what overlaps, what is refused."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from valuation.errors import SettingsError
from valuation.study.segments import (
    Segment,
    make_segments,
    overlaps_of,
    read_segments,
    segments_of,
)

FRAME = pd.DataFrame(
    {
        "make": ["Torvane", "torvane ", "Ystrix", None, "Ystrix", "Torvane"],
        "model": ["GT", "Strandling", "Quill", "GT", None, "GT"],
        "year": [1962.0, 1955.0, 1960.0, 1962.0, float("nan"), 1971.0],
        "body": ["coupe", "roadster", "roadster", "coupe", None, "coupe"],
        "channel": ["live auction", "dealer", "live auction", None, "dealer", "dealer"],
    }
)


def rows(**parts: object) -> list[int]:
    (segment,) = segments_of({"Some": parts})
    return [i for i, chosen in enumerate(segment.rows(FRAME)) if chosen]


def test_makes_and_models_widen_and_all_else_narrows() -> None:
    assert rows(makes=["TORVANE"]) == [0, 1, 5]
    assert rows(models=["Torvane  gt"]) == [0, 5]
    assert rows(makes=["Ystrix"], models=["Torvane GT"]) == [0, 2, 4, 5]
    assert rows(makes=["Torvane"], years=[1960, 1969]) == [0]
    assert rows(bodies=["Roadster"]) == [1, 2]
    assert rows(channels="dealer", makes="Torvane") == [1, 5]
    assert rows(years=[1955, 1962]) == [0, 1, 2, 3]


def test_a_segment_says_what_belongs_to_it() -> None:
    (one,) = segments_of(
        {"Open": {"makes": ["Ystrix"], "models": ["Torvane GT"], "years": [1950, 1965],
                  "bodies": ["roadster", "convertible"], "channels": ["dealer"]}}
    )  # fmt: skip
    assert one.words == ("Ystrix, Torvane GT; built 1950 to 1965; roadster or convertible; dealer")
    assert Segment("All cars").words == "every sale of the evidence"


def test_all_wrong_entries_are_told_at_once() -> None:
    with pytest.raises(SettingsError) as caught:
        segments_of(
            {
                "A": {"makes": [], "price_band": [10, 20]},
                "B": {"models": ["Torvane"], "years": [1970, 1960]},
                "C": {},
                "D": {"colour": ["red"]},
                " a ": {"bodies": ["coupe", 3]},
            },
            where="firm.toml",
        )
    assert str(caught.value) == (
        'firm.toml: 8 entries are wrong: segments."A", price_band has to be left out: a segment '
        "cut by price would pick the very thing that is measured (got: [10, 20]); "
        'segments."A", makes has to be a list of words, such as ["Torvane"] (got: []); '
        'segments."B", models has to be a make and a model, such as "Torvane GT" (got: Torvane); '
        'segments."B", years has to be the first and the last year, such as [1946, 1965] '
        "(got: [1970, 1960]); "
        'segments."C" has to be a table with any of makes, models, years, bodies, channels '
        "(got: {}); "
        'segments."D", colour has to be one of makes, models, years, bodies, channels '
        "(got: ['red']); "
        'segments." a ", bodies has to be a list of words, such as ["Torvane"] '
        "(got: ['coupe', 3]); "
        'segments." a " has to be named once (got: it twice). Correct them.'
    )


@pytest.mark.parametrize("given", [{}, [], "Torvane"])
def test_no_segment_is_no_settings(given: object) -> None:
    with pytest.raises(SettingsError, match="segments: no segment is named"):
        segments_of(given)  # type: ignore[arg-type]


def test_years_have_to_be_two_finite_numbers() -> None:
    for years in ([1960], [1960, float("nan")], [True, 1990], "1960-1970"):
        with pytest.raises(SettingsError, match="the first and the last year"):
            segments_of({"A": {"years": years}})


def test_a_file_may_hold_other_settings_too(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_text('[firm]\nname = "x"\n[segments."Post-war sports"]\nmakes = ["Torvane"]\n')
    assert read_segments(path) == (Segment("Post-war sports", makes=("Torvane",)),)


def test_a_file_that_cannot_be_read_is_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match=r"none\.toml: the segments can't be read"):
        read_segments(tmp_path / "none.toml")
    path = tmp_path / "bad.toml"
    path.write_bytes(b"[segments")
    with pytest.raises(SettingsError, match=r"bad\.toml: this is not valid TOML"):
        read_segments(path)
    path.write_bytes(b"\xff\xfe")
    with pytest.raises(SettingsError, match="not valid TOML"):
        read_segments(path)


def test_by_default_each_make_with_enough_sales_is_one() -> None:
    assert make_segments(FRAME, least=2) == (
        Segment("Torvane", makes=("Torvane",)),
        Segment("Ystrix", makes=("Ystrix",)),
    )
    assert make_segments(FRAME, least=3) == (Segment("Torvane", makes=("Torvane",)),)
    assert make_segments(FRAME) == ()


def test_shared_sales_are_told() -> None:
    named = segments_of(
        {"Torvanes": {"makes": ["Torvane"]}, "Coupes": {"bodies": ["coupe"]},
         "Sixties": {"years": [1960, 1961]}}
    )  # fmt: skip
    found = overlaps_of([s.name for s in named], [s.rows(FRAME) for s in named])
    assert found == ("2 sales belong to both Torvanes and Coupes.",)
