"""What columns of a catalogue are called that a list of sales does not have, in nine languages."""

from __future__ import annotations

from functools import lru_cache

from valuation.importing.names import NameMatch, match_name
from valuation.reading.money import CURRENCIES
from valuation.reading.text import name_words, word_set

__all__ = ["AT_NEED", "asks_for_none", "lot_target"]

AT_NEED = 2.0
"""Score of a name that means it only if what stands in the column bears it out."""

# One line a target; a name is one of these as a whole.
_NAMES = """
sale_id: lot, lot no, lot nr, lot number, lot id, lots, los, los nr, los no, losnummer, no lot, n lot, no de lot, numero lot, numero de lot, numero du lot, lote, no lote, n lote, lotto, n lotto, numero lotto, kavel, kavelnummer, kavel nr, objektnr, objekt nr, objektnummer, utropsnummer, nr lotu, numer lotu, pozycja, run number, run no, run nr, catalogue number, catalogue no, catalog no, katalognummer
sale_date: day, sale day, day of sale, auction day, tag, verkaufstag, auktionstag, jour, jour de vente, dia, dia de venta, giorno, giorno di vendita, dag, veilingdag, auktionsdag, dzien, dzien aukcji, dia do leilao, session, sale session, sitzung, sitting, vacation, sesion, sessione, sessie, sesja, sessao
reserve: reserve, reserve price, reserve amount, reserve status, no reserve, without reserve, limit, limitpreis, mindestpreis, ohne limit, prix de reserve, sans reserve, precio de reserva, reserva, sin reserva, prezzo di riserva, riserva, senza riserva, minimumprijs, reserveprijs, zonder reserve, cena minimalna, preco de reserva, sem reserva, reservationspris
notes: notes, my notes, our notes, own notes, buyer notes, buyers notes, buyer s notes, notes of buyer, note, notizen, notiz, eigene notizen, unsere notizen, mes notes, nos notes, notes acheteur, notas, mis notas, appunti, note acquirente, aantekeningen, notities, eigen notities, notatki, moje notatki, anteckningar, egna anteckningar, noteringar, anotacoes
drivetrain: drivetrain, drive train, driveline, powertrain, power train, engine gearbox, engine and gearbox, engine transmission, engine and transmission, engine and drivetrain, mechanicals, antriebsstrang, motor getriebe, motor und getriebe, moteur boite, moteur et boite, motor caja, motor y caja, motore cambio, motore e cambio, motor versnellingsbak, motor en versnellingsbak, silnik skrzynia, silnik i skrzynia, motor caixa, motor e caixa, motor vaxellada, motor och vaxellada
"""  # noqa: E501

_ESTIMATE = word_set(
    """
    estimate estimates est estimated estimation schatzpreis schaetzpreis schatzwert schaetzwert
    schatzung schaetzung taxe taxwert estimacion estimativa stima schatting richtprijs taxatie
    wycena szacunek estymacja vardering utropspris guide
    """
)
_LOW = word_set(
    """
    low lower lowest min minimum from von untere unterer unteres unten bas basse baja bajo inferior
    inferiore minima minimo laag lage onder od dolna lag undre lagsta de desde da van minimale
    """
)
_HIGH = word_set(
    """
    high higher upper highest max maximum to bis obere oberer oberes oben haut haute alta alto
    superior superiore massima massimo hoog hoge boven do gorna hog ovre hogsta a hasta tot maximale
    """
)
_FILLING = word_set(
    """
        price value sale presale pre hammer auction range amount in of the euro euros dollar
        dollars pound pounds preis wert prix valeur precio valor prezzo valore prijs waarde cena
        wartosc preco pris varde eur usd gbp k tsd thousand
        """
) | frozenset(code.lower() for code in CURRENCIES)
_NONE = word_set("no without ohne sans sin senza zonder bez sem utan")


def _table() -> dict[str, str]:
    out: dict[str, str] = {}
    for line in _NAMES.strip().splitlines():
        target, phrases = line.split(":")
        for phrase in phrases.split(","):
            out[" ".join(name_words(phrase.strip()))] = target
    return out


_KNOWN = _table()


def _estimate_end(words: tuple[str, ...]) -> str:
    """Return which part of an estimate a name means, by the words of the name."""
    estimates = [w for w in words if w in _ESTIMATE]
    rest = [w for w in words if w not in _ESTIMATE and w not in _FILLING]
    low, high = [w for w in rest if w in _LOW], [w for w in rest if w in _HIGH]
    if len(low) + len(high) < len(rest) or not (estimates or len(rest) == 1):
        return ""
    if bool(low) == bool(high):
        return "estimate" if estimates else ""
    return "estimate low" if low else "estimate high"


@lru_cache(maxsize=5000)
def lot_target(name: str) -> NameMatch | None:
    """Return what a column of a catalogue is by its name, if that is no attribute of the car.

    Parameters
    ----------
    name : str
        Name of the column.

    Returns
    -------
    NameMatch or None
        ``sale_id`` for the lot number, ``sale_date`` for its day, ``reserve``, ``estimate``,
        ``estimate low``, ``estimate high``, ``notes`` or ``drivetrain``; the score is 4 for a
        name of a catalogue's own, :data:`AT_NEED` for one that its content has to bear out.

    Examples
    --------
    >>> [lot_target(n).target for n in ("Lot #", "Schätzpreis von", "Est. high (EUR)", "Estimate")]
    ['sale_id', 'estimate low', 'estimate high', 'estimate']
    >>> lot_target("Est. mileage"), lot_target("Colour")
    (None, None)
    """
    words = name_words(name)
    while len(words) > 1 and words[-1].isdigit():
        words = words[:-1]
    plain = [w for w in words if w.upper() not in CURRENCIES or w in _ESTIMATE]
    known = _KNOWN.get(" ".join(words)) or _KNOWN.get(" ".join(plain))
    if known:
        return NameMatch(known, AT_NEED if words == ("note",) else 4.0)
    if end := _estimate_end(words):
        return NameMatch(end, 4.0 if set(words) & _ESTIMATE else AT_NEED)
    best = next(iter(match_name(name)), None)
    if best is None or best.target not in ("sale_id", "sale_date"):
        return None
    return NameMatch(best.target, AT_NEED) if best.score >= AT_NEED else None


def asks_for_none(name: str) -> bool:
    """Tell whether a column asks if there is no reserve, so that "yes" means none.

    Examples
    --------
    >>> asks_for_none("No reserve"), asks_for_none("Reserve")
    (True, False)
    """
    return bool(_NONE & set(name_words(name)))
