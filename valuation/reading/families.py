"""Families of colours, bodies and fuels, in several languages; the own word where none fits."""

from __future__ import annotations

import re
from functools import lru_cache

from valuation.reading.text import fold, is_blank, is_other

__all__ = ["BODY_WORDS", "COLOUR_WORDS", "read_body", "read_colour", "read_fuel"]


def _family_of(text: str) -> dict[str, str]:
    """Turn lines of ``family: word, word`` into a dictionary from word to family."""
    out: dict[str, str] = {}
    for line in re.sub(r"\n\s+(?![^\n]*:)", " ", text.strip()).splitlines():
        family, words = line.strip().split(":")
        for word in (family, *words.split(",")):
            if word.strip():
                out[fold(word)] = family.strip()
    return out


COLOUR_WORDS = _family_of(
    """
    black: schwarz, noir, noire, negro, negra, nero, nera, zwart, czarny, czarna, preto,
        preta, svart, ebony, onyx
    white: weiss, blanc, blanche, blanco, blanca, bianco, bianca, wit, bialy, biala, branco,
        branca, vit, offwhite, off-white
    grey: gray, grau, gris, grise, grigio, grigia, grijs, szary, szara, grafitowy, cinza, gra,
        charcoal, graphite, anthracite, anthrazit, antracite, gunmetal, slate
    silver: silber, argent, plata, argento, zilver, srebrny, srebrna, prata, plateado, silvergra
    red: rot, rouge, rojo, roja, rosso, rossa, rood, czerwony, czerwona, vermelho, vermelha,
        rod, scarlet, crimson
    blue: blau, bleu, bleue, azul, blu, azzurro, blauw, niebieski, niebieska, granatowy, bla, navy
    green: grun, gruen, vert, verte, verde, groen, zielony, zielona, gron, olive
    yellow: gelb, jaune, amarillo, amarilla, giallo, gialla, geel, zolty, zolta, amarelo, gul
    orange: naranja, arancione, arancio, oranje, pomaranczowy, laranja
    brown: braun, marron, brun, brune, marrone, bruin, brazowy, brazowa, castanho, castanha,
        chocolate, mocha
    beige: bez, bezowy, sand, champagne, sahara
    tan: cognac, saddle, cuoio, caramel, biscuit
    gold: or, dore, oro, dorado, goud, zloty, zlota, dourado, guld, golden
    bronze: bronce, bronzo, brons
    copper: kupfer, cuivre, cobre, rame, koper
    burgundy: bordeaux, bordowy, bordo, maroon, weinrot, burdeos, granate, amaranto, oxblood, claret
    cream: creme, crema, crem, ivory, elfenbein, ivoire, avorio, marfil, kremowy
    purple: lila, violett, violet, violette, morado, viola, paars, fioletowy, roxo, plum, aubergine
    pink: rosa, rose, roze, rozowy
    turquoise: turkis, turkusowy, turchese, turquesa, teal, aqua
    """
)
"""Colour words, folded, and the family of each."""

_NOT_ALONE = frozenset({"or", "sand", "rose", "rod", "bla", "gra", "slate", "saddle", "bez"})
_TWO_TONE = re.compile(r"[/&]| over | with | and | und | et | w/")
_COLOUR_TOKEN = re.compile(r"off-?white|[a-z]+")
_SHADE = re.compile(r"^(?:dunkel|hell|donker|licht|himmel|wein|marine|mork|ljus)(?=[a-z]{3})")
_COLOUR_NOISE = re.compile(
    r"\b(?:exterior|interior|colou?r|paint|finish|leather|cloth|vinyl|seats?|upholstery|trim)\b"
)

BODY_WORDS = _family_of(
    """
    coupe: fixed head coupe, fixed-head coupe, fhc, berlinetta, kupe, cupe, fastback coupe,
        hardtop coupe
    convertible: cabriolet, cabrio, drophead, drophead coupe, dhc, kabriolet, descapotable,
        decapotable, cabriole, open top, soft top, drop top, spider, spyder
    roadster: open two-seater, two-seater
    targa:
    speedster:
    sedan: saloon, berline, berlina, limuzyna, sedan/limuzyna, stufenheck, 4-door sedan,
        four-door sedan
    hatchback: hatch, liftback, schragheck, compacte, compacta, kleinwagen, citadine
    wagon: estate, station wagon, stationwagon, kombi, break, familiale, familiar,
        station-wagon, kombilimousine, herrgardsvagn, perua, carrinha, shooting brake, touring
        wagon
    pickup: pick-up, pick up, pickup truck
    van: panel van, window van, fourgon, furgon, furgone, kastenwagen, bestelwagen
    minivan: mpv, monospace, monovolumen, people carrier, minibus, van (minibus)
    off-road: suv, 4x4, gelandewagen, tout-terrain, todoterreno, fuoristrada, terenowy, sport
        utility
    limousine: limo
    motor home: motorhome, motor caravan, camper, campervan, wohnmobil, camping-car
    tourer: phaeton, touring car, open tourer
    """
)
"""Body words, folded, and the family of each."""

_FUELS = _family_of(
    """
    petrol: gasoline, gas, benzin, benzyna, essence, gasolina, benzina, benzine, bensin, unleaded
    diesel: gasoil, gasoleo, gazole, olej napedowy, turbodiesel
    hybrid: hybride, hibrido, ibrida, ibrido, hybryda, petrol hybrid, diesel hybrid, plug-in
        hybrid, elhybrid, mild hybrid
    electric: elektro, electrique, electrico, elettrica, elettrico, elektrisch, elektryczny,
        elektro-motor, el
    gas: lpg, cng, autogas, gpl, glp, autogaz
    alcohol: ethanol, etanol, methanol, flex, flex fuel
    """
)
_FUELS["gas"] = "petrol"


@lru_cache(maxsize=50_000)
def read_colour(text: str) -> str | None:
    """Return the colour family of a text, else its own words.

    Of two tones the first counts; of several colour words in one the last, the head of the phrase.

    Parameters
    ----------
    text : str
        Such as "Midnight Blue Metallic", "Czarny", "Red/Black".

    Returns
    -------
    str or None
        A family, or the words in lower case; None if nothing is stated.

    Examples
    --------
    >>> read_colour("Midnight Blue Metallic"), read_colour("noir"), read_colour("Chalk")
    ('blue', 'black', 'chalk')
    """
    if is_blank(text) or is_other(text):
        return None
    plain = fold(text)
    for part in _TWO_TONE.split(plain):
        words = [_SHADE.sub("", w) for w in _COLOUR_TOKEN.findall(part)]
        families = [
            COLOUR_WORDS[w] for w in words if w in COLOUR_WORDS and (w not in _NOT_ALONE)
        ] or [COLOUR_WORDS[w] for w in words if w in COLOUR_WORDS and len(words) == 1]
        if families:
            return families[-1]
    own = " ".join(_COLOUR_NOISE.sub(" ", plain).split())
    return own if re.search(r"[a-z]{2}", own) and not re.search(r"\d{3}", own) else None


@lru_cache(maxsize=50_000)
def read_body(text: str) -> str | None:
    """Return the body family of a text, else its own words.

    Examples
    --------
    >>> read_body("Saloon"), read_body("Cabriolet"), read_body("crew cab")
    ('sedan', 'convertible', 'crew cab')
    """
    if is_blank(text) or is_other(text):
        return None
    plain = fold(text)
    if plain in BODY_WORDS:
        return BODY_WORDS[plain]
    words = re.findall(r"[a-z0-9]+(?:-[a-z0-9]+)*", plain)
    for size in (3, 2, 1):
        for start in range(len(words) - size, -1, -1):
            phrase = " ".join(words[start : start + size])
            if phrase in BODY_WORDS:
                return BODY_WORDS[phrase]
    return plain if re.search(r"[a-z]", plain) else None


@lru_cache(maxsize=20_000)
def read_fuel(text: str) -> str | None:
    """Return the kind of fuel, else the own words.

    Examples
    --------
    >>> read_fuel("Benzyna"), read_fuel("Hybrid – petrol/elec"), read_fuel("wood")
    ('petrol', 'hybrid', 'wood')
    """
    if is_blank(text):
        return None
    plain = fold(text)
    if is_other(text):
        return "other"
    if plain in _FUELS:
        return _FUELS[plain]
    words = re.findall(r"[a-z]+", plain)
    found = {_FUELS[w] for w in words if w in _FUELS}
    if "hybrid" in found or {"electric", "petrol"} <= found or {"electric", "diesel"} <= found:
        return "hybrid"
    if len(found) == 1:
        return found.pop()
    return plain if words and not re.search(r"\d", plain) else None
