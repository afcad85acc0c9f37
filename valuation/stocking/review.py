"""The review of a stock: every car of the firm, what it is worth, what moved, what to decide."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

from valuation.appraisal.brief import Brief
from valuation.appraisal.market import MarketModel
from valuation.bidding.costs import Costs
from valuation.cents import from_cents, in_cents
from valuation.errors import CostsError, SettingsError
from valuation.features.columns import key
from valuation.reading.text import compact
from valuation.records import Car
from valuation.results.ledger import StockCar
from valuation.results.said import Said
from valuation.results.stock_parts import StockWorth, WayOut
from valuation.results.stock_review import ReviewedCar, StockReview
from valuation.results.words import PAID_COUNTS
from valuation.selling.selling_sale import customers_sale
from valuation.stocking.asking import Asking
from valuation.stocking.asking_car import asked_until, auction_sale
from valuation.stocking.asking_money import money_elsewhere, paid_below
from valuation.stocking.chance import ChanceToSell, fit_chance
from valuation.stocking.drift import Moves, worth_of
from valuation.stocking.in_stock import (
    ask_of,
    faults_of,
    holding_so_far,
    money_of,
    month_before,
)
from valuation.stocking.offered import cars_of_ledger, offered_cars
from valuation.stocking.settings import StockSettings
from valuation.stocking.spells import OfferedCar, spells_of
from valuation.stocking.together import Together, together
from valuation.stocking.ways_out import Offer, ways_out
from valuation.study.segments import Segment

__all__ = ["review_stock"]

_CAR_FILE = "car file"
_EVIDENCE = "an earlier sale of the chassis in the evidence"
_LEDGER = "the ledger alone: make, model and year"

_NO_COST = "the ledger states no purchase, or money in another currency"
_NO_RANGE = "they have no range"

_BARE = {"make", "model", "year"}
"""What a ledger says of a car."""


def review_stock(
    market: MarketModel,
    stock: Sequence[StockCar],
    costs: Costs,
    settings: StockSettings,
    *,
    as_of: date,
    cars: Mapping[str, Car] | None = None,
    segments: Sequence[Segment] = (),
    said: Sequence[Said] = (),
    earlier: MarketModel | None = None,
    seed: int = 0,
) -> StockReview:
    """Review the stock of a firm.

    Parameters
    ----------
    market : MarketModel
        Dated.
    stock : sequence of StockCar
        Every car of the ledger: those sold tell how fast cars sell.
    costs : Costs
        Costs of holding and selling.
    settings : StockSettings
        Assumptions, and when a car is looked at.
    as_of : datetime.date
        Day of the review.
    cars : mapping of str to Car, optional
        What is known of cars by stock number; of others what the evidence says of their chassis,
        else what the ledger does.
    segments : sequence of Segment
        Kinds of cars; each make is one by default.
    said : sequence of Said
        What was said of cars.
    earlier : MarketModel, optional
        The model of a month ago, for what the model itself says otherwise.
    seed : int
        Of the draws behind chances.

    Returns
    -------
    StockReview
        Of the cars in stock.

    Raises
    ------
    CostsError
        If the cost settings are in another currency than the market.
    SettingsError
        If the market is undated.
    """
    if costs.currency != market.currency:
        raise CostsError(
            "cost settings",
            "they are in another currency than the model",
            got=f"{costs.currency}, model in {market.currency}",
            remedy=f"State the costs of selling and holding in {market.currency}",
        )
    if market.as_of is None:
        raise SettingsError(
            "--model", "a model without days can't tell what moved", remedy="Fit one on dated sales"
        )
    review = _Review(
        market, tuple(stock), costs, settings, as_of, dict(cars or {}), tuple(segments),
        tuple(said), earlier, seed,
    )  # fmt: skip
    return review.made()


@dataclass(frozen=True)
class _Review:
    """What a review is made of, worked out once."""

    market: MarketModel
    stock: tuple[StockCar, ...]
    costs: Costs
    settings: StockSettings
    as_of: date
    cars: Mapping[str, Car]
    segments: tuple[Segment, ...]
    said: tuple[Said, ...]
    earlier: MarketModel | None
    seed: int

    @cached_property
    def held(self) -> list[int]:
        """Places of the cars in stock."""
        return [i for i, car in enumerate(self.stock) if car.in_stock]

    @cached_property
    def sale(self) -> dict[str, str]:
        """Sale that all cars are valued for."""
        return customers_sale(self.market, Car({}))

    @cached_property
    def facts(self) -> tuple[Car, ...]:
        """What is known of the cars in stock."""
        held = [self.stock[i] for i in self.held]
        return cars_of_ledger(self.market, held, self.cars)

    @cached_property
    def worth(self) -> Together:
        """The cars in stock, valued together."""
        return together(self.market, self.facts, sale=self.sale, as_of=self.as_of)

    @cached_property
    def offered(self) -> tuple[OfferedCar, ...]:
        """Every car of the ledger with what its chance to sell depends on."""
        return offered_cars(
            self.market, self.stock, cars=self.cars, segments=self.segments, said=self.said
        )

    @cached_property
    def since(self) -> date:
        """Day that drift is held against."""
        day = self.earlier.as_of if self.earlier else None
        return day or month_before(self.as_of)

    @cached_property
    def before(self) -> tuple[Brief | None, ...]:
        """What the earlier model said on its own day."""
        if self.earlier is None:
            return (None,) * len(self.held)
        sale = customers_sale(self.earlier, Car({}))
        if key(sale["channel"]) != key(self.sale["channel"]):
            return (None,) * len(self.held)
        return together(self.earlier, self.facts, sale=sale).briefs

    @cached_property
    def chance(self) -> ChanceToSell:
        """How fast cars sell."""
        spells = spells_of(self.offered, currency=self.market.currency, as_of=self.as_of)
        return fit_chance(spells, self.settings, seed=self.seed)

    @cached_property
    def firm(self) -> Asking:
        """What holds for every asking price."""
        least, auction = self.settings.least_sales, self.settings.auction
        return Asking(
            self.chance,
            self.costs,
            self.settings.asking,
            auction,
            paid_below(self.offered, self.costs, as_of=self.as_of, least=least),
            money_elsewhere(self.stock, self.costs, auction, as_of=self.as_of, least=least),
        )

    @cached_property
    def auction_sale(self) -> dict[str, str] | None:
        """Sale at auction, None if the evidence has none."""
        return auction_sale(self.market)

    def made(self) -> StockReview:
        """Return the review."""
        moves = Moves(self.market, self.as_of, self.since, self.said, self.sale["channel"])
        cars = [self._car(place, moves) for place in range(len(self.held))]
        ways = self._ways(cars)
        found = tuple(replace(c, ways=ways.get(i, ())) for i, c in enumerate(cars))
        return StockReview(
            self.market.currency,
            self.as_of,
            self.sale["channel"],
            self.since,
            self.earlier is not None,
            found,
            self._together(found),
            self.chance.basis,
            self.chance.own,
            self.settings.asking.target_days,
            self.settings.old_after_days,
            self.settings.drift_percent,
            self.firm.elsewhere.words(),
            self._notes(found),
        )

    def _car(self, place: int, moves: Moves) -> ReviewedCar:
        """Return one car without its ways out."""
        car, brief = self.stock[self.held[place]], self.worth.briefs[place]
        now = worth_of(brief, self.as_of)
        money = money_of(car, self.costs)
        listed = car.first_listed if car.state == "listed" else None
        days = (self.as_of - listed).days if listed else None
        return ReviewedCar(
            car.mark.stock,
            car.mark.name,
            self.offered[self.held[place]].segment,
            self._source(place),
            car.state,
            ask_of(car, self.market.currency),
            now,
            moves.then(car, brief, now),
            moves.drift(brief, self.before[place]),
            (self.as_of - car.bought.on).days if car.bought and car.bought.on else None,
            days,
            from_cents(money.paid) if money else None,
            from_cents(money.outlay - money.paid) if money else None,
            holding_so_far(car, self.costs, self.as_of) if money else None,
            days is not None and days >= self.settings.old_after_days,
            notes=tuple(faults_of(car, self.market.currency, brief)),
        )

    def _source(self, place: int) -> str:
        given = {compact(number) for number in self.cars}
        if compact(self.stock[self.held[place]].mark.stock) in given:
            return _CAR_FILE
        return _EVIDENCE if set(self.facts[place].values) - _BARE else _LEDGER

    def _ways(self, cars: Sequence[ReviewedCar]) -> dict[int, tuple[WayOut, ...]]:
        """Return the ways out of cars to decide about of which all is known, by their places."""
        known = [
            i
            for i, c in enumerate(cars)
            if c.old and c.now and c.now.level and c.ask and c.paid and c.days_in_stock is not None
        ]
        if not known or self.auction_sale is None:
            return {}
        at_house = together(
            self.market, [self.facts[i] for i in known], sale=self.auction_sale, as_of=self.as_of
        ).briefs
        out = {}
        for i, hammer in zip(known, at_house, strict=True):
            offer = self._offer(i, cars[i], hammer)
            if offer is not None:
                out[i] = ways_out(offer, self.firm, self.as_of)
        return out

    def _offer(self, place: int, car: ReviewedCar, hammer: Brief | None) -> Offer | None:
        stock, sold = self.offered[self.held[place]], self.worth.briefs[place]
        money = money_of(stock.stock, self.costs)
        if hammer is None or sold is None or money is None or car.ask is None:
            return None
        return Offer(
            stock.segment,
            stock.condition,
            in_cents(car.ask),
            car.days_listed or 0,
            car.days_in_stock or 0,
            money,
            sold,
            hammer,
            asked_until(stock.stock, sold.central, self.market.currency, self.as_of),
        )

    def _together(self, cars: Sequence[ReviewedCar]) -> StockWorth | None:
        """Return what the cars are worth together beside the money in them."""
        ranged = self.worth.ranged
        why = Counter(
            _NO_COST if c.cost is None else _NO_RANGE
            for i, c in enumerate(cars)
            if c.cost is None or not ranged[i]
        )
        places = [i for i, c in enumerate(cars) if c.cost is not None and ranged[i]]
        found = self.worth.sum(places)
        if found is None:
            return None
        cost = sum(float(cars[i].cost or 0) for i in places)
        holding = sum(float(cars[i].holding or 0) for i in places)
        return StockWorth(
            len(places),
            found.mean,
            *found.ends,
            found.sd,
            found.sd_apart,
            cost,
            holding,
            found.below(cost),
            tuple(sorted(why.items())),
        )

    def _notes(self, cars: Sequence[ReviewedCar]) -> tuple[str, ...]:
        notes = []
        bare = sum(c.facts == _LEDGER for c in cars)
        if bare:
            notes.append(
                f"Of {bare:,} of {len(cars):,} cars nothing is known but make, model and year of "
                "the ledger: their estimates are those of usual such cars. Give their car files "
                "with --cars."
            )
        if self.earlier is None:
            notes.append(
                "No model of a month ago is at hand: drift is that of the market level alone."
            )
        if self.auction_sale is None:
            notes.append("The evidence has no auction: what one would bring can't be said.")
        notes.append(
            "The worth of the stock is what customers would pay for all of it today, before the "
            "costs of selling. What cars have in common is the level of the market and the effects "
            "of the fit; if cars of one kind err together beyond that, its range is too narrow."
        )
        notes.append(PAID_COUNTS)
        return tuple(notes)
