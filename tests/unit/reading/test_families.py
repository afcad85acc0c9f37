from __future__ import annotations

import pytest

from valuation.reading.families import read_body, read_colour, read_fuel


@pytest.mark.parametrize(
    ("text", "colour"),
    [
        ("Red", "red"),
        ("rot", "red"),
        ("Rouge vif", "red"),
        ("Rosso", "red"),
        ("Czarny", "black"),
        ("Bordowy", "burgundy"),
        ("Niebieski", "blue"),
        ("dunkelgrün", "green"),
        ("hellblau", "blue"),
        ("weiß", "white"),
        ("Midnight Blue Metallic", "blue"),
        ("Seal Gray", "grey"),
        ("Racing Green", "green"),
        ("Red/Black", "red"),
        ("black over tan", "black"),
        ("White Exterior", "white"),
        ("Black Leather Seats", "black"),
        ("off-white", "white"),
        ("Chalk", "chalk"),
        ("Dragonfly  Pearl", "dragonfly pearl"),
        ("Autre", None),
        ("Inny kolor", None),
        ("N/a", None),
        ("Or", "gold"),
        ("2 or 3 coats", "2 or 3 coats"),
    ],
)
def test_colours(text: str, colour: str | None) -> None:
    assert read_colour(text) == colour


@pytest.mark.parametrize(
    ("text", "body"),
    [
        ("Saloon", "sedan"),
        ("Berline", "sedan"),
        ("Sedan/Limuzyna", "sedan"),
        ("Coupé", "coupe"),
        ("Cabriolet", "convertible"),
        ("Drophead Coupe", "convertible"),
        ("Estate", "wagon"),
        ("Kombi", "wagon"),
        ("g sedan", "sedan"),
        ("e-series van", "van"),
        ("Window van", "van"),
        ("Suv", "off-road"),
        ("Schrägheck", "hatchback"),
        ("crew cab", "crew cab"),
        ("Other", None),
        ("", None),
    ],
)
def test_bodies(text: str, body: str | None) -> None:
    assert read_body(text) == body


@pytest.mark.parametrize(
    ("text", "fuel"),
    [
        ("Petrol", "petrol"),
        ("Gas", "petrol"),
        ("Benzyna", "petrol"),
        ("Essence", "petrol"),
        ("Diesel", "diesel"),
        ("Hybrid – petrol/elec", "hybrid"),
        ("Electric", "electric"),
        ("LPG", "gas"),
        ("Other", "other"),
        ("wood", "wood"),
        ("5", None),
        ("n/a", None),
    ],
)
def test_fuels(text: str, fuel: str | None) -> None:
    assert read_fuel(text) == fuel
