"""A stock ledger as people keep it: either form, several languages, exact amounts, all faults."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from valuation.errors import LedgerFileError
from valuation.importing.ledger import LedgerFile, read_ledger, read_ledger_data
from valuation.importing.ledger_template import COLUMNS, write_ledger_template

TODAY = date(2025, 1, 1)

WIDE = """Stock No;Chassis;Make;Model;Year;Bought date;Hammer price;Bought from;Bought channel;\
Bought venue;Lot;Transport;Paint;Paint date;Listed;Asking price;Asking price 2;\
Asking price 2 date;Withdrawn;Sold date;Sold price;Sold channel;Sold to;Margin
H-101;TR4-1180;Torvane;GT;1968;14.03.2024;31.500,00;auction;live auction;Harbour Rooms;112;\
450,00;2.300,25;20.04.2024;01.05.2024;44.900;42.500;01.07.2024;;15.08.2024;41.250,00;showroom;\
private;7.000
H-102;OM74-1213;Ombrecq;Cigalin;1974;02.04.2024;9.000;H. Marrow;private;;;300;;;;;;;;;;;;
H-103;;Ombrecq;;;;;;;;;;;;;;;;;;;;;
H-104;TA-1234;Tarquelle;Brumaia;1959;02.06.2024;20.000;;;;;;;;;;;;;01.06.2024;25.000;;;
"""


def read(text: str, currency: str = "EUR") -> LedgerFile:
    return read_ledger_data("ledger.csv", text.encode(), today=TODAY, currency=currency)


def events(found: LedgerFile, stock: str) -> list[tuple[object, ...]]:
    return [(e.event, e.on, e.amount) for m, e in found.entries if m.stock == stock]


def codes(found: LedgerFile) -> dict[int, list[str]]:
    return {row.row: [f.code for f in row.faults] for row in found.set_aside}


def test_a_row_a_car_becomes_its_events() -> None:
    found = read(WIDE)
    assert found.form == "car"
    assert events(found, "H-101") == [
        ("bought", date(2024, 3, 14), Decimal("31500.00")),
        ("spent", None, Decimal("450.00")),
        ("spent", date(2024, 4, 20), Decimal("2300.25")),
        ("listed", date(2024, 5, 1), None),
        ("asking price", date(2024, 5, 1), Decimal("44900.00")),
        ("asking price", date(2024, 7, 1), Decimal("42500.00")),
        ("sold", date(2024, 8, 15), Decimal("41250.00")),
    ]
    bought, transport = found.entries[0][1], found.entries[1][1]
    assert (bought.basis, bought.channel, bought.venue, bought.lot, bought.party) == (
        "hammer price",
        "live auction",
        "Harbour Rooms",
        "112",
        "auction house",
    )
    assert (transport.what, transport.part) == ("transport", "work")
    assert found.entries[6][1].party == "private"


def test_bad_rows_are_set_aside_with_every_reason_and_no_row_is_lost() -> None:
    found = read(WIDE)
    assert codes(found) == {4: ["nothing happened"], 5: ["sold before bought"]}
    assert found.rows == 4 == found.accepted + len(found.set_aside)


def test_a_name_of_a_person_is_kept_nowhere() -> None:
    found = read(WIDE + "H-105;;;;;02.04.2024;much;Ida Marrow;;;;;;;;;;;;;;;Bo Marrow;\n")
    assert "unreadable amount" in codes(found)[6]
    assert "Marrow" not in repr(found)
    assert any("name no kind" in n and n.endswith(": 1.") for n in found.notes)


EVENT_FORMS = {
    "German": """Datum;Fahrzeug;Vorgang;Betrag;Bemerkung;Partner
14.03.2024;H-101;Ankauf;31.500,00 €;;Auktion
20.03.2024;H-101;Kosten;450,00 €;Transport;
01.05.2024;H-101;inseriert;;;
01.05.2024;H-101;Angebotspreis;44.900 €;;
01.07.2024;H-101;Preissenkung;42.500 €;;
15.08.2024;H-101;Verkauf;41.250,00 €;für Frau Ilse Marrow;privat
""",
    "French": """Prix;Événement;Numéro de stock;Date;Objet
31 500,00 €;Achat;H-101;14/03/2024;
450,00 €;Frais;H-101;20/03/2024;transport
;Annonce;H-101;01/05/2024;
44 900 €;Prix demandé;H-101;01/05/2024;
42 500 €;Baisse de prix;H-101;01/07/2024;
41 250,00 €;Vendu;H-101;15/08/2024;
""",
    "Spanish": """fecha,numero de stock,operacion,importe,concepto
2024-03-14,H-101,compra,31500,
2024-03-20,H-101,gasto,450,transporte
2024-05-01,H-101,publicado,,
2024-05-01,H-101,precio pedido,44900,
2024-07-01,H-101,rebaja,42500,
2024-08-15,H-101,venta,41250,
""",
    "Polish": """Data;Numer magazynowy;Zdarzenie;Kwota;Opis
14.03.2024;H-101;Zakup;31 500,00 EUR;
20.03.2024;H-101;Koszt;450,00 EUR;transport
01.05.2024;H-101;Wystawiono;;
01.05.2024;H-101;Cena ofertowa;44 900 EUR;
01.07.2024;H-101;Obniżka;42 500 EUR;
15.08.2024;H-101;Sprzedaż;41 250,00 EUR;
""",
    "Dutch": """Datum;Voorraadnummer;Gebeurtenis;Bedrag;Omschrijving
14-03-2024;H-101;Aankoop;€ 31.500,00;
20-03-2024;H-101;Kosten;€ 450,00;transport
01-05-2024;H-101;Te koop gezet;;
01-05-2024;H-101;Vraagprijs;€ 44.900;
01-07-2024;H-101;Prijsverlaging;€ 42.500;
15-08-2024;H-101;Verkoop;€ 41.250,00;
""",
    "English with signs": """car,amount,what,event,date
H-101,"-31,500.00",,purchase,2024-03-14
H-101,-450.00,transport,expense,2024-03-20
H-101,,,advertised,2024-05-01
H-101,"44,900",,asking price,2024-05-01
H-101,"42,500",,price reduced,2024-07-01
H-101,"41,250.00",,sale,2024-08-15
""",
}


@pytest.mark.parametrize("language", EVENT_FORMS)
def test_a_row_an_event_reads_the_same_in_any_language(language: str) -> None:
    found = read(EVENT_FORMS[language])
    assert found.form == "event"
    assert not found.set_aside
    assert events(found, "H-101") == [
        ("bought", date(2024, 3, 14), Decimal("31500.00")),
        ("spent", date(2024, 3, 20), Decimal("450.00")),
        ("listed", date(2024, 5, 1), None),
        ("asking price", date(2024, 5, 1), Decimal("44900.00")),
        ("asking price", date(2024, 7, 1), Decimal("42500.00")),
        ("sold", date(2024, 8, 15), Decimal("41250.00")),
    ]
    assert {e.currency for _, e in found.entries if e.amount is not None} == {"EUR"}
    assert "Marrow" not in repr(found)


def test_a_wide_ledger_in_german_has_compound_names() -> None:
    found = read(
        "Bestandsnummer;Fahrgestellnummer;Marke;Modell;Baujahr;Ankaufsdatum;Ankaufspreis;"
        "Verkaufsdatum;Verkaufspreis;Gewinn\n"
        "7;TR4-1180;Torvane;GT;1968;14.03.2024;31.500,00 €;15.08.2024;41.250,00 €;9.750,00 €\n"
    )
    assert events(found, "7") == [
        ("bought", date(2024, 3, 14), Decimal("31500.00")),
        ("sold", date(2024, 8, 15), Decimal("41250.00")),
    ]
    (mark, _), _ = found.entries
    assert (mark.chassis, mark.make, mark.year) == ("TR4-1180", "Torvane", 1968)


def test_all_faults_of_a_row_come_at_once() -> None:
    found = read(
        "date,stock,event,amount\n"
        "never,,bought,much\n"
        "2024-03-14,H-1,exploded,5\n"
        "2026-03-14,H-1,bought,5\n"
        "2024-03-14,H-1,bought,-5\n"
        "2024-03-14,H-1,sold,5.1255\n"
        "2024-03-14,H-1,spent,20\n"
        "2024-03-14,H-1,spent,20\n"
        ",H-1,bought,\n"
    )
    assert codes(found) == {
        2: ["no car", "unreadable date", "unreadable amount"],
        3: ["unknown event"],
        4: ["day to come"],
        5: ["amount below zero"],
        6: ["not to the cent"],
        8: ["duplicate"],
        9: ["no date", "no amount"],
    }
    assert all(f.remedy for row in found.set_aside for f in row.faults)


def test_what_came_back_is_money_spent_below_zero() -> None:
    found = read(
        "date,stock,event,amount,what\n2024-03-14,H-1,bought,500,\n2024-03-15,H-1,spent,-20,parts\n"
    )
    assert [e.amount for _, e in found.entries] == [Decimal(500), Decimal(-20)]


def test_a_cell_may_name_its_own_currency_and_not_two() -> None:
    found = read(
        "date,stock,event,amount,currency\n"
        "2024-03-14,H-1,bought,500 GBP,\n"
        "2024-03-15,H-1,spent,20,USD\n"
        "2024-03-16,H-1,spent,20 GBP,USD\n"
        "2024-03-17,H-1,spent,30,\n"
    )
    assert [e.currency for _, e in found.entries] == ["GBP", "USD", "EUR"]
    assert codes(found) == {4: ["two currencies"]}


def test_a_currency_nobody_states_is_said_aloud() -> None:
    found = read("date,stock,event,amount\n2024-03-14,H-1,bought,500\n", currency="")
    assert found.currency == "XXX"
    assert any("no currency is stated" in n for n in found.notes)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("a,b\n1,2\n", "no columns of a stock ledger are found"),
        ("", "it is empty"),
    ],
)
def test_what_is_no_ledger_is_refused_with_a_remedy(text: str, problem: str) -> None:
    with pytest.raises(LedgerFileError, match=problem) as caught:
        read(text)
    assert caught.value.remedy


def test_an_unknown_currency_is_refused() -> None:
    with pytest.raises(LedgerFileError, match=r"no known currency \(got: ABC\)"):
        read("date,stock,event,amount\n2024-03-14,H-1,bought,500\n", currency="ABC")


def test_the_template_is_read_as_it_is_filled(tmp_path: Path) -> None:
    path = tmp_path / "ledger.xlsx"
    write_ledger_template(path)
    book = openpyxl.load_workbook(path)
    names = [c[0] for c in COLUMNS]
    row = {
        "date": date(2024, 3, 14), "stock": "H-1", "event": "bought", "amount": 31500.5,
        "currency": "EUR", "basis": "hammer price", "from or to": "estate", "lot": 112,
        "channel": "live auction", "venue": "Harbour Rooms", "chassis": "TR4-1180",
        "make": "Torvane", "model": "GT", "year": 1967,
    }  # fmt: skip
    book["Ledger"].append([row.get(n) for n in names])
    book.save(path)
    ((mark, event),) = read_ledger(path, today=TODAY).entries
    assert (mark.name, mark.chassis) == ("1967 Torvane GT", "TR4-1180")
    assert (event.amount, event.basis, event.party, event.lot) == (
        Decimal("31500.50"),
        "hammer price",
        "estate",
        "112",
    )


def test_the_template_is_a_workbook_with_the_same_bytes_each_time(tmp_path: Path) -> None:
    one, other = tmp_path / "a.xlsx", tmp_path / "b.xlsx"
    write_ledger_template(one)
    write_ledger_template(other)
    assert one.read_bytes() == other.read_bytes()
    with pytest.raises(LedgerFileError, match="is a workbook"):
        write_ledger_template(tmp_path / "ledger.csv")


@given(cents=st.integers(min_value=1, max_value=99_999_999_999))
def test_every_amount_comes_out_to_the_cent(cents: int) -> None:
    amount = Decimal(cents) / 100
    found = read(f"date,stock,event,amount\n2024-03-14,H-1,bought,{amount:.2f}\n")
    assert [e.amount for _, e in found.entries] == [amount]


@given(cents=st.integers(min_value=1, max_value=99_999_999_999))
def test_amounts_with_a_comma_come_out_to_the_cent(cents: int) -> None:
    amount = Decimal(cents) / 100
    written = f"{amount:,.2f}".translate(str.maketrans(",.", ".,"))
    found = read(f"date;stock;event;amount\n2024-03-14;H-1;bought;{written}\n")
    assert [e.amount for _, e in found.entries] == [amount]


WIDE_NAMES = {
    "English": "Stock number;Date bought;Bought for;Date sold;Sold for (EUR)",
    "German": "Lagernr.;Gekauft am;Kaufpreis;Verkauft am;Verkaufspreis",
    "French": "Numéro de stock;Date d'achat;Prix d'achat;Date de vente;Prix de vente",
    "Spanish": "Inventario;Fecha de compra;Precio de compra;Fecha de venta;Precio de venta",
    "Italian": "Inventario;Data di acquisto;Prezzo di acquisto;Data di vendita;Prezzo di vendita",
    "Dutch": "Voorraadnummer;Aankoopdatum;Aankoopprijs;Verkoopdatum;Verkoopprijs",
    "Polish": "Numer magazynowy;Data zakupu;Cena zakupu;Data sprzedaży;Cena sprzedaży",
    "Portuguese": "Número de estoque;Data da compra;Preço de compra;Data da venda;Preço de venda",
    "Swedish": "Lagernr;Inköpsdatum;Inköpspris;Försäljningsdatum;Försäljningspris",
}


@pytest.mark.parametrize("language", WIDE_NAMES)
def test_a_row_a_car_is_read_under_names_of_many_languages(language: str) -> None:
    found = read(f"{WIDE_NAMES[language]}\nH-1;2024-03-14;31500;2024-08-15;41250\n")
    assert not found.set_aside
    assert events(found, "H-1") == [
        ("bought", date(2024, 3, 14), Decimal(31500)),
        ("sold", date(2024, 8, 15), Decimal(41250)),
    ]


@pytest.mark.parametrize(
    "other",
    [
        "Target sale price",
        "Sale invoice no",
        "Mileage when bought",
        "VAT on sale",
        "Total cost",
        "Profit on sale",
        "Days to sell",
        "Status",
    ],
)
def test_a_column_of_another_thing_is_named_and_not_read(other: str) -> None:
    value = "sold" if other == "Status" else "39000"
    found = read(
        f"Stock;{other};Bought date;Bought price;Sold date;Sold price\n"
        f"H-1;{value};2024-03-14;31500;2024-08-15;41250\n"
        "H-2;listed;2024-03-14;31500;;\n"
    )
    assert found.form == "car"
    assert [e.amount for m, e in found.entries if m.stock == "H-1"] == [
        Decimal(31500),
        Decimal(41250),
    ]
    assert f"ledger.csv: columns that are not read: {other}." in found.notes
