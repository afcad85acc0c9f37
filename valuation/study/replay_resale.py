"""What past lots brought when sold again: in the truth of an invented market, or on record."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import Any, Protocol

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from valuation.errors import SettingsError
from valuation.records import SalesBook, Value
from valuation.schema.sale import BASES
from valuation.synthetic.effects import LEVELS
from valuation.synthetic.levels import as_days
from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.pricing import basis_part, contributions
from valuation.synthetic.settings import MarketSettings
from valuation.synthetic.world import VENUES

__all__ = ["LaterSales", "Resales", "TrueResales", "read_truth"]

Floats = NDArray[np.float64]


class Resales(Protocol):
    """Knows what lots brought when they were sold again."""

    def of(self, sale_id: str, on: date, sale: Mapping[str, str]) -> float | None:
        """Return what the car of a sale brings on a day in a sale, None if nobody knows."""

    def says(self, sale_ids: Collection[str]) -> str:
        """Return what the resales of some lots are, in a sentence."""


@dataclass(frozen=True)
class TrueResales:
    """Resales in an invented market whose truth is known.

    A car brings its true expected price in the channel of the resale on that day, what the car
    itself brings more at each of its sales, and a luck of its own that is drawn once for each lot:
    as large as that of the market's sales.  Where no house or firm is named the sale is the mean
    of those of its channel, and so it is for the region.

    Parameters
    ----------
    market : SyntheticMarket
        The market and its truth.
    seed : int
        Seed of the luck.
    """

    market: SyntheticMarket
    seed: int

    def says(self, sale_ids: Collection[str]) -> str:
        """Return what the resales are."""
        return (
            "A resale is the true price of the car in the selling channel on the expected day, "
            f"with a luck drawn anew (seed {self.seed}); costs are taken at their middle."
        )

    @cached_property
    def _rows(self) -> dict[str, int]:
        return {str(s): i for i, s in enumerate(self.market.table["sale_id"])}

    @cached_property
    def _luck(self) -> Floats:
        truth, settings = self.market.truth, self.market.settings
        df = settings.noise_df
        drawn = np.random.default_rng(self.seed).standard_t(df, len(truth.expected))
        of_sale = settings.noise_sd * np.sqrt((1 - settings.car_share) * (df - 2) / df)
        return np.asarray(of_sale * truth.sale["thinness"] * drawn + truth.of_car)

    def of(self, sale_id: str, on: date, sale: Mapping[str, str]) -> float | None:
        """Return what the car of a sale brings, None if the market has no such sale."""
        i = self._rows.get(sale_id)
        if i is None:
            return None
        return float(np.exp(self.expected(i, on, sale) + self._luck[i]))

    def inspected(self, sale_id: str) -> Mapping[str, Value]:
        """Return what is true of the car of a sale, attribute by attribute, none kept back.

        Empty if the market has no such sale.
        """
        i = self._rows.get(sale_id)
        row = {} if i is None else self._actual.iloc[i].to_dict()
        return {str(k): v for k, v in row.items() if v is not None and v == v}

    @cached_property
    def _actual(self) -> pd.DataFrame:
        return self.market.truth.actual()

    def expected(self, i: int, on: date, sale: Mapping[str, str]) -> float:
        """Return the true expected log price of the car of a row, without any luck."""
        truth = self.market.truth
        state = {name: values[[i]] for name, values in truth.state.items()}
        channel = _code("channel", sale.get("channel", ""))
        nowhere = {"venue": np.array([-1]), "region": np.array([-1])}
        occasion = {"day": np.array([as_days(on)]), "channel": np.array([channel]), **nowhere}
        log = sum(float(part[0]) for part in contributions(truth.world, state, occasion).values())
        venue = sale.get("venue", "")
        log += self._mean_effect("venue", [venue] if venue else _venues_of(sale["channel"]))
        log += self._mean_effect("region", [r] if (r := sale.get("region")) else LEVELS["region"])
        # What is asked is not what is paid: a resale is paid.
        word = sale.get("basis", "")
        basis = BASES.index("price paid" if word == "asking price" else word or "price paid")
        codes = np.array([_code("venue", venue)]), np.array([basis])
        return log + float(basis_part(truth.world, np.array([log]), *codes)[0])

    def _mean_effect(self, name: str, words: Any) -> float:
        effects = self.market.truth.world.effects
        codes = np.array([_code(name, w) for w in words])
        return float(np.mean(effects.of_codes(name, codes)))


def _venues_of(channel: str) -> list[str]:
    return [v.name for v in VENUES if v.channel == channel]


def _code(name: str, word: str) -> int:
    """Return the code of a word of a sale; the empty word has no effect."""
    known = {w.casefold(): i for i, w in enumerate(LEVELS[name])}
    if word and word.casefold() not in known:
        raise SettingsError(
            "replay",
            f"the invented market has no such {name}",
            got=word,
            remedy=f"Sell through one of {', '.join(w for w in LEVELS[name] if w)}",
        )
    return known[word.casefold()] if word else -1


@dataclass(frozen=True)
class LaterSales:
    """Resales as the book itself has them: the next sale of the same chassis.

    Nothing is converted: a hammer price stays a hammer price, whoever sold the car.

    Parameters
    ----------
    book : SalesBook
        The sales.
    """

    book: SalesBook

    def says(self, sale_ids: Collection[str]) -> str:
        """Return what the resales are, and how many of each kind."""
        found = [self._next[s] for s in sale_ids if s in self._next]
        kinds = Counter(
            f"{basis}, {channel or 'channel not stated'}" for _, basis, channel in found
        )
        told = "; ".join(f"{n:,} {words}" for words, n in sorted(kinds.items()))
        return (
            "A resale is the next sale of the same chassis in the book, as it is recorded "
            f"({told or 'there is none'}); costs are taken at their middle."
        )

    @cached_property
    def _next(self) -> dict[str, tuple[float, str, str]]:
        t = self.book.table
        sold = t[(t["outcome"] == "sold") & t["chassis"].notna()]
        out = {}
        for _, part in sold.sort_values("sale_date", kind="stable").groupby("chassis", sort=False):
            later = part.shift(-1)
            for sale_id, then, price, basis, channel in zip(
                part["sale_id"],
                later["sale_date"] > part["sale_date"],
                later["price"],
                later["basis"],
                later["channel"],
                strict=True,
            ):
                if then:
                    out[str(sale_id)] = (float(price), str(basis), str(channel or ""))
        return out

    def of(self, sale_id: str, on: date, sale: Mapping[str, str]) -> float | None:
        """Return the price of the next sale of a chassis, whenever and wherever it was."""
        found = self._next.get(sale_id)
        return None if found is None else found[0]


def read_truth(path: str | Path, book: SalesBook, *, seed: int = 0) -> TrueResales:
    """Make the invented market of a ``truth.json`` again, with which a book of its sales agrees.

    Parameters
    ----------
    path : str or pathlib.Path
        ``truth.json`` beside the sales.
    book : SalesBook
        Sales of that market.
    seed : int
        Seed of the luck of resales.

    Raises
    ------
    SettingsError
        If the file can't be read or the market it makes has not brought these prices.
    """
    path = Path(path)
    try:
        said = json.loads(path.read_text(encoding="utf-8"))
        asked = {k: _plain(k, v) for k, v in said["settings"].items()}
        market = make_market(MarketSettings(**asked), seed=int(said["seed"]))
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise SettingsError(
            path.name,
            "this is not the truth of an invented market",
            got=str(error),
            remedy="Name the truth.json that was written with the sales",
        ) from error
    _check(path.name, market, book)
    return TrueResales(market, seed)


def _plain(name: str, value: Any) -> Any:
    return date.fromisoformat(value) if name in ("start", "end", "regime_shift") else value


def _check(where: str, market: SyntheticMarket, book: SalesBook) -> None:
    made = pd.Series(market.table["price"].to_numpy(), index=market.table["sale_id"].astype(str))
    known = made.reindex(book.table["sale_id"].astype(str)).to_numpy()
    off = np.flatnonzero(~(np.abs(known - book.table["price"].to_numpy()) < 0.01))
    if len(off):
        first = book.table.iloc[int(off[0])]
        raise SettingsError(
            where,
            "the sales are not those of this invented market",
            got=f"sale {first['sale_id']} at {first['price']:,.2f}, {len(off)} in all",
            remedy="Name the truth.json that was written with them",
        )
