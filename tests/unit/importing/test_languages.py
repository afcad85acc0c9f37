"""Lists as they are kept in nine languages, each read without a map."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from valuation.importing.sales import propose_map, read_sales

Writer = Callable[..., Path]

LISTS: dict[str, list[tuple[str, str]]] = {
    "de": [
        ("Los", "1{i}"), ("Datum", "1{i}.06.2024"), ("Hersteller", "Kora"), ("Modell", "GT"),
        ("Baujahr", "1967"), ("Karosserieform", "Stufenheck"), ("Hubraum (ccm)", "2.600"),
        ("Getriebe", "Schaltgetriebe"), ("Laufleistung (km)", "48.280"), ("Farbe", "dunkelblau"),
        ("Fahrgestell-Nr.", "KO-{i}204"), ("Zuschlag", "41.{i}50,00"), ("Währung", "EUR"),
        ("Auktionshaus", "Hafen"),
    ],
    "fr": [
        ("N° lot", "1{i}"), ("Date de vente", "1{i}/06/2024"), ("Marque", "Kora"),
        ("Modèle", "GT"), ("Année", "1967"), ("Carrosserie", "Berline"), ("Cylindrée", "2,6 L"),
        ("Boîte de vitesses", "Manuelle"), ("Kilométrage", "48 280 km"), ("Couleur", "bleu nuit"),
        ("N° de châssis", "KO-{i}204"), ("Prix adjugé (€)", "41 {i}50"), ("Lieu", "Port"),
    ],
    "es": [
        ("Lote", "1{i}"), ("Fecha", "1{i} de junio de 2024"), ("Marca", "Kora"),
        ("Modelo", "GT"), ("Año", "1967"), ("Carrocería", "Berlina"), ("Cilindrada", "2.600 cc"),
        ("Cambio", "Manual de 4 velocidades"), ("Kilómetros", "48.280"), ("Color", "azul"),
        ("Bastidor", "KO-{i}204"), ("Precio de venta", "41.{i}50 €"),
    ],
    "it": [
        ("Lotto", "1{i}"), ("Data", "1{i} giugno 2024"), ("Marca", "Kora"), ("Modello", "GT"),
        ("Anno", "1967"), ("Carrozzeria", "Berlina"), ("Cilindrata", "2600"),
        ("Trasmissione", "Manuale"), ("Chilometri", "48.280"), ("Colore", "blu"),
        ("Telaio", "KO-{i}204"), ("Prezzo", "€ 41.{i}50,00"),
    ],
    "nl": [
        ("Kavel", "1{i}"), ("Veilingdatum", "1{i}-06-2024"), ("Merk", "Kora"), ("Model", "GT"),
        ("Bouwjaar", "1967"), ("Carrosserie", "Sedan"), ("Motorinhoud", "2.6"),
        ("Versnellingsbak", "Handgeschakeld"), ("Km-stand", "48.280"), ("Kleur", "donkerblauw"),
        ("Chassisnummer", "KO-{i}204"), ("Verkoopprijs", "€ 41.{i}50,-"),
    ],
    "pl": [
        ("Nr", "1{i}"), ("Data sprzedaży", "1{i}.06.2024"), ("Marka", "Kora"), ("Model", "GT"),
        ("Rok produkcji", "1967"), ("Nadwozie", "Limuzyna"), ("Pojemność", "2600 cm3"),
        ("Skrzynia biegów", "Manualna"), ("Przebieg", "48 280 km"), ("Kolor", "niebieski"),
        ("Nr nadwozia", "KO-{i}204"), ("Cena", "41 {i}50 EUR"),
    ],
    "pt": [
        ("Lote", "1{i}"), ("Data", "1{i}/06/2024"), ("Marca", "Kora"), ("Modelo", "GT"),
        ("Ano", "1967"), ("Carroçaria", "Sedan"), ("Cilindrada", "2600 cc"), ("Caixa", "Manual"),
        ("Quilómetros", "48.280"), ("Cor", "azul"), ("Preço", "41.{i}50 €"),
        ("Chassis", "KO-{i}204"),
    ],
    "sv": [
        ("Objektnr", "1{i}"), ("Försäljningsdatum", "2024-06-1{i}"), ("Märke", "Kora"),
        ("Modell", "GT"), ("Årsmodell", "1967"), ("Kaross", "Sedan"), ("Motor", "2,6 L"),
        ("Växellåda", "Manuell"), ("Mätarställning", "48280"), ("Färg", "blå"),
        ("Pris (EUR)", "41 {i}50"), ("Chassinummer", "KO-{i}204"),
    ],
    "en": [
        ("Lot #", "1{i}"), ("Sale Date", "6/1{i}/24"), ("Year", "1967"), ("Make", "Kora"),
        ("Model", "GT"), ("Body style", "Saloon"), ("Engine", "2.6L I6"), ("Trans", "M/T"),
        ("Odometer", "30k"), ("Ext. Color", "Navy Blue"), ("VIN/Chassis", "KO-{i}204"),
        ("Sold Price", "€41,{i}50"), ("Status", "Sold"),
    ],
}  # fmt: skip


@pytest.mark.parametrize("language", list(LISTS))
def test_every_column_is_understood(write_csv: Writer, language: str) -> None:
    header = [name for name, _ in LISTS[language]]
    rows = [[cell.format(i=i) for _, cell in LISTS[language]] for i in range(3, 9)]
    path = write_csv(header, rows)
    used = {c for u in propose_map(path).uses for c in u.columns}
    assert set(header) == used
    book = read_sales(path)
    assert (len(book), book.set_aside, book.currency, book.dated) == (6, (), "EUR", True)
    first = book.table.iloc[0]
    assert first["sale_id"] == "13"
    assert first["sale_date"] == datetime(2024, 6, 13)  # noqa: DTZ001
    assert (first["make"], first["model"], first["year"]) == ("Kora", "GT", 1967.0)
    assert (first["body"], first["colour"]) == ("sedan", "blue")
    assert (first["engine_size"], first["transmission"]) == (2.6, "manual")
    assert first["mileage"] == pytest.approx(30_000, abs=1)
    assert first["chassis"] == "KO-3204"
    assert first["price"] == 41_350.0
