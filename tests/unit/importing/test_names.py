from __future__ import annotations

import pytest

from valuation.importing.names import base_name, basis_of_name, match_name, unit_of_name
from valuation.schema import ATTRIBUTES, SALE_FIELDS


@pytest.mark.parametrize("name", [e.name for e in (*SALE_FIELDS, *ATTRIBUTES)])
def test_the_contracts_own_names_mean_themselves(name: str) -> None:
    best = match_name(name)[0]
    assert (best.target, best.score) == (name, 4.0)


@pytest.mark.parametrize("entry", [*SALE_FIELDS, *ATTRIBUTES])
def test_the_contracts_labels_mean_themselves(entry: object) -> None:
    targets = [m.target for m in match_name(entry.label)]
    assert entry.name in targets


@pytest.mark.parametrize(
    ("name", "target"),
    [
        ("Hammer price", "price"),
        ("Verkaufspreis", "price"),
        ("Prix de vente", "price"),
        ("Precio", "price"),
        ("Prezzo", "price"),
        ("Vraagprijs", "price"),
        ("Cena", "price"),
        ("Preço", "price"),
        ("Pris", "price"),
        ("sellingprice", "price"),
        ("Price (EUR)", "price"),
        ("High bid", "highest bid"),
        ("saledate", "sale_date"),
        ("Datum", "sale_date"),
        ("Fecha de venta", "sale_date"),
        ("Baujahr", "year"),
        ("Rok_produkcji", "year"),
        ("Année", "year"),
        ("Bouwjaar", "year"),
        ("Årsmodell", "year"),
        ("Marque_voiture", "make"),
        ("Marka", "make"),
        ("Merk", "make"),
        ("Modele", "model"),
        ("Przebieg", "mileage"),
        ("Kilometerstand", "mileage"),
        ("odometer", "mileage"),
        ("mileage2", "mileage"),
        ("Skrzynia_biegów", "transmission"),
        ("TypeBoite", "transmission"),
        ("Cambio", "transmission"),
        ("Växellåda", "transmission"),
        ("EngineV", "engine_size"),
        ("Hubraum", "engine_size"),
        ("Pojemność_skokowa", "engine_size"),
        ("Rodzaj_paliwa", "fuel"),
        ("ext_color", "colour"),
        ("Farbe", "colour"),
        ("int_color", "interior_colour"),
        ("body_style", "body"),
        ("Karosserie", "body"),
        ("vin", "chassis"),
        ("Fahrgestellnummer", "chassis"),
        ("trim", "variant"),
        ("state", "region"),
        ("Zustandsnote", "condition_grade"),
        ("mpg", "fuel_economy"),
        ("tax", "annual_tax"),
        ("Puissance", "power"),
        ("lot no.", "sale_id"),
        ("make and model", "title"),
    ],
)
def test_names_people_use(name: str, target: str) -> None:
    assert match_name(name)[0].target == target


@pytest.mark.parametrize(
    "name",
    ["Liczba_drzwi", "Door_count", "low estimate price", "CO2", "Matowy", "xyz", "", "no specs"],
)
def test_names_that_mean_nothing_here(name: str) -> None:
    assert [m for m in match_name(name) if m.score >= 2.5] == []


@pytest.mark.parametrize(
    ("target", "name", "unit"),
    [
        ("mileage", "Mileage (km)", "km"),
        ("mileage", "Laufleistung", "km"),
        ("mileage", "Miles", "miles"),
        ("mileage", "Mileage", ""),
        ("engine_size", "Displacement cc", "cc"),
        ("engine_size", "Engine (l)", "litres"),
        ("power", "Power kW", "kw"),
        ("price", "Price km", ""),
    ],
)
def test_units(target: str, name: str, unit: str) -> None:
    assert unit_of_name(target, name) == unit


@pytest.mark.parametrize(
    ("name", "position"),
    [
        ("Hammer price", 0),
        ("Zuschlag", 0),
        ("Price incl. premium", 1),
        ("Asking price", 2),
        ("Price paid", 3),
        ("Price", None),
    ],
)
def test_bases(name: str, position: int | None) -> None:
    assert basis_of_name(name) == position


def test_base_name() -> None:
    assert base_name("fuel type2") == "fuel type"
    assert base_name("Fuel_Type (2)") == "fuel type"
    assert base_name("2") == "2"
