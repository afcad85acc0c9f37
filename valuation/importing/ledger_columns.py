"""Which column of a stock ledger is which: one row a car, or one row an event."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from valuation.importing.content import Column
from valuation.importing.ledger_words import EVENT_WORDS, names_cost, read_event
from valuation.importing.names import match_name
from valuation.importing.raw import RawTable
from valuation.reading.dates import read_dates
from valuation.reading.money import CURRENCIES, read_money
from valuation.reading.text import name_words, word_set

__all__ = ["CAR_FIELDS", "Place", "Places", "find_places"]

CAR_FIELDS = ("stock", "chassis", "make", "model", "year", "title")
"""By what a car is known."""

_ENOUGH = 0.6

# One line a field: what a column of its own is called.
_NAMES = """
stock: stock, stock no, stock nr, stock number, stock id, stock ref, inventory, inventory no, inventory number, lager nr, lagernummer, bestand, bestandsnummer, fahrzeugnummer, interne nr, interne nummer, numero de stock, numero stock, no stock, numero de inventario, numero interno, inventario, numero inventario, numero di magazzino, voorraadnummer, voorraad nr, intern nummer, numer magazynowy, nr magazynowy, numer wewnetrzny, numero de estoque, lagernr, id, no, nr, ref, number, numero
event: event, what happened, entry, entry type, transaction, transaction type, kind, movement, vorgang, ereignis, buchung, art, buchungsart, evenement, operation, mouvement, type d operation, evento, operacion, movimiento, tipo, operazione, movimento, gebeurtenis, soort, boeking, mutatie, zdarzenie, operacja, rodzaj, operacao, handelse, typ, type
date: date, day, on, datum, tag, jour, fecha, dia, data, giorno, dag, dzien
amount: amount, price, sum, value, betrag, preis, wert, montant, prix, somme, importe, precio, valor, importo, prezzo, valore, bedrag, prijs, kwota, cena, wartosc, montante, preco, belopp, pris
what: what, what for, details, detail, text, description, note, notes, remark, remarks, comment, purpose, wofur, zweck, bemerkung, beschreibung, notiz, objet, libelle, concepto, descripcion, nota, causale, descrizione, omschrijving, opmerking, opis, uwagi, descricao, beskrivning, anteckning
party: from, to, from to, to from, seller, buyer, vendor, kind of seller, kind of buyer, counterparty, party, seller type, buyer type, seller kind, buyer kind, von, an, verkaufer, kaufer, partner, vendeur, acheteur, vendedor, comprador, venditore, acquirente, verkoper, koper, sprzedawca, sprzedajacy, kupujacy, nabywca, saljare, kopare, customer, kunde, client, cliente, klant, klient
basis: basis, price basis, preisart, base, base prijs, podstawa
part: part, part of account, kind of cost, cost type, kostenart
lot: lot, lot no, lot number, lot nr, los, losnummer, numero de lot, lote, lotto, kavel, kavelnummer
channel: channel, kanal, canal, canale, kanaal, way, weg
venue: venue, house, auction house, auctioneer, saleroom, auktionshaus, maison de vente, casa de subastas, casa d aste, veilinghuis, dom aukcyjny, at, place
currency: currency, ccy, wahrung, waehrung, devise, moneda, moneta, valuta, waluta, moeda
car: car, vehicle, fahrzeug, auto, wagen, voiture, vehicule, coche, vehiculo, vettura, veicolo, wagen, voertuig, samochod, pojazd, carro, veiculo, bil
"""  # noqa: E501

_COMPOUND = re.compile(
    r"(verkauf|ankauf|einkauf|kauf|angebot|inserat|verkoop|aankoop|inkoop|forsaljning|inkop|kop|"
    r"annons|utgift|kosten)s?"
    r"(datum|tag|preis|betrag|kanal|ort|wahrung|prijs|bedrag|kanaal|pris|belopp|dag)"
)
_WHOLE = {
    "angebotspreis": ("asking price", "amount"),
    "utgangspris": ("asking price", "amount"),
    "vraagprijs": ("asking price", "amount"),
    "einstandspreis": ("bought", "amount"),
}
_FIELD_OF_WORD = {
    word: field
    for field, words in {
        "date": "date day on am le datum tag jour fecha dia data giorno dag dzien when",
        "party": "from to by seller buyer vendor kind type von an de a da di van aan od do till",
        "currency": "currency ccy wahrung devise moneda moneta valuta waluta moeda",
        "channel": "channel via through how kanal canal canale kanaal",
        "venue": "venue at house where place ort lieu lugar luogo plaats gdzie local",
        "basis": "basis preisart",
        "lot": "lot los lote lotto kavel",
        "what": "what for details note wofur objet concepto causale waarvoor",
        "amount": (
            "price amount sum value paid betrag preis wert montant prix somme importe precio "
            "valor importo prezzo bedrag prijs kwota cena montante preco belopp pris"
        ),
    }.items()
    for word in words.split()
}
_ORDER = ("date", "currency", "basis", "amount", "channel", "venue", "lot", "party", "what")
_FIGURED_OUT = word_set(
    """total totals subtotal sum summe gesamt somme totale totaal suma razem summa margin profit
    gewinn marge margen margine guadagno winst zysk lucro vinst days age tage jours giorni dagen
    dni dias status state"""
)
"""Words of columns that are worked out from others: read, they would count twice."""

_MAY_STAND = (
    EVENT_WORDS
    | word_set(
        """the of our car in to on at d l and und et y e en i och net gross netto brutto net hammer
    auction auktion sale lot house"""
    )
    | {code.lower() for code in CURRENCIES}
)
"""Words that may stand in the name of a purchase, a listing or a sale beside those of a field.

A word beyond them, as in "target sale price", "mileage when bought" or "sale invoice", makes it
another thing: such a column is named and not read.
"""

_OF_PURCHASE = frozenset({"lot", "venue", "channel", "party", "basis"})
"""What a column that names no event says of the purchase, where a row is a car."""

_BUYER = word_set(
    """buyer to customer kunde kaufer an client acheteur comprador cliente acquirente koper klant
    kupujacy nabywca klient kopare"""
)


@dataclass(frozen=True, slots=True)
class Place:
    """What one column holds.

    Parameters
    ----------
    column : str
        Its name.
    field : str
        A field of the car, or ``date``, ``amount``, ``currency``, ``basis``, ``what``, ``part``,
        ``party``, ``channel``, ``venue``, ``lot``, ``event``.
    event : str
        Kind of event it belongs to where a row is a car; empty for the whole row.
    group : str
        Tells several events of one kind apart: the number behind the name, or the cost it names.
    """

    column: str
    field: str
    event: str = ""
    group: str = ""


@dataclass(frozen=True, slots=True)
class Places:
    """How a ledger is read.

    Parameters
    ----------
    form : {"event", "car"}
        What a row is.
    places : tuple of Place
        Columns that are read.
    left : tuple of str
        Columns that are not.
    """

    form: str
    places: tuple[Place, ...]
    left: tuple[str, ...] = ()

    def column(self, field: str, event: str = "", group: str = "") -> str | None:
        """Return the column of a field, None if there is none."""
        wanted = (field, event, group)
        found = (p.column for p in self.places if (p.field, p.event, p.group) == wanted)
        return next(found, None)


def _table() -> dict[str, str]:
    out: dict[str, str] = {}
    for line in _NAMES.strip().splitlines():
        field, phrases = line.split(":")
        for phrase in phrases.split(","):
            out.setdefault(" ".join(name_words(phrase.strip())), field)
    return out


_KNOWN = _table()


def find_places(raw: RawTable) -> Places | None:
    """Say which column of a ledger is which.

    Parameters
    ----------
    raw : RawTable
        The file as it came.

    Returns
    -------
    Places or None
        None if neither a column of events nor columns of a purchase or a sale can be found.
    """
    columns = [Column(str(n), raw.cells[n]) for n in raw.cells.columns]
    of_cars = _of_cars(columns)
    # A column of states, such as "sold", stands in a list of one row a car too.
    if of_cars and any(
        p.event in ("bought", "sold") and p.field == "amount" for p in of_cars.places
    ):
        return of_cars
    told = next((c for c in columns if _plain(c.name) == "event" and _tells_events(c)), None)
    told = told or next((c for c in columns if _tells_events(c)), None)
    return of_cars if told is None else _of_events(columns, told.name)


def _plain(name: str) -> str:
    """Return the field that a whole name means, without a number behind it; else nothing."""
    words = name_words(name)
    return _KNOWN.get(" ".join(words)) or _KNOWN.get(" ".join(_unnumbered(words)), "")


def _unnumbered(words: Sequence[str]) -> tuple[str, ...]:
    return tuple(w for i, w in enumerate(words) if not (w.isdigit() and i))


def _tells_events(column: Column) -> bool:
    # A column of descriptions names costs too; of events several kinds stand in it.
    kinds = {read_event(c) for c in column.counts} - {""}
    named = _plain(column.name) == "event"
    several = len(kinds) >= 2 or (bool(kinds) and named)
    own = named or not _plain(column.name)
    share = column.share(lambda c: bool(read_event(c)))
    return several and own and share >= _ENOUGH and _dates_of(column) < _ENOUGH


def _of_events(columns: Sequence[Column], event: str) -> Places:
    places, left = [Place(event, "event")], []
    for column in columns:
        if column.name == event:
            continue
        field = _row_field(column)
        if field and all(p.field != field for p in places):
            places.append(Place(column.name, field))
        else:
            left.append(column.name)
    return Places("event", _with_car_named(places, columns), tuple(left))


def _row_field(column: Column) -> str:
    """Return the field of a column that says something of the whole row."""
    field = _plain(column.name)
    if field == "car":
        return "title"
    if field and field != "event":
        return field
    for match in match_name(column.name):
        if match.target in CAR_FIELDS and match.score >= 2.5:
            return match.target
    return "" if field else _by_words(column)


def _by_words(column: Column) -> str:
    words = set(_words(column.name))
    if words & _FIGURED_OUT:
        return ""
    return next((f for f in _ORDER if any(_FIELD_OF_WORD.get(w) == f for w in words)), "")


def _with_car_named(places: list[Place], columns: Sequence[Column]) -> tuple[Place, ...]:
    """Let a column called "car" be the stock number where its cells are numbers, not names."""
    named = {p.field: p.column for p in places}
    if "stock" in named or "title" not in named:
        return tuple(places)
    column = next(c for c in columns if c.name == named["title"])
    words = column.share(lambda c: " " in c.strip() and any(x.isalpha() for x in c))
    if _plain(column.name) != "car" or words >= 0.5:
        return tuple(places)
    return tuple(Place(p.column, "stock") if p.field == "title" else p for p in places)


def _words(name: str) -> tuple[str, ...]:
    out: list[str] = []
    for word in _unnumbered(name_words(name)):
        found = _COMPOUND.fullmatch(word)
        out += found.groups() if found else (word,)
    return tuple(out)


def _of_cars(columns: Sequence[Column]) -> Places | None:
    places: list[Place] = []
    left: list[str] = []
    for column in columns:
        place = _wide_place(column)
        if place and not _doubled(place, places):
            places.append(place)
        else:
            left.append(column.name)
    if not any(p.event in ("bought", "sold", "listed") for p in places):
        return None
    return Places("car", _with_car_named(places, columns), tuple(left))


def _doubled(place: Place, places: Sequence[Place]) -> bool:
    wanted = (place.field, place.event, place.group)
    return any((p.field, p.event, p.group) == wanted for p in places)


def _wide_place(column: Column) -> Place | None:
    """Return what a column holds where a row is a car."""
    own = _plain(column.name)
    if own in (*CAR_FIELDS, "car", "currency"):
        return Place(column.name, "title" if own == "car" else own)
    event, field = _event_and_field(column)
    if event:
        return Place(column.name, field, event, _group(column.name, event)) if field else None
    if own in _OF_PURCHASE:
        sold = own == "party" and bool(_BUYER & set(name_words(column.name)))
        return Place(column.name, own, "sold" if sold else "bought")
    for match in match_name(column.name):
        if match.target in CAR_FIELDS and match.score >= 2.5:
            return Place(column.name, match.target)
    return None


def _event_and_field(column: Column) -> tuple[str, str]:
    words = _words(column.name)
    joined = " ".join(_unnumbered(name_words(column.name)))
    if joined in _WHOLE:
        return _WHOLE[joined]
    event = read_event(" ".join(words))
    if not event or set(words) & _FIGURED_OUT:
        return "", ""
    if event != "spent" and set(words) - _MAY_STAND - _FIELD_OF_WORD.keys():
        return "", ""
    found = [f for f in _ORDER if any(_FIELD_OF_WORD.get(w) == f for w in words)]
    # "Sold for" tells the price and not a purpose.
    found = [f for f in found if f != "what" or event == "spent"]
    field = _by_content(column, event, found)
    if event == "listed" and field == "amount":
        event = "asking price"
    return event, "" if event in ("listed", "withdrawn") and field == "amount" else field


def _by_content(column: Column, event: str, found: Sequence[str]) -> str:
    """Return the field among those that a name can mean which its cells bear out."""
    dates, amounts = _dates_of(column), column.share(_is_amount)
    for field in found:
        share = {"date": dates, "amount": amounts}.get(field, 1.0)
        if share >= 0.3 or not column.counts:
            return field
    if not column.counts:
        return "date" if event in ("listed", "withdrawn") else "amount"
    if found and found[0] not in ("date", "amount"):
        return found[0]
    if dates >= _ENOUGH:
        return "date"
    return "amount" if amounts >= _ENOUGH else (found[0] if found else "")


def _dates_of(column: Column) -> float:
    cells = list(column.counts)
    if not cells:
        return 0.0
    # A bare number may be the day number of a spreadsheet or an amount: an amount is likelier.
    worded = [c for c in cells if not re.fullmatch(r"\d+(?:[.,]\d+)?", c.strip())]
    read = read_dates(worded)
    good = sum(column.counts[c] for c, bad in zip(worded, read.unreadable, strict=True) if not bad)
    return good / sum(column.counts.values())


def _is_amount(cell: str) -> bool:
    return read_money(cell).amount is not None


def _group(name: str, event: str) -> str:
    """Return what tells events of one kind apart."""
    number = " ".join(w for i, w in enumerate(name_words(name)) if w.isdigit() and i)
    if event != "spent":
        return number if event == "asking price" and number != "1" else ""
    words = [w for w in _words(name) if w not in _FIELD_OF_WORD and not _only_money(w)]
    cost = " ".join(words) if names_cost(" ".join(words)) else ""
    return f"{cost} {number}".strip()


def _only_money(word: str) -> bool:
    """Tell whether a word says that money was spent and not on what."""
    return read_event(word) == "spent" and not names_cost(word)
