from __future__ import annotations

import pytest

from valuation.reading.engine import (
    Engine,
    engine_words,
    find_engine,
    read_engine,
    read_layout,
    settle_size_unit,
)


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("454ci", 7.44),
        ("454 cu in", 7.44),
        ("454 cid V8", 7.44),
        ("454 cubic inch", 7.44),
        ("1964 289ci V8", 4.74),
        ("L84 327ci V8", 5.36),
        ("7.4L", 7.4),
        ("7,4", 7.4),
        ("7,4 l", 7.4),
        ("1,500cc", 1.5),
        ("1.500 ccm", 1.5),
        ("1500 cm3", 1.5),
        ("3.0-Liter", 3.0),
        ("2.3 litre", 2.3),
        ("3.9L 8-Cylinder Turbo Gas Engine", 3.9),
        ("999", 0.999),
        ("0.999", 0.999),
        ("2300", 2.3),
        ("1498", 1.498),
        ("<1.0L", 1.0),
        (">4.0L", 4.0),
        ("2", 2.0),
        ("0", None),
        ("0.0", None),
        ("V8", None),
        ("£145", None),
        ("", None),
    ],
)
def test_sizes(text: str, size: float | None) -> None:
    read = read_engine(text).size
    assert read == (None if size is None else pytest.approx(size, abs=0.005))


def test_the_unit_of_a_column_decides_on_bare_numbers() -> None:
    assert settle_size_unit(["350", "454", "302"]) == "ci"
    assert settle_size_unit(["1300", "1600", "350"]) == "cc"
    assert settle_size_unit(["1.3", "2,0", "98ci", "999"]) == "litres"
    assert settle_size_unit([]) == "litres"
    assert read_engine("350", "ci").size == pytest.approx(5.735, abs=0.001)
    assert read_engine("350", "cc").size == pytest.approx(0.35)


@pytest.mark.parametrize(
    ("text", "layout"),
    [
        ("4.0-Liter V8", "V8"),
        ("V-12", "V12"),
        ("v6", "V6"),
        ("2.8 VR6", "VR6"),
        ("6.0 W12", "W12"),
        ("3.2-Liter Inline-Six", "inline-6"),
        ("Straight-Eight", "inline-8"),
        ("Reihen-6", "inline-6"),
        ("6 en ligne", ""),
        ("I6", "inline-6"),
        ("3.6L Flat-Six", "flat-6"),
        ("boxer 4", "flat-4"),
        ("H4", "flat-4"),
        ("1.3 Rotary", "rotary"),
        ("2-rotor", "rotary"),
        ("8-Cylinder", "8-cylinder"),
        ("4 cyl", "4-cylinder"),
        ("4 cylindres", "4-cylinder"),
        ("Twin-Cam Four", "4-cylinder"),
        ("engine", ""),
    ],
)
def test_layouts(text: str, layout: str) -> None:
    assert read_engine(text).layout == layout


@pytest.mark.parametrize(
    ("text", "aspiration"),
    [
        ("Turbocharged 2.0L", "turbocharged"),
        ("Twin-Turbo V8", "turbocharged"),
        ("2.5 Turbodiesel", "turbocharged"),
        ("Supercharged V6", "supercharged"),
        ("2.3 Kompressor", "supercharged"),
        ("Naturally-Aspirated V8", "natural"),
        ("V8", ""),
    ],
)
def test_aspiration(text: str, aspiration: str) -> None:
    assert read_engine(text).aspiration == aspiration


def test_a_cell_of_layout_alone() -> None:
    assert read_layout("flat-4") == "flat-4"
    assert read_layout("6") == "6-cylinder"
    assert read_layout("0") is None
    assert read_layout("n/a") is None
    assert read_layout("Swash  plate") == "Swash plate"


def test_in_a_heading_a_size_needs_its_unit() -> None:
    assert find_engine("1967 Kora R5 3.5") == Engine()
    assert find_engine("1967 Kora 454ci V8").size == pytest.approx(7.44, abs=0.01)
    assert find_engine("1967 Kora 2.6-Litre").size == 2.6


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('Rebuilt 340ci "Six Pack" V8', ("rebuilt", "six", "pack")),
        ('Rebuilt 340ci "Six-Pack" V8', ("rebuilt", "six-pack")),
        ("Numbers-Matching 3.2-Liter S52 Inline-Six", ("numbers-matching", "s52")),
        ("3.6L Flat-Six", ()),
        ("6.0L W12", ()),
        ("Single-Cylinder", ()),
        ("1.3 Rotary", ()),
        ("1,275cc Inline-Four", ()),
        ("Turbocharged 2.0L DOHC Inline-Four", ("dohc",)),
        ("V8 with Holley carb", ("holley", "carb")),
        ("", ()),
        ("n/a", ()),
    ],
)
def test_engine_words(text: str, words: tuple[str, ...]) -> None:
    read = engine_words(text)
    assert read == words if "six" not in words else set(words) - {"six"} <= set(read)
