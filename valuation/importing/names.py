"""What columns are called, in several languages, and what their names tell besides."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from valuation.reading.text import fold, name_words, word_set
from valuation.schema import ATTRIBUTES, SALE_FIELDS, Attribute, Field

__all__ = ["HIGH_BID", "NameMatch", "base_name", "basis_of_name", "match_name", "unit_of_name"]

HIGH_BID = "highest bid"
"""A second price column: the highest bid of lots that did not sell."""

# One line a target; "~" marks a name that means it only if nothing better is there.
_NAMES = """
sale_id: sale id, sale no, lot, lot no, lot number, lot nr, lot id, id, ~no, ~nr, ~ref, reference, los, losnummer, numero de lot, lote, lotto, kavel, kavelnummer, objektnummer, objektnr, listing id, stock no, stock number
sale_date: date, sale date, saledate, date sold, sold date, sold on, date of sale, auction date, end date, ended, closing date, transaction date, ~sold, datum, verkaufsdatum, auktionsdatum, date de vente, date vente, fecha, fecha de venta, data, data di vendita, data vendita, verkoopdatum, veilingdatum, data sprzedazy, data de venda, forsaljningsdatum, offer date, ~listed, ~date listed, ~timestamp
price: price, sale price, saleprice, selling price, sellingprice, sold price, sold for, hammer, hammer price, price realised, price realized, realised, total price, price with premium, price incl premium, price including premium, amount, asking price, ask, asking, list price, preis, verkaufspreis, kaufpreis, zuschlag, zuschlagpreis, angebotspreis, prix, prix de vente, prix adjuge, precio, precio de venta, prezzo, prezzo di vendita, prijs, verkoopprijs, vraagprijs, cena, cena sprzedazy, preco, valor, pris, forsaljningspris, result, ~value, price paid, paid
highest bid: high bid, highest bid, bid, last bid, top bid, hochstgebot, meilleure enchere, hoogste bod
currency: currency, ccy, curr, wahrung, waehrung, devise, moneda, moneta, valuta, waluta, moeda
basis: basis, price basis, price type, preisart
outcome: outcome, status, sale status, sold or not, sold status, ~sold, ~result, ergebnis, resultat, resultado, esito, verkauft, vendu, vendido, venduto, verkocht, sprzedany
reserve: reserve, no reserve, reserve status, limit, mindestpreis
channel: channel, sale type, sales channel, kind of sale, kanal, canal
venue: venue, auction house, house, auctioneer, auction, saleroom, sale room, auktionshaus, maison de vente, casa de subastas, casa d'aste, veilinghuis, dom aukcyjny, dealer, ~seller, ~source
region: region, state, country, county, province, location, place, city, bundesland, land, ort, standort, pays, lieu, ville, pais, provincia, ubicacion, paese, luogo, citta, plaats, kraj, wojewodztwo, lokalizacja, miasto, cidade, estado, ~stad
chassis: chassis, chassis number, chassis no, vin, serial number, serial no, serial, frame number, fahrgestellnummer, fahrgestellnr, fin, numero de chassis, numero de serie, numero chassis, fahrgestell, fahrgestell nr, chassis nr, vin chassis, bastidor, numero de bastidor, telaio, numero di telaio, chassisnummer, chassinummer, chassinr, numer vin, numer nadwozia, nr nadwozia
title: title, heading, headline, name, car, lot title, listing title, vehicle, description short, titel, bezeichnung, fahrzeug, titre, titulo, titolo, tytul, nazwa, rubrik, make and model, make model, year make model
description: description, text, details, notes, comments, remarks, beschreibung, descripcion, descrizione, omschrijving, opis, descricao, beskrivning, bemerkung
make: make, marque, brand, manufacturer, maker, marke, hersteller, fabrikat, marque voiture, marca, fabricante, costruttore, merk, marka, producent, marke hersteller, constructeur, bilmarke
model: model, model line, modell, modele, modelo, modello, modelname, model name
generation: generation, gen, series, mark, baureihe, serie, generacja, generazione, generacion, geracao, chassis code, body code
variant: variant, trim, version, trim level, grade name, submodel, sub model, edition, variante, ausstattung, finition, versione, uitvoering, wersja, versao, utforande, acabado
year: year, model year, yr, modelyear, my, baujahr, modelljahr, annee, annee modele, millesime, ano, ano modelo, anno, anno modello, bouwjaar, modeljaar, rok, rok produkcji, rocznik, arsmodell, year of manufacture, year built, ~first registration, ~first registered, ~year first registered, ~erstzulassung, ~premiere immatriculation, ~primera matriculacion, ~prima immatricolazione, ~pierwsza rejestracja, ~eerste registratie, ~date de mise en circulation
body: body, body type, body style, bodytype, bodystyle, karosserie, karosserieform, aufbau, carrosserie, carroceria, carrozzeria, koetswerk, nadwozie, typ nadwozia, carrocaria, kaross, ~typ, ~type
genuineness: genuineness, genuine, genuine or tribute, authenticity
engine_size: engine, engine size, enginesize, engine capacity, engine v, engine volume, displacement, capacity, cc, motor, hubraum, moteur, cylindre, cylindree, motorizacion, cilindrada, motore, cilindrata, motorinhoud, cilinderinhoud, silnik, pojemnosc, pojemnosc skokowa, pojemnosc silnika, motorvolym, slagvolym, litres, engine description
engine_layout: engine layout, layout, cylinders, number of cylinders, zylinder, cylindres, cilindros, cilindri, cilinders, liczba cylindrow, cylindrar
aspiration: aspiration, induction
power: power, engine power, horsepower, hp, bhp, output, leistung, ps, puissance, potencia, potenza, vermogen, moc, moc silnika, effekt, kw
fuel: fuel, fuel type, fueltype, kraftstoff, kraftstoffart, treibstoff, carburant, energie, combustible, carburante, alimentazione, brandstof, rodzaj paliwa, paliwo, combustivel, bransle, drivmedel
fuel_economy: fuel economy, mpg, economy, miles per gallon
annual_tax: annual tax, road tax, tax, road tax a year, kfz steuer, vehicle tax
transmission: transmission, gearbox, gear box, trans, getriebe, getriebeart, schaltung, boite, boite de vitesses, type boite, boite vitesse, transmision, caja de cambios, cambio, trasmissione, versnellingsbak, transmissie, versnelling, skrzynia biegow, skrzynia, caixa, caixa de velocidades, transmissao, vaxellada
gears: gears, forward gears, number of gears, speeds, gange, rapports, marchas, marce, versnellingen, liczba biegow
transmission_origin: transmission origin
steering_side: steering side, steering, drive side, hand of drive, lhd rhd, lenkung, steering wheel
original_market: original market, delivered to, country of origin, market, auslieferungsland, pays d'origine, pais de origen, kraj pochodzenia
colour: colour, color, exterior colour, exterior color, ext colour, ext color, body colour, paint, farbe, aussenfarbe, lackierung, couleur, couleur exterieure, color exterior, colore, colore esterno, kleur, kolor, cor, farg, lackfarg
interior_colour: interior colour, interior color, interior, int colour, int color, upholstery, innenfarbe, innenausstattung, couleur interieur, color interior, colore interni, interieurkleur, kolor wnetrza, interieur
equipment: equipment, options, extras, works options, ausstattungen, sonderausstattung, equipement, equipamiento, optional, opties, wyposazenie, equipamento, utrustning
originality_score: originality score, originality
engine_originality: engine originality, engine status, numbers matching, matching numbers
condition_grade: condition grade, condition, grade, rating, condition rating, zustand, zustandsnote, etat, estado general, condizione, condizioni, staat, stan, estado de conservacao, skick
documents: documents, documentation, papers on file
restoration: restoration, restoration state
restorer: restorer, restored by
modifications: modifications, changes
re_engineered: re engineered, restomod
mileage: mileage, miles, odometer, odo, odometer reading, kilometers, kilometres, km, kms, mls, laufleistung, kilometerstand, tachostand, kilometrage, kilometraje, kilometros, chilometraggio, chilometri, km stand, tellerstand, przebieg, quilometragem, quilometros, matarstallning, miltal
mileage_status: mileage status, tmu
colour_origin: colour origin, color origin, original colour
history: history, historie, historique
title_status: title status, title, title brand, papers, brief
"""  # noqa: E501

_KM_NAMES = re.compile(
    r"\b(?:kms?|kilometers?|kilometres?|kilometerstand|tachostand|kilometrage|kilometraje|"
    r"kilometros|chilometraggio|chilometri|tellerstand|przebieg|quilometragem|quilometros|"
    r"laufleistung|matarstallning)\b"
)
_UNITS = (
    ("mileage", r"\b(?:miles?|mi|mls)\b", "miles"),
    ("mileage", _KM_NAMES.pattern, "km"),
    ("engine_size", r"\b(?:cc|ccm|cm3)\b", "cc"),
    ("engine_size", r"\b(?:ci|cid|cubic inch(?:es)?)\b", "ci"),
    ("engine_size", r"\b(?:l|litres?|liters?|litros?)\b", "litres"),
    ("power", r"\b(?:kw|kilowatts?)\b", "kw"),
    ("power", r"\b(?:ps|cv|pk)\b", "ps"),
)
_BASES = (
    (r"\b(?:incl|including|with|inc)\b.*\bpremium\b|\bpremium incl", 1),
    (r"\b(?:hammer|zuschlag|zuschlagpreis|adjuge)\b", 0),
    (r"\b(?:asking|ask|list price|listed|angebotspreis|vraagprijs)\b", 2),
    (r"\b(?:paid)\b", 3),
)


@dataclass(frozen=True, slots=True)
class NameMatch:
    """How well a column name fits a target.

    Parameters
    ----------
    target : str
        Sale field, attribute or :data:`HIGH_BID`.
    score : float
        4 for the contract's own name, 3 for a whole known name, below for a part of it.
    """

    target: str
    score: float


def _table() -> dict[str, list[tuple[str, float]]]:
    out: dict[str, list[tuple[str, float]]] = {}
    for line in _NAMES.strip().splitlines():
        target, phrases = line.split(":")
        for phrase in phrases.split(","):
            second = phrase.strip().startswith("~")
            key = " ".join(name_words(phrase.strip(" ~")))
            out.setdefault(key, []).append((target, 2.0 if second else 3.0))
    declared: tuple[Field | Attribute, ...] = (*SALE_FIELDS, *ATTRIBUTES)
    for f in declared:
        for own in (f.name, f.label):
            entry = out.setdefault(" ".join(name_words(own)), [])
            if (f.name, 4.0) not in entry:
                entry.append((f.name, 4.0 if own == f.name else 3.0))
    return out


_KNOWN = _table()
_OTHER_THINGS = word_set(
    """low high estimate estimated min max owner owners doors seats number count url link image
    photo vat per month monthly rata deposit premium fee reserve emission co2"""
)


def base_name(name: str) -> str:
    """Return a column name without the number that tells it from its double.

    Examples
    --------
    >>> base_name("mileage2"), base_name("Price (2)")
    ('mileage', 'price')
    """
    words = list(name_words(name))
    while len(words) > 1 and words[-1].isdigit():
        words.pop()
    return " ".join(words)


@lru_cache(maxsize=5000)
def match_name(name: str) -> tuple[NameMatch, ...]:
    """Return what a column could be by its name, the likeliest first.

    Examples
    --------
    >>> match_name("Skrzynia_biegów")[0].target, match_name("ext_color")[0].target
    ('transmission', 'colour')
    """
    if exact := _KNOWN.get(fold(name).replace("_", " ")):
        best = dict(sorted(exact, key=lambda e: e[1]))
        return _ordered(best)
    base = base_name(name)
    if found := _KNOWN.get(base):
        return _ordered({t: min(s, 3.0) for t, s in found})
    words = base.split()
    scores: dict[str, float] = {}
    for size in range(min(len(words), 4), 0, -1):
        for start in range(len(words) - size + 1):
            rest = set(words[:start] + words[start + size :])
            if rest & _OTHER_THINGS:
                continue
            for target, score in _KNOWN.get(" ".join(words[start : start + size]), ()):
                value = min(score, 3.0) * (0.5 + 0.4 * size / len(words))
                # A word of two letters inside a longer name is an accident.
                if len(" ".join(words[start : start + size])) > 2 or rest <= {"in"}:
                    scores[target] = max(scores.get(target, 0.0), value)
    return _ordered(scores)


def _ordered(scores: dict[str, float]) -> tuple[NameMatch, ...]:
    return tuple(NameMatch(t, s) for t, s in sorted(scores.items(), key=lambda e: -e[1]))


def unit_of_name(target: str, name: str) -> str:
    """Return the unit that a column name tells, or nothing.

    Examples
    --------
    >>> unit_of_name("mileage", "Przebieg"), unit_of_name("engine_size", "Displacement (cc)")
    ('km', 'cc')
    """
    words = " ".join(name_words(name))
    for of, pattern, unit in _UNITS:
        if of == target and re.search(pattern, words):
            return unit
    return ""


def basis_of_name(name: str) -> int | None:
    """Return the position among the contract's price bases that a column name tells, or None."""
    words = " ".join(name_words(name))
    return next((i for pattern, i in _BASES if re.search(pattern, words)), None)
