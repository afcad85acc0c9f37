from __future__ import annotations

from valuation.reading.counters import strip_counters


def _strip(titles: list[str], makes: list[str | None] | None = None) -> list[str]:
    return strip_counters(titles, makes)[0]


PLAIN = [f"{y} kora gt" for y in range(1960, 1972)]


def test_a_running_number_is_taken_off() -> None:
    titles, removed = strip_counters(
        [*PLAIN, "1966 kora gt 8", "1967 Kora GT #3", "1968 kora gt (2)"]
    )
    assert titles[-3:] == ["1966 kora gt", "1967 Kora GT", "1968 kora gt"]
    assert titles[:-3] == PLAIN
    assert removed == 3


def test_a_number_that_comes_back_sets_a_version_apart() -> None:
    titles = [*PLAIN, "1966 kora gt 4", "1967 kora gt 4", "1968 kora gt 4"]
    assert _strip(titles) == titles


def test_a_number_that_most_of_these_titles_have_belongs_to_the_name() -> None:
    titles = [
        "1967 kora cj",
        "1967 kora cj 5",
        "1968 kora cj 7",
        "1969 kora cj 8",
        "1968 kora cj 3",
    ]
    assert _strip(titles) == titles


def test_a_number_behind_the_make_is_the_model() -> None:
    titles = ["1967 sable marsh", "1968 sable marsh", "1969 sable marsh 142"]
    assert _strip(titles, ["Sable-Marsh"] * 3) == titles
    assert _strip(["1967 kora", "1968 kora", "1969 kora 8"]) == [
        "1967 kora",
        "1968 kora",
        "1969 kora 8",
    ]


def test_a_number_behind_a_single_letter_belongs_to_it() -> None:
    titles = ["1967 kora f", "1968 kora f", "1969 kora f 150"]
    assert _strip(titles) == titles


def test_a_number_far_above_the_count_of_such_titles_is_no_counter() -> None:
    titles = [*PLAIN[:3], "1966 kora gt 400"]
    assert _strip(titles) == titles
    assert _strip([*PLAIN[:3], "1966 kora gt 80"])[-1] == "1966 kora gt 80"


def test_a_number_without_the_bare_title_stays() -> None:
    titles = ["1967 kora mx 5", "1968 kora gt"]
    assert _strip(titles) == titles
    assert strip_counters([]) == ([], 0)
