from __future__ import annotations

import pytest

from valuation.reading.titles import (
    learn_from_columns,
    learn_from_titles,
    makes_from,
    title_tokens,
)


def test_tokens() -> None:
    assert title_tokens("1,500-mile 1967½ Kora GT-4 2.6") == [
        "1500", "mile", "1967½", "kora", "gt", "4", "2.6",
    ]  # fmt: skip


def test_makes_learned_from_columns_keep_their_usual_spelling() -> None:
    makes = learn_from_columns(
        ["Sable-Marsh", "SABLE MARSH", "Sable-Marsh", "Kora", None],
        ["R 12", None, "R12", "GT", "X"],
    )
    assert dict(makes.names) == {"sablemarsh": "Sable-Marsh", "kora": "Kora"}
    assert makes.find(title_tokens("1967 sable marsh r12")) == ("Sable-Marsh", 3)
    assert makes.model_at("Sable-Marsh", title_tokens("r 12 coupe"), 0) == ("R 12", 2)
    assert makes.model_at("Kora", title_tokens("xyz"), 0) == ("", 0)


def test_the_make_behind_the_year_goes_before_one_elsewhere() -> None:
    makes = makes_from({"Kora": (), "Torvane": ()})
    assert makes.find(title_tokens("Kora-tuned 1967 Torvane GT"))[0] == "Torvane"
    assert makes.find(title_tokens("my old Kora"))[0] == "Kora"
    assert makes.find(title_tokens("1967 something")) == ("", 1)


def test_makes_learned_from_titles() -> None:
    titles = [f"Used {y} Kora GT Coupe" for y in range(1960, 1980)]
    titles += [f"{y} Sable Marsh R{y % 4 + 11}" for y in range(1960, 1980)]
    titles += [f"{y} Torvane Zephyr" for y in range(1960, 1965)]
    makes = learn_from_titles(titles)
    assert set(makes.names.values()) == {"Kora", "Sable Marsh", "Torvane"}
    assert makes.models["kora"]["gt"] == "GT"
    assert makes.models["sablemarsh"]["r12"] == "R12"


def test_in_a_list_of_one_make_the_second_word_is_the_model() -> None:
    makes = learn_from_titles([f"{y} Kora Zephyr S" for y in range(1960, 1980)])
    assert dict(makes.names) == {"kora": "Kora"}
    assert makes.models["kora"] == {"zephyr": "Zephyr"}


@pytest.mark.parametrize("titles", [[], [""], ["1967"], ["??"]])
def test_nothing_to_learn_from(titles: list[str]) -> None:
    assert learn_from_titles(titles).find(["1967"])[0] == ""
