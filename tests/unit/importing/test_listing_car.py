"""The car that an advert speaks of."""

from __future__ import annotations

from pathlib import Path

import pytest

from valuation.errors import ListingError
from valuation.importing.listing_car import car_of_listing, read_listing_text

MAKES = {"Torvane": ("GT", "Corsair")}


@pytest.mark.parametrize(
    ("text", "title", "description"),
    [
        ("1968 Torvane GT\nBills on file.", "1968 Torvane GT", "Bills on file."),
        ("1968 Torvane GT. Bills on file.", "1968 Torvane GT.", "Bills on file."),
        ("1968 Torvane GT 3.2 coupe", "1968 Torvane GT 3.2 coupe", ""),
        ("1968 Torvane GT" + " very" * 30, "1968 Torvane GT" + " very" * 20, "very" + " very" * 9),
        ("1968 Torvane GT" + "y" * 200, "1968 Torvane", "GT" + "y" * 200),
    ],
)  # fmt: skip
def test_its_heading_is_the_first_line_or_the_first_sentence(
    text: str, title: str, description: str
) -> None:
    car = car_of_listing(text, known_makes=MAKES)
    assert (car.title, car.description) == (title, description)
    assert car.values["year"] == 1968
    assert car.values["make"] == "Torvane"


def test_what_its_words_state_is_known_of_the_car() -> None:
    car = car_of_listing("1968 Torvane GT, matching numbers. Bills on file.", known_makes=MAKES)
    assert car.values["engine_originality"] == "numbers-matching"
    assert car.values["documents"] == ("bills",)
    assert "condition_grade" not in car.values


def test_a_file_that_is_empty_or_no_text_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "advert.txt"
    path.write_text("  \n", encoding="utf-8")
    with pytest.raises(ListingError, match=r"advert\.txt: it is empty"):
        read_listing_text(path)
    path.write_bytes(b"\xff\xfe\xff\x00")
    with pytest.raises(ListingError, match=r"advert\.txt: it can't be read"):
        read_listing_text(path)
    path.write_text("\ufeff1968 Torvane GT\n", encoding="utf-8")
    assert read_listing_text(path) == "1968 Torvane GT"
