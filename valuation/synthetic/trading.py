"""How a car meets a price: bids, reserves, asks, re-offers and later sales."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from valuation.schema.sale import BASES, OUTCOMES
from valuation.synthetic.effects import Array
from valuation.synthetic.levels import as_days
from valuation.synthetic.pricing import World, basis_part, buyers_premium
from valuation.synthetic.world import CHANNELS, VENUES

__all__ = ["Sale", "draw_occasions", "hold", "later_chances", "round_bid", "student"]

Sale = dict[str, Array]
"""Occasions of sale: arrays by name, one entry a record."""

_HAMMER = BASES.index("hammer price")
_WITH_PREMIUM = BASES.index("hammer price plus buyer's premium")
_ASKING = BASES.index("asking price")
_PAID = BASES.index("price paid")
_SOLD, _NOT_SOLD, _OFFERED = (OUTCOMES.index(w) for w in ("sold", "not sold", "offered"))
_FIRST_SATURDAY = 2  # 1970-01-03
_LONGEST_STOCK = 300


def student(n: int, world: World, rng: np.random.Generator) -> Array:
    """Draw Student noise of unit variance."""
    df = world.settings.noise_df
    noise: Array = rng.standard_t(df, n) * np.sqrt((df - 2) / df)
    return noise


def draw_occasions(day: Array, dear: Array, world: World, rng: np.random.Generator) -> Sale:
    """Draw channel, venue and region of each first occasion.

    Parameters
    ----------
    day : numpy.ndarray of int, shape (n,)
        Days since 1970-01-01.
    dear : numpy.ndarray, shape (n,)
        Log price of the line above 30,000 or so: dear cars go to live auctions.
    world : World
        Dates of the market.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    Sale
        ``day``, ``channel``, ``venue``, ``region``.
    """
    n = len(day)
    weights = np.column_stack(
        [0.3 * np.exp(0.35 * dear), np.full(n, 0.34), np.full(n, 0.24), 0.12 * np.exp(-0.3 * dear)]
    )
    cumulative = np.cumsum(weights, axis=1)
    channel = (rng.random(n)[:, None] * cumulative[:, -1:] > cumulative).sum(axis=1)
    return _placed(day, channel, rng.integers(5, size=n), world, rng)


def _placed(
    day: Array, channel: Array, region: Array, world: World, rng: np.random.Generator
) -> Sale:
    venue = np.zeros(len(day), dtype=np.int64)
    for code, name in enumerate(CHANNELS):
        rows = np.flatnonzero(channel == code)
        choice = [i for i, v in enumerate(VENUES) if v.channel == name]
        venue[rows] = rng.choice(choice, size=len(rows))
    live = channel == CHANNELS.index("live auction")
    # Rooms sell on Saturdays.
    saturday = day - (day - _FIRST_SATURDAY) % 7
    first = as_days(world.settings.start)
    saturday = np.where(saturday < first, saturday + 7, saturday)
    day = np.where(live, saturday, day)
    return {"day": day, "channel": channel, "venue": venue, "region": region}


def round_bid(amount: Array) -> Array:
    """Round to the nearest bid step, which grows with the amount.

    Examples
    --------
    >>> round_bid(np.array([4_321.0, 41_777.0, 1_234_567.0])).tolist()
    [4300.0, 42000.0, 1230000.0]
    """
    limits = np.array([5_000, 20_000, 100_000, 500_000, 1_000_000])
    steps = np.array([100.0, 250.0, 500.0, 1_000.0, 5_000.0, 10_000.0])
    step = steps[np.searchsorted(limits, amount, side="right")]
    rounded: Array = np.maximum(np.round(amount / step) * step, 100.0)
    return rounded


def hold(
    world: World,
    value: Array,
    car_noise: Array,
    sale: Mapping[str, Array],
    rng: np.random.Generator,
) -> Sale:
    """Hold the occasions: let bidders bid, sellers refuse, dealers ask.

    Parameters
    ----------
    world : World
        Effects and settings.
    value : numpy.ndarray, shape (n,)
        True expected log price on the basis of a hammer price or price paid.
    car_noise : numpy.ndarray, shape (n,)
        What this car brings more than its attributes say, at each of its sales.
    sale : mapping of str to numpy.ndarray
        Occasions, with ``thinness`` (factor of the noise), ``eager`` (what the seller's reserve
        is lower by) and ``deal`` (1 where a dealer's offer has found its buyer).
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    Sale
        Occasions with ``price``, ``reserve_price`` (NaN for none), ``outcome``, ``basis``.
    """
    settings = world.settings
    n = len(value)
    sd = settings.noise_sd * np.sqrt(1 - settings.car_share)
    bid = value + car_noise + sd * sale["thinness"] * student(n, world, rng)
    auction = sale["channel"] <= CHANNELS.index("online auction")
    held = _auctioned(world, value, car_noise, bid, sale, rng)
    dealt = _dealt(world, bid, sale, rng)
    return {
        **sale,
        **{name: np.where(auction, held[name], dealt[name]) for name in held},
    }


def _auctioned(
    world: World,
    value: Array,
    car_noise: Array,
    bid: Array,
    sale: Mapping[str, Array],
    rng: np.random.Generator,
) -> Sale:
    n = len(value)
    # The owner knows the car better than its description, and likes it.
    wish = value + 0.6 * car_noise - 0.09 - sale["eager"] + 0.17 * rng.standard_normal(n)
    reserve = np.where(rng.random(n) < 0.28, np.nan, round_bid(np.exp(wish)))
    shading = rng.exponential(max(world.settings.unsold_shading, 1e-12), n)
    hammer = round_bid(np.exp(bid))
    refused = hammer < reserve
    hammer = np.where(refused, round_bid(np.exp(bid - shading)), hammer)
    reports = np.array([v.reports_premium for v in VENUES])[sale["venue"]]
    loaded = ~refused & (rng.random(n) < reports)
    premium = np.where(loaded, buyers_premium(hammer, sale["venue"]), 0.0)
    return {
        "price": np.round(hammer + premium, 2),
        "reserve_price": reserve,
        "outcome": np.where(refused, _NOT_SOLD, _SOLD),
        "basis": np.where(loaded, _WITH_PREMIUM, _HAMMER),
    }


def _dealt(world: World, bid: Array, sale: Mapping[str, Array], rng: np.random.Generator) -> Sale:
    n = len(bid)
    dealer = sale["channel"] == CHANNELS.index("dealer")
    u = rng.random(n)
    offered = (u < np.where(dealer, 0.5, 0.15)) & (sale["deal"] == 0)
    # Some firms leave the last asking price on the record of a sold car.
    last_ask = dealer & (u > 0.88) & (sale["deal"] == 0)
    basis = np.where(offered | last_ask, _ASKING, _PAID)
    amount = np.exp(bid + basis_part(world, bid, sale["venue"], basis))
    amount *= np.exp(0.03 * rng.standard_normal(n))
    return {
        "price": np.where(basis == _ASKING, _advertised(amount), round_bid(amount)),
        "reserve_price": np.full(n, np.nan),
        "outcome": np.where(offered, _OFFERED, _SOLD),
        "basis": basis,
    }


def _advertised(amount: Array) -> Array:
    """Return the amount as an advert writes it: 12,950 or 149,500."""
    small = np.maximum(np.round(amount / 100) * 100 - 50, 450)
    large = np.round(amount / 1000) * 1000 - 500
    shown: Array = np.where(amount < 50_000, small, large)
    return shown


def later_chances(
    world: World, sale: Mapping[str, Array], rng: np.random.Generator
) -> tuple[Array, Sale]:
    """Draw which occasions have a sequel within weeks: lots come back, offers find buyers.

    Parameters
    ----------
    world : World
        Share of re-offers, end of the market.
    sale : mapping of str to numpy.ndarray
        Occasions that were held.
    rng : numpy.random.Generator
        Source of chance.

    Returns
    -------
    origin : numpy.ndarray of int, shape (m,)
        Positions of the occasions that have a sequel.
    sequel : Sale
        The new occasions, not yet held.
    """
    n = len(sale["day"])
    u, wait = rng.random(n), rng.integers(14, 71, size=n)
    back = (sale["outcome"] == _NOT_SOLD) & (u < world.settings.reoffer_share)
    found = (sale["outcome"] == _OFFERED) & (u < 0.6)
    stock = np.minimum(7 + rng.exponential(50, n), _LONGEST_STOCK).astype(np.int64)
    day = sale["day"] + np.where(back, wait, stock)
    in_time = day <= as_days(world.settings.end)
    origin = np.flatnonzero((back | found) & in_time)
    channel = sale["channel"][origin]
    moved = back[origin] & (rng.random(len(origin)) < 0.4)
    placed = _placed(
        day[origin], np.where(moved, 1 - channel, channel), sale["region"][origin], world, rng
    )
    stays = (found | back)[origin] & ~moved
    placed["venue"] = np.where(stays, sale["venue"][origin], placed["venue"])
    sequel = {
        **placed,
        "thinness": sale["thinness"][origin],
        "eager": np.where(back[origin], 0.07, 0.0),
        "deal": found[origin].astype(np.int64),
    }
    return origin, sequel
