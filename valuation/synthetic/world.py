"""The invented world: marques, model lines, segments, venues.  Nothing in it is real."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "BODIES",
    "CHANNELS",
    "LINES",
    "MARQUES",
    "REGIONS",
    "RESTORERS",
    "SEGMENTS",
    "VENUES",
    "LineSpec",
    "Marque",
    "Variant",
    "Venue",
]


@dataclass(frozen=True, slots=True)
class Marque:
    """An invented maker of cars.

    Parameters
    ----------
    name, country : str
        Invented names.
    founded, closed : int
        First and last year of its works.
    character : str
        What it was known for, in one sentence.
    right_hand : float
        Share of its cars with the steering wheel on the right.
    """

    name: str
    country: str
    founded: int
    closed: int
    character: str
    right_hand: float


@dataclass(frozen=True, slots=True)
class Variant:
    """A version of a model line.

    Parameters
    ----------
    name : str
        As the trade calls it.
    share : float
        Relative number of cars that carry (or claim) the name.
    premium : float
        Effect on the log price against the first version of the line.
    size : float
        Engine size as a multiple of the line's.
    rare : bool
        Whether plain cars get dressed up as this one.
    """

    name: str
    share: float
    premium: float
    size: float = 1.0
    rare: bool = False


@dataclass(frozen=True, slots=True)
class LineSpec:
    """A model line as its maker planned it.

    Parameters
    ----------
    make, model, segment : str
        Names.
    first, last : int
        Model years.
    level : float
        Price of a typical car at the start of the first year of sales.
    size : float
        Engine size in litres.
    layout : str
        Engine layout.
    gears : int
        Forward gears of the manual gearbox.
    automatic : float
        Share of automatic cars.
    bodies : tuple of (str, float)
        Bodies and their shares.
    generations : tuple of (str, int)
        Generations and the first model year of each.
    variants : tuple of Variant
        The first is the plain one.
    """

    make: str
    model: str
    segment: str
    first: int
    last: int
    level: float
    size: float
    layout: str
    gears: int
    automatic: float
    bodies: tuple[tuple[str, float], ...]
    generations: tuple[tuple[str, int], ...]
    variants: tuple[Variant, ...]


@dataclass(frozen=True, slots=True)
class Venue:
    """A house or firm that offers cars.

    Parameters
    ----------
    name, channel : str
        Invented name; channel of the sale.
    premium_low, limit, premium_high : float
        Buyer's premium by slice: the first rate up to the limit, the second beyond it.
    reports_premium : float
        Share of its sold lots that are recorded with the premium in the price.
    """

    name: str
    channel: str
    premium_low: float = 0.0
    limit: float = 0.0
    premium_high: float = 0.0
    reports_premium: float = 0.0


CHANNELS = ("live auction", "online auction", "dealer", "private")

VENUES = (
    Venue("Harbour Rooms", "live auction", 0.15, 50_000, 0.10, 0.8),
    Venue("Ferrywright's", "live auction", 0.15, 100_000, 0.10, 0.6),
    Venue("Tanglewater Hall", "live auction", 0.12, 50_000, 0.10, 0.1),
    Venue("The Long Barn Sale", "live auction", 0.10, 30_000, 0.08, 0.0),
    Venue("Evening Lots", "online auction", 0.06, 80_000, 0.03, 0.05),
    Venue("Millrace Online", "online auction", 0.15, 20_000, 0.10, 0.7),
    Venue("Plumbline Lots", "online auction", 0.05, 100_000, 0.02, 0.3),
    Venue("Heron Lane Cars", "dealer"),
    Venue("Kiln Street Garage", "dealer"),
    Venue("Teasel Yard", "dealer"),
    Venue("Third Gate Motors", "dealer"),
    Venue("Cooper's Quay Cars", "dealer"),
    Venue("", "private"),
)

REGIONS = ("North Shore", "Inland Plain", "Southern Isles", "Hill Country", "Harbour Cities")

RESTORERS = ("Weir & Daughters", "Hollin Bench", "Ambry Body Shop", "Two Rivers Panel Works")

BODIES = ("sedan", "coupe", "convertible", "roadster", "wagon", "hatchback", "limousine")

SEGMENTS = (
    "post-war sports",
    "small sports",
    "grand tourers",
    "luxury saloons",
    "big-engine coupes",
    "exotics",
    "everyday classics",
    "modern classics",
)

MARQUES = (
    Marque("Torvane", "Wealdmarch", 1931, 2006, "Straight-six and V8 touring cars.", 0.7),
    Marque("Obrastel", "Tessaline Republic", 1946, 1989, "Rev-happy twin-cam saloons.", 0.1),
    Marque("Vessamir", "Hesper Coast", 1924, 2004, "Silent, heavy, hand-finished.", 0.3),
    Marque("Ombrecq", "Lirande", 1947, 1991, "Light cars full of odd ideas.", 0.05),
    Marque("Tarquelle", "Sarvoluna", 1953, 2004, "Loud, low and rarely on time.", 0.1),
    Marque("Skarnholt", "Skerrivald", 1938, 2003, "Built to start at forty below.", 0.05),
    Marque("Gorlimar", "Brackenreach", 1919, 2004, "Big engines at a fair price.", 0.02),
    Marque("Ystrix", "Isle of Urm", 1950, 2001, "Tiny, prickly open two-seaters.", 0.8),
    Marque("Quorrel", "Wealdmarch", 1929, 1998, "Saloons for the chairs of boards.", 0.8),
    Marque("Pellandro", "Sarvoluna", 1958, 2004, "Sharp little cars, sharply drawn.", 0.15),
)


def _bodies(text: str) -> tuple[tuple[str, float], ...]:
    pairs = (part.rsplit(" ", 1) for part in text.split(", "))
    return tuple((name, float(share)) for name, share in pairs)


def _series(*first_years: int) -> tuple[tuple[str, int], ...]:
    return tuple((f"Series {i + 1}", y) for i, y in enumerate(first_years))


def _plain(name: str = "Standard", share: float = 1.0) -> Variant:
    return Variant(name, share, 0.0)


def _better(name: str, share: float, premium: float, size: float = 1.0) -> Variant:
    return Variant(name, share, premium, size)


def _rare(name: str, share: float, premium: float, size: float = 1.0) -> Variant:
    return Variant(name, 1.5 * share, premium, size, rare=True)


_I4, _I6 = "inline-4", "inline-6"

# fmt: off
LINES: tuple[LineSpec, ...] = (
    LineSpec("Torvane", "GT", "grand tourers", 1959, 1972, 46_000, 3.2, _I6, 4, 0.15,
             _bodies("coupe 0.7, convertible 0.3"), _series(1959, 1964, 1969),
             (_plain(), _better("Touring", 0.4, 0.12), _rare("High Output", 0.14, 0.75, 1.15))),
    LineSpec("Obrastel", "Canzon", "everyday classics", 1962, 1977, 17_000, 1.6, _I4, 5, 0.02,
             _bodies("sedan 0.75, coupe 0.2, wagon 0.05"), _series(1962, 1970),
             (_plain(), _better("De Luxe", 0.35, 0.08, 1.12), _rare("Twin Choke", 0.1, 0.6, 1.2))),
    LineSpec("Vessamir", "Chancel", "luxury saloons", 1955, 1979, 38_000, 6.1, "V8", 4, 0.95,
             _bodies("sedan 0.8, convertible 0.1, limousine 0.1"), _series(1955, 1966),
             (_plain(), _better("Long Wheelbase", 0.2, 0.05))),
    LineSpec("Ombrecq", "Libellet", "everyday classics", 1950, 1971, 9_500, 0.7, "inline-3", 4, 0.0,
             _bodies("sedan 0.8, convertible 0.2"), _series(1950, 1961),
             (_plain(), _better("De Luxe", 0.3, 0.07))),
    LineSpec("Tarquelle", "Ardesia", "exotics", 1966, 1979, 290_000, 3.9, "V12", 5, 0.0,
             _bodies("coupe 0.85, convertible 0.15"), _series(1966, 1972),
             (_plain(), _rare("Works Special", 0.12, 0.85, 1.05))),
    LineSpec("Gorlimar", "Lariander", "big-engine coupes", 1962, 1973, 34_000, 5.3, "V8", 4, 0.5,
             _bodies("coupe 0.75, convertible 0.25"), _series(1962, 1966, 1970),
             (_plain(), _better("Custom Trim", 0.5, 0.06), _rare("High Output", 0.2, 0.8, 1.3))),
    LineSpec("Ystrix", "Quill", "small sports", 1956, 1971, 21_000, 1.0, _I4, 4, 0.0,
             _bodies("roadster 1.0"), _series(1956, 1961, 1966),
             (_plain(), _rare("Hill Climb", 0.1, 0.55, 1.2))),
    LineSpec("Pellandro", "Zanzarin", "modern classics", 1978, 1992, 13_000, 1.5, _I4, 5, 0.0,
             _bodies("hatchback 0.85, convertible 0.15"), _series(1978, 1985),
             (_plain(), _better("Injection", 0.5, 0.2), _rare("Stopwatch", 0.1, 0.8, 1.15))),
    LineSpec("Torvane", "Lanternier", "modern classics", 1988, 2004, 24_000, 4.0, "V8", 5, 0.6,
             _bodies("coupe 0.6, convertible 0.4"), _series(1988, 1996),
             (_plain(), _better("Touring", 0.3, 0.1), _rare("High Output", 0.12, 0.6, 1.1))),
    LineSpec("Quorrel", "Bursar", "luxury saloons", 1958, 1980, 15_000, 3.4, _I6, 4, 0.6,
             _bodies("sedan 0.95, limousine 0.05"), _series(1958, 1968),
             (_plain(), _better("Silver Trim", 0.3, 0.15), _rare("High Output", 0.08, 0.5, 1.2))),
    LineSpec("Skarnholt", "Grankott", "everyday classics", 1957, 1973, 14_000, 1.8, _I4, 4, 0.05,
             _bodies("sedan 0.6, coupe 0.2, wagon 0.2"), _series(1957, 1966),
             (_plain(), _rare("Ice Race", 0.07, 0.6, 1.1))),
    LineSpec("Tarquelle", "Nottivaga", "exotics", 1985, 2004, 105_000, 3.6, "V8", 6, 0.1,
             _bodies("coupe 0.7, convertible 0.3"), _series(1985, 1994, 1999),
             (_plain(), _rare("Lightened", 0.1, 0.8))),
    LineSpec("Obrastel", "Madrigo", "post-war sports", 1954, 1965, 62_000, 1.5, _I4, 5, 0.0,
             _bodies("roadster 0.55, coupe 0.45"), _series(1954, 1959),
             (_plain(), _better("Fast Cam", 0.4, 0.25), _rare("Works Special", 0.1, 0.95, 1.1))),
    LineSpec("Gorlimar", "Buckbrush", "big-engine coupes", 1952, 1968, 41_000, 5.7, "V8", 3, 0.65,
             _bodies("coupe 0.55, convertible 0.3, sedan 0.15"), _series(1952, 1957, 1963),
             (_plain(), _better("Custom Trim", 0.4, 0.1), _rare("Twin Pump", 0.1, 0.7))),
    LineSpec("Ombrecq", "Phalenor", "luxury saloons", 1959, 1972, 26_000, 2.4, "V4", 4, 0.2,
             _bodies("sedan 0.75, wagon 0.15, convertible 0.1"), _series(1959, 1966),
             (_plain(), _better("Glass Roof", 0.35, 0.22, 1.1))),
    LineSpec("Ystrix", "Bristler", "small sports", 1964, 1981, 16_000, 1.6, _I4, 4, 0.0,
             _bodies("roadster 0.7, coupe 0.3"), _series(1964, 1973),
             (_plain(), _better("Overdrive", 0.4, 0.1), _rare("Hill Climb", 0.08, 0.6, 1.15))),
    LineSpec("Vessamir", "Almoner", "luxury saloons", 1976, 2002, 22_000, 6.4, "V8", 3, 1.0,
             _bodies("sedan 0.85, convertible 0.15"), _series(1976, 1989),
             (_plain(), _better("Pressure Charged", 0.25, 0.35))),
    LineSpec("Pellandro", "Grillante", "modern classics", 1989, 2004, 17_000, 2.0, _I4, 5, 0.05,
             _bodies("coupe 0.8, hatchback 0.2"), _series(1989, 1997),
             (_plain(), _better("Injection", 0.4, 0.12), _rare("All-Wheel Stopwatch", 0.12, 0.85))),
    LineSpec("Torvane", "Strandling", "post-war sports", 1948, 1960, 72_000, 3.0, _I6, 4, 0.05,
             _bodies("roadster 0.6, coupe 0.25, convertible 0.15"), _series(1948, 1954),
             (_plain(), _better("Fast Cam", 0.4, 0.22), _rare("Lightened", 0.1, 1.0))),
    LineSpec("Skarnholt", "Drivis", "modern classics", 1974, 2003, 9_000, 2.1, _I4, 5, 0.3,
             _bodies("sedan 0.5, wagon 0.5"), _series(1974, 1985, 1995),
             (_plain(), _rare("Turbo Ice Race", 0.12, 0.55, 1.05))),
    LineSpec("Quorrel", "Archdeacon", "grand tourers", 1951, 1969, 68_000, 4.0, _I6, 4, 0.3,
             _bodies("coupe 0.6, convertible 0.25, sedan 0.15"), _series(1951, 1959),
             (_plain(), _better("Touring", 0.35, 0.15), _rare("High Output", 0.1, 0.65, 1.05))),
    LineSpec("Tarquelle", "Brumaia", "grand tourers", 1958, 1972, 165_000, 3.3, "V12", 5, 0.0,
             _bodies("coupe 0.8, convertible 0.2"), _series(1958, 1964),
             (_plain(), _better("Two Plus Two", 0.4, -0.25), _rare("Lightened", 0.1, 0.9))),
    LineSpec("Gorlimar", "Tumblegrass", "everyday classics", 1949, 1966, 23_000, 4.3, "V8", 3, 0.5,
             _bodies("sedan 0.5, coupe 0.25, convertible 0.15, wagon 0.1"), _series(1949, 1957),
             (_plain(), _better("Custom Trim", 0.4, 0.1))),
    LineSpec("Pellandro", "Lumachel", "everyday classics", 1960, 1978, 11_000, 0.9, _I4, 4, 0.0,
             _bodies("sedan 0.6, wagon 0.1, coupe 0.3"), _series(1960, 1969),
             (_plain(), _rare("Stopwatch", 0.12, 0.7, 1.2))),
    LineSpec("Ombrecq", "Cigalin", "small sports", 1966, 1982, 12_500, 1.7, "flat-6", 4, 0.05,
             _bodies("coupe 0.7, roadster 0.3"), _series(1966, 1975),
             (_plain(), _better("De Luxe", 0.3, 0.1))),
    LineSpec("Ystrix", "Burr", "modern classics", 1986, 2001, 19_000, 1.8, _I4, 5, 0.0,
             _bodies("roadster 1.0"), _series(1986, 1995),
             (_plain(), _rare("Lightened", 0.12, 0.55))),
    LineSpec("Vessamir", "Consistor", "grand tourers", 1952, 1965, 125_000, 5.0, _I6, 4, 0.4,
             _bodies("coupe 0.5, convertible 0.3, sedan 0.2"), _series(1952, 1957),
             (_plain(), _rare("Fast Cam", 0.12, 0.7))),
    LineSpec("Obrastel", "Burletta", "modern classics", 1976, 1989, 15_500, 2.0, _I4, 5, 0.05,
             _bodies("coupe 0.7, sedan 0.3"), _series(1976, 1983),
             (_plain(), _better("Injection", 0.35, 0.15), _rare("Twin Choke", 0.1, 0.65, 1.2))),
    LineSpec("Skarnholt", "Runkast", "post-war sports", 1951, 1963, 44_000, 2.0, _I4, 4, 0.0,
             _bodies("roadster 0.5, coupe 0.5"), _series(1951, 1958),
             (_plain(), _rare("Ice Race", 0.1, 0.6, 1.1))),
    LineSpec("Quorrel", "Beadle", "everyday classics", 1948, 1964, 8_500, 1.5, _I4, 4, 0.0,
             _bodies("sedan 0.8, convertible 0.1, wagon 0.1"), _series(1948, 1956),
             (_plain(), _better("Silver Trim", 0.3, 0.1))),
    LineSpec("Gorlimar", "Brackener", "modern classics", 1982, 2004, 18_000, 5.2, "V8", 5, 0.55,
             _bodies("coupe 0.7, convertible 0.3"), _series(1982, 1993, 2000),
             (_plain(), _better("Custom Trim", 0.4, 0.08), _rare("High Output", 0.15, 0.7, 1.1))),
    LineSpec("Torvane", "Oakrise", "luxury saloons", 1963, 1984, 19_000, 3.8, _I6, 4, 0.7,
             _bodies("sedan 0.9, wagon 0.1"), _series(1963, 1972),
             (_plain(), _better("Touring", 0.3, 0.12), _rare("High Output", 0.07, 0.5, 1.1))),
    LineSpec("Tarquelle", "Crepuscola", "small sports", 1969, 1982, 33_000, 2.4, "V6", 5, 0.0,
             _bodies("coupe 0.65, roadster 0.35"), _series(1969, 1975),
             (_plain(), _rare("Works Special", 0.1, 0.8, 1.1))),
)
# fmt: on
