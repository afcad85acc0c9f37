"""Catalogues in several languages, each read without a map."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from valuation.importing.lots import read_lots

Writer = Callable[..., Path]
MAKES = {"Torvane": ("GT",)}

LISTS: dict[str, Sequence[tuple[str, str]]] = {
    "de": [
        ("Los-Nr.", "1{i}"), ("Auktionstag", "Freitag, 14. März 2025"), ("Hersteller", "Torvane"),
        ("Modell", "GT"), ("Baujahr", "196{i}"), ("Karosserieform", "Cabriolet"),
        ("Getriebe", "Schaltgetriebe"), ("Laufleistung (km)", "48.280"),
        ("Fahrgestell-Nr.", "TO-{i}204"), ("Schätzpreis von", "4{i}.000,00 €"),
        ("Schätzpreis bis", "5{i}.000,00 €"), ("Mindestpreis", "ohne Limit"),
        ("Notizen", "Lack ansehen"),
    ],
    "fr": [
        ("N° lot", "1{i}"), ("Jour", "vendredi 14 mars 2025"), ("Marque", "Torvane"),
        ("Modèle", "GT"), ("Année", "196{i}"), ("Carrosserie", "Cabriolet"),
        ("Boîte de vitesses", "Manuelle"), ("Kilométrage", "48 280 km"),
        ("N° de châssis", "TO-{i}204"), ("Estimation basse", "4{i} 000 €"),
        ("Estimation haute", "5{i} 000 €"), ("Prix de réserve", "sans réserve"),
        ("Mes notes", "voir la peinture"),
    ],
    "it": [
        ("Lotto", "1{i}"), ("Giorno", "venerdì 14 marzo 2025"), ("Marca", "Torvane"),
        ("Modello", "GT"), ("Anno", "196{i}"), ("Carrozzeria", "Cabriolet"),
        ("Trasmissione", "Manuale"), ("Chilometri", "48.280"), ("Telaio", "TO-{i}204"),
        ("Stima", "€ 4{i}.000 - 5{i}.000"), ("Riserva", "senza riserva"),
        ("Appunti", "vedere la vernice"),
    ],
    "en, tabs": [
        ("Run no", "1{i}"), ("Session", "Friday 14 March 2025"), ("Marque", "Torvane"),
        ("Model", "GT"), ("MY", "196{i}"), ("Body style", "Convertible"),
        ("Trans", "M/T"), ("Odometer", "48,280 km"), ("Serial no", "TO-{i}204"),
        ("Est", "EUR 4{i}-5{i}k"), ("Reserve", "none"), ("Our notes", "see the paint"),
    ],
}  # fmt: skip


@pytest.mark.parametrize("language", LISTS)
def test_lists_in_several_languages(language: str, write_csv: Writer) -> None:
    columns = LISTS[language]
    rows = [[cell.format(i=i) for _, cell in columns] for i in range(1, 9)]
    sign = "\t" if "tabs" in language else ";"
    path = write_csv([n for n, _ in columns], rows, "lots.tsv", delimiter=sign)
    read = read_lots(path, known_makes=MAKES)
    assert (len(read), read.currency, read.rows) == (8, "EUR", 8)
    lot = read.lots[2]
    assert (lot.number, lot.sale_date) == ("13", date(2025, 3, 14))
    assert (lot.estimate_low, lot.estimate_high) == (Decimal(43_000), Decimal(53_000))
    assert (lot.reserve_kind, bool(lot.notes), lot.remarks) == ("none", True, ())
    values = dict(lot.car.values)
    assert (values["year"], values["make"], values["model"]) == (1963.0, "Torvane", "GT")
    assert (values["body"], values["transmission"]) == ("convertible", "manual")
    assert values["mileage"] == pytest.approx(30_000, abs=1)
    assert lot.car.chassis == "TO-3204"


def test_a_list_of_models_of_one_unnamed_make(write_csv: Writer) -> None:
    path = write_csv(("Lot", "Model", "Year"), [[i, "GT", 1960 + i] for i in range(4)], "l.csv")
    read = read_lots(path, known_makes={"unnamed make": ("GT",)})
    assert [x.car.values["make"] for x in read.lots] == ["unnamed make"] * 4
    assert "no column names the make" in read.notes[0]
