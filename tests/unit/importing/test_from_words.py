"""Words of listings beside the columns of a sale file."""

from __future__ import annotations

import pandas as pd

from valuation.importing.from_words import complete_from_words
from valuation.records import empty_table


def table(*rows: tuple[str | None, str | None]) -> pd.DataFrame:
    made = empty_table(len(rows))
    made["title"] = pd.Series([r[0] for r in rows], dtype=object)
    made["description"] = pd.Series([r[1] for r in rows], dtype=object)
    return made


def test_attributes_are_filled_and_counted() -> None:
    notes: list[str] = []
    done = complete_from_words(
        table(("1967 Torvane GT", "Never restored. Clear title."), ("1968 Kora", "Clear title.")),
        "s.csv",
        notes,
    )
    assert done["restoration"].tolist() == ["unrestored, preserved", None]
    assert done["title_status"].tolist() == ["clear", "clear"]
    assert notes == [
        "s.csv: filled from the words of listings: restoration of 1, title status of 2."
    ]


def test_a_column_always_counts_before_words() -> None:
    given = table(("1967 Torvane GT", "Clear title."))
    given["title_status"] = pd.Series(["lien"], dtype=object)
    notes: list[str] = []
    done = complete_from_words(given, "s.csv", notes)
    assert done["title_status"].tolist() == ["lien"]
    assert done["statements"].tolist() == [()]
    assert notes == []


def test_what_no_attribute_expresses_is_kept_in_order() -> None:
    text = "No rust, some filler, probably repainted. Two owners. Clear title."
    done = complete_from_words(table(("1967 Torvane GT", text)), "s.csv", [])
    assert done["statements"].tolist() == [
        (
            "faults: filler",
            "not faults: rust",
            "owners: two owners",
            "perhaps restoration: repainted",
        )
    ]


def test_rows_without_words_have_none_and_silent_ones_nothing() -> None:
    done = complete_from_words(table((None, None), ("1967 Torvane GT Coupe", None)), "s.csv", [])
    assert done["statements"].tolist() == [None, ()]


def test_a_table_without_words_is_left_as_it_is() -> None:
    given = table((None, None))
    assert complete_from_words(given, "s.csv", []) is given


def test_title_and_text_are_read_as_one() -> None:
    done = complete_from_words(table(("One-owner Torvane GT", "No rust.")), "s.csv", [])
    assert done["statements"].tolist() == [("not faults: rust", "owners: one owner")]


def test_a_gearbox_named_in_a_heading_is_no_conversion() -> None:
    done = complete_from_words(table(("1967 Torvane GT Coupe 5-Speed", None)), "s.csv", [])
    assert done["transmission_origin"].tolist() == [None]
