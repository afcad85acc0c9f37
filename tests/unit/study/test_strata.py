"""Sales cut into groups: every sale in one, thin groups pooled and named."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.errors import SettingsError
from valuation.study.strata import (
    NOT_STATED,
    Cut,
    bands,
    check_columns,
    column_cuts,
    month_of,
    pooled_groups,
)


def cut_of(counts: dict[str, int]) -> Cut:
    member = np.repeat(list(counts), list(counts.values()))
    return Cut("make", "By make", member, tuple(counts))


def test_thin_groups_are_pooled_in_one_row_that_names_them() -> None:
    groups = pooled_groups(cut_of({"Kora": 4, "Quill": 7, "Torvane": 30}), least=20)
    assert [(g.name, g.pooled, int(g.rows.sum())) for g in groups] == [
        ("Torvane", (), 30),
        ("pooled: Kora (4), Quill (7)", (("Kora", 4), ("Quill", 7)), 11),
    ]


def test_one_thin_group_is_named_and_kept_as_well() -> None:
    groups = pooled_groups(cut_of({"Kora": 4, "Torvane": 30}), least=20)
    assert [g.name for g in groups] == ["Torvane", "pooled: Kora (4)"]
    assert [g.pooled for g in pooled_groups(cut_of({"Kora": 20}), least=20)] == [()]


@given(
    st.dictionaries(
        st.sampled_from("ABCDEFGHIJ"), st.integers(min_value=1, max_value=60), min_size=1
    ),
    st.integers(min_value=1, max_value=40),
)
def test_pooling_keeps_every_sale_once(counts: dict[str, int], least: int) -> None:
    cut = cut_of(counts)
    groups = pooled_groups(cut, least=least)
    assert (np.sum([g.rows for g in groups], axis=0) == 1).all()
    named = dict(pair for g in groups for pair in g.pooled)
    named |= {g.name: int(g.rows.sum()) for g in groups if not g.pooled}
    assert named == counts
    assert all(n < least for g in groups for _, n in g.pooled)
    assert all(g.rows.sum() >= least for g in groups if not g.pooled)
    assert sum(bool(g.pooled) for g in groups) <= 1


def test_columns_tell_how_sales_are_grouped() -> None:
    frame = pd.DataFrame(
        {
            "make": ["Kora", None, " Torvane "],
            "year": [1967.0, np.nan, 1970.0],
            "channel": ["dealer"] * 3,
            "outside": [False, True, False],
            "sale_date": pd.to_datetime(["2024-05-02", None, "2023-12-31"]),
            "months_ahead": [0.0, 11.0, np.nan],
            "colour code": ["7", "", "8"],
        }
    )
    found = {c.by: (list(c.member), c.order) for c in column_cuts(frame, ["colour code", "make"])}
    assert found == {
        "make": (["Kora", NOT_STATED, "Torvane"], ("Kora", "Torvane", NOT_STATED)),
        "era": (["1960s", NOT_STATED, "1970s"], ("1960s", "1970s", NOT_STATED)),
        "evidence": (
            ["inside the evidence", "outside the evidence", "inside the evidence"],
            ("inside the evidence", "outside the evidence"),
        ),
        "month": (["2024-05", "undated", "2023-12"], ("2023-12", "2024-05", "undated")),
        "months ahead": (
            ["under 1 month", "11 to 12 months", "undated"],
            ("under 1 month", "11 to 12 months", "undated"),
        ),
        "colour code": (["7", NOT_STATED, "8"], ("7", "8", NOT_STATED)),
    }


def test_months_ahead_are_in_the_order_of_numbers() -> None:
    frame = pd.DataFrame({"months_ahead": [11.0, 2.0, 0.0]})
    (cut,) = column_cuts(frame)
    assert cut.order == ("under 1 month", "2 to 3 months", "11 to 12 months")


def test_a_month_column_counts_before_the_date() -> None:
    frame = pd.DataFrame(
        {"month": ["2024-05", None], "sale_date": pd.to_datetime(["2023-01-01"] * 2)}
    )
    assert list(month_of(frame)) == ["2024-05", "undated"]
    assert list(month_of(frame[[]])) == ["undated", "undated"]


def test_bands_hold_as_many_sales_each_and_say_their_edges() -> None:
    amounts = np.arange(1.0, 101.0) * 1000
    cut = bands(amounts, by="value", label="By band of value", currency="EUR", least=20)
    assert cut.order == (
        "up to 20,800 EUR", "20,800 to 40,600 EUR", "40,600 to 60,400 EUR", "60,400 to 80,200 EUR",
        "above 80,200 EUR",
    )  # fmt: skip
    assert [int((cut.member == name).sum()) for name in cut.order] == [20] * 5


def test_few_sales_make_fewer_bands_and_blank_amounts_are_not_stated() -> None:
    amounts = np.append(np.arange(1.0, 46.0), np.nan)
    cut = bands(amounts, by="value", label="", currency="", least=20)
    assert cut.order == ("up to 23", "above 23", NOT_STATED)
    assert bands(amounts[:30], by="value", label="", currency="", least=20).order == ("all values",)
    equal = bands(np.full(100, 5.0), by="value", label="", currency="", least=20)
    assert set(equal.member) == {"up to 5"}


def test_a_column_that_is_missing_is_named_with_those_there_are() -> None:
    with pytest.raises(SettingsError) as caught:
        check_columns(pd.DataFrame({"price": [1.0], "make": ["Kora"]}), ["hue", "make", "size"])
    assert str(caught.value) == (
        "the tested sales: there is no such column to group by (got: hue, size). Name some of "
        "price, make."
    )
