"""What a stock ledger's cells say: kind of event, kind of seller or buyer, kind of cost."""

from __future__ import annotations

import re
from functools import lru_cache

from valuation.reading.text import fold, is_blank, name_words
from valuation.results.ledger import PARTIES, PARTS

__all__ = [
    "EVENT_WORDS",
    "cost_part",
    "names_cost",
    "read_channel",
    "read_event",
    "read_party",
]


def _phrases(text: str) -> tuple[tuple[str, ...], ...]:
    """Return phrases written one behind the other with commas, as words."""
    return tuple(name_words(p) for p in " ".join(text.split()).split(",") if p.strip())


# The first kind that finds a phrase counts: "price reduced" names no sale, "withdrawn" no listing.
_EVENT_WORDS = {
    "withdrawn": _phrases(
        """withdrawn, withdraw, delisted, taken off, off sale, off market, removed from sale,
        zuruckgezogen, vom markt genommen, abgemeldet, retire de la vente, retire, retirada,
        retirado, ritirato, ritirata, teruggetrokken, wycofany, wycofane, wycofano, tillbakadragen,
        aterkallad"""
    ),
    "asking price": _phrases(
        """asking price, asking, ask, list price, listed price, price change, price changed,
        price reduced, price reduction, reduced, reduced to, repriced, new price, angebot,
        angebotspreis, preisanderung, preissenkung,
        neuer preis, verhandlungsbasis, prix demande, prix affiche, baisse de prix, nouveau prix,
        precio pedido, precio de oferta, rebaja, nuevo precio, prezzo richiesto, ribasso,
        nuovo prezzo, vraagprijs, prijsverlaging, nieuwe prijs, cena ofertowa, obnizka, nowa cena,
        preco pedido, reducao, novo preco, utgangspris, begart pris, prissankning, nytt pris"""
    ),
    "listed": _phrases(
        """listed, listing, list, advertised, advert, offered, offered for sale, on sale, for sale,
        put up, inseriert, inserat, angeboten, online gestellt, annonce, mis en vente, mise en
        vente, publie, puesto en venta, anunciado, anunciada, publicado, messo in vendita,
        pubblicato, annuncio, te koop gezet, geadverteerd, wystawiony, wystawione, wystawiono,
        posto a venda, annons, annonserad, utlagd, till salu"""
    ),
    "sold": _phrases(
        """sold, sale, sell, resold, verkauft, verkauf, verkaufspreis, vendu, vendue, vente,
        vendido, vendida, venta, venduto, venduta, vendita, verkocht, verkoop, sprzedany,
        sprzedane, sprzedano, sprzedaz, sprzedazy, venda, sald, salt, forsaljning, saljes"""
    ),
    "bought": _phrases(
        """bought, buy, buying, cost price, einstandspreis, purchase, purchased, acquired,
        acquisition, taken in, hammer, gekauft, kauf, ankauf, angekauft, einkauf,
        eingekauft, einkaufspreis, erworben, achete,
        achetee, achat, acquis, comprado, comprada, compra, adquirido, comprato, comprata,
        acquisto, acquistato, gekocht, aankoop, inkoop, ingekocht, kupiony, kupione, kupiono,
        zakup, zakupu, kupna, kopt, inkopt, inkop"""
    ),
    "spent": _phrases(
        """spent, spend, spending, cost, costs, expense, expenses, outlay, outgoing, paid out,
        invoice, bill, kosten, ausgabe, ausgaben, aufwand, rechnung, depense, depenses, frais,
        cout, couts, facture, gasto, gastos, coste, factura, spesa, spese, costo, costi, fattura,
        uitgave, uitgaven, factuur, wydatek, wydatki, koszt, koszty, faktura, despesa, despesas,
        custo, custos, fatura, utgift, utgifter, kostnad, kostnader"""
    ),
}

EVENT_WORDS = frozenset(w for phrases in _EVENT_WORDS.values() for p in phrases for w in p)
"""Every word by which an event is told."""

_COST_WORDS = {
    PARTS[0]: _phrases(
        """premium, buyer premium, buyers premium, surcharge, freight, shipping, duty, customs,
        import, import tax, purchase tax, aufgeld, zoll, fracht, verschiffung, einfuhr, fret,
        douane, droits, flete, aduana, arancel, nolo, dogana, dazio, invoer, invoerrechten, clo,
        fracht morski, frete, alfandega, frakt, tull"""
    ),
    PARTS[2]: _phrases(
        """storage, store, garage rent, insurance, interest, finance, stock finance, holding,
        standgeld, lagerung, miete, versicherung, zinsen, finanzierung, stockage, gardiennage,
        assurance, interets, financement, almacenaje, seguro, intereses, deposito, assicurazione,
        interessi, stalling, opslag, verzekering, rente, magazynowanie, ubezpieczenie, odsetki,
        armazenagem, juros, forvaring, forsakring, ranta"""
    ),
    PARTS[3]: _phrases(
        """commission, card fee, card fees, warranty, warranty reserve, advertising, advertisement,
        photographs, photography, selling, selling cost, selling fee, provision, kartengebuhr,
        garantie, werbung, fotos, verkaufskosten, publicite, photos, comision, garantia,
        publicidad, fotografias, commissione, garanzia, pubblicita, fotografie, commissie,
        advertentie, advertentiekosten, prowizja, gwarancja, reklama, zdjecia, comissao,
        publicidade, garanti, annonskostnad"""
    ),
    PARTS[1]: _phrases(
        """work, service, servicing, repair, repairs, reconditioning, restoration, paint, painting,
        respray, body, bodywork, parts, tyres, tires, brakes, engine, gearbox, trim, interior,
        upholstery, valet, detailing, transport, collection, delivery, inspection, mechanic,
        labour, materials, test, papers, registration, aufbereitung, reparatur, lack, lackierung,
        teile, reifen, bremsen, wartung, werkstatt, abholung, gutachten, reparation, peinture,
        pieces, pneus, revision, entretien, carrosserie, expertise, reparacion, pintura, piezas,
        neumaticos, transporte, inspeccion, taller, riparazione, verniciatura, ricambi, gomme,
        trasporto, officina, perizia, reparatie, spuitwerk, onderdelen, banden, keuring, naprawa,
        lakierowanie, czesci, opony, przeglad, reparacao, pecas, oficina, lackering, delar, dack,
        besiktning"""
    ),
}

_PARTY_WORDS = {
    PARTIES[2]: _phrases(
        """auction, auction house, auctioneer, house, saleroom, at auction, auktion, auktionshaus,
        versteigerung, encheres, maison de vente, maison de ventes, vente aux encheres, subasta,
        casa de subastas, asta, casa d aste, veiling, veilinghuis, aukcja, dom aukcyjny, leilao,
        leiloeira, auktionshus"""
    ),
    PARTIES[3]: _phrases(
        """estate, executors, executor, heirs, probate, nachlass, erben, erbe, succession,
        heritiers, herencia, herederos, eredita, eredi, erfenis, erfgenamen, spadek, spadkobiercy,
        heranca, herdeiros, dodsbo, arvingar"""
    ),
    PARTIES[5]: _phrases(
        """collection, collector, museum, sammlung, sammler, musee, collectionneur, coleccion,
        coleccionista, museo, collezione, collezionista, verzameling, verzamelaar, kolekcja,
        kolekcjoner, muzeum, colecao, colecionador, museu, samling, samlare"""
    ),
    PARTIES[1]: _phrases(
        """trade, dealer, trader, other dealer, to trade, handler, handel, handlerkauf,
        wiederverkaufer, gewerblich, marchand, professionnel, negociant, comerciante,
        profesional, commerciante, rivenditore, operatore, handelaar, autobedrijf,
        handlarz, komis, revendedor, profissional, handlare, bilhandlare"""
    ),
    PARTIES[4]: _phrases(
        """company, business, firm, corporate, fleet, bank, leasing, insurer, firma, unternehmen,
        gesellschaft, entreprise, societe, banque, empresa, banco, azienda, societa, banca, bedrijf,
        spolka, firmowy, foretag"""
    ),
    PARTIES[0]: _phrases(
        """private, privately, private owner, private seller, private buyer, owner, customer,
        part exchange, part ex, p x, px, trade in, consignor, retail, privat, privatperson,
        privatmann, kunde, inzahlungnahme, besitzer, particulier, prive, proprietaire, client,
        reprise, particular, privado, propietario, cliente, privato, proprietario, permuta,
        eigenaar, klant, inruil, prywatny, prywatnie, wlasciciel, klient, retoma, agare, kund,
        inbyte"""
    ),
}

_CHANNELS = {
    "online auction": _phrases(
        """online auction, internet auction, timed auction, on line auction, onlineauktion,
        online auktion, internetauktion, enchere en ligne, encheres en ligne, subasta online,
        subasta en linea, asta online, online veiling, aukcja internetowa, aukcja online,
        leilao online, natauktion"""
    ),
    "live auction": _phrases(
        """live auction, auction, room auction, saleroom, auktion, saalauktion, versteigerung,
        enchere, encheres, subasta, asta, veiling, aukcja, leilao"""
    ),
    "dealer": _phrases(
        """dealer, trade, showroom, yard, handler, haendler, marchand, concesionario,
        concessionario, handelaar, handlarz, komis, stand, handlare"""
    ),
    "private": _phrases(
        """private, private sale, private purchase, privately, privat, prive, particulier,
        particular, privado, privato, prywatnie, prywatny"""
    ),
    "part-exchange": _phrases(
        "part exchange, part ex, px, trade in, inzahlungnahme, reprise, permuta, inruil, inbyte"
    ),
}


def _holds(words: tuple[str, ...], phrase: tuple[str, ...]) -> bool:
    n = len(phrase)
    return any(words[i : i + n] == phrase for i in range(len(words) - n + 1))


def _first(text: str, table: dict[str, tuple[tuple[str, ...], ...]]) -> str:
    words = name_words(text)
    return next((k for k, ps in table.items() if any(_holds(words, p) for p in ps)), "")


@lru_cache(maxsize=10_000)
def read_event(text: str) -> str:
    """Return the kind of event that a cell or the name of a column tells, or nothing.

    Examples
    --------
    >>> [read_event(x) for x in ("Ankauf", "price reduced", "Vendu", "transport", "hm")]
    ['bought', 'asking price', 'sold', 'spent', '']
    """
    return _first(text, _EVENT_WORDS) or ("spent" if names_cost(text) else "")


@lru_cache(maxsize=10_000)
def read_party(text: str) -> str:
    """Return the kind of seller or buyer that a cell names, or nothing: a name is none.

    Examples
    --------
    >>> read_party("Privat"), read_party("dealer"), read_party("H. Marrow")
    ('private', 'trade', '')
    """
    return _first(text, _PARTY_WORDS)


@lru_cache(maxsize=10_000)
def read_channel(text: str) -> str:
    """Return the channel in the words of the contract, or the cell as it stands.

    Examples
    --------
    >>> read_channel("Online-Auktion"), read_channel("Showroom"), read_channel("swap meet")
    ('online auction', 'dealer', 'swap meet')
    """
    if is_blank(text):
        return ""
    return _first(text, _CHANNELS) or " ".join(fold(text).split())


@lru_cache(maxsize=10_000)
def names_cost(text: str) -> bool:
    """Tell whether a text names a cost, such as transport or paint."""
    return bool(_first(text, _COST_WORDS))


@lru_cache(maxsize=10_000)
def cost_part(text: str) -> str:
    """Return the part of a bid's account that a cost belongs to; what nothing tells is work.

    Examples
    --------
    >>> [cost_part(x) for x in ("Buyer's premium", "storage in May", "card fee", "new tyres")]
    ['purchase', 'holding', 'selling', 'work']
    """
    plain = re.sub(r"'s\b", "", fold(text))
    return _first(plain, _COST_WORDS) or PARTS[1]
