"""The customer's sheet of one car: what it is worth, why, and what is open."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date

import numpy as np

from valuation.appraisal.appraise import appraise
from valuation.appraisal.batch import batches, sure_of_day
from valuation.appraisal.market import MarketModel
from valuation.appraisal.named_variant import with_named_variant
from valuation.appraisal.strength import CAUTIONS
from valuation.appraisal.wordings import car_cells
from valuation.errors import SettingsError
from valuation.features.table import day_number
from valuation.inspection.cautions import APPEARS_ORIGINAL, VARIANT_AND_ENGINE
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.settings_file import default_inspection_settings
from valuation.records import Car
from valuation.results.customer_sheet import CustomerSheet
from valuation.results.customer_sheet_parts import (
    AdjustedSale,
    AskingPrice,
    CarPicture,
    SheetEvidence,
)
from valuation.results.valuation import NoRange, PriceRange, Valuation
from valuation.selling.customers_market import Purchase, customers_market
from valuation.selling.private_words import private_words
from valuation.selling.selling_sale import DEALER, customers_sale
from valuation.selling.sheet_course import line_course
from valuation.selling.sheet_facts import basic_facts, finding_facts, open_questions, paper_facts
from valuation.selling.sheet_grid import adjusted_points, grid_sales
from valuation.selling.sheet_lines import price_lines
from valuation.selling.sheet_sales import compared_sales
from valuation.selling.sheet_words import OFFERS, heading_of, sale_words, way_words

__all__ = ["asking_price", "customer_sheet"]

_GAP = 60
"""Days without a sale after which the sheet says that the market is taken as unchanged."""


def customer_sheet(
    market: MarketModel,
    car: Car,
    *,
    as_of: date | None = None,
    asking: float | None = None,
    channel: str = "",
    picture: CarPicture | None = None,
    version: str = "",
    purchase: Purchase | None = None,
    inspection: InspectionSettings | None = None,
) -> CustomerSheet:
    """Make the sheet that a customer may see.

    Parameters
    ----------
    market : MarketModel
        Fitted and calibrated; the firm's purchase of the car may be in it.
    car : Car
        The car; ``year`` and ``make`` must be known.  What it says of its sale, its asking price,
        its work and its notes is not used.
    as_of : datetime.date, optional
        Day of the sheet; that of the model by default.
    asking : float, optional
        What the firm asks, in the currency of the market.
    channel : str, optional
        See :func:`valuation.selling.selling_sale.customers_sale`.
    picture : CarPicture, optional
        See :func:`valuation.selling.sheet_picture.picture_of`.
    version : str, optional
        Version of the model.
    purchase : Purchase, optional
        What the ledger knows of the firm's purchase of this car.
    inspection : InspectionSettings, optional
        The firm's own; those of the package without it.

    Returns
    -------
    CustomerSheet
        Nothing in it tells what the firm paid, seeks to earn, noted, or asks elsewhere.

    Raises
    ------
    CarFileError
        If year or make is missing.
    SettingsError
        If the asking price is no amount, no sale has the channel, or a day is given for an
        undated list.
    """
    if asking is not None and not (np.isfinite(asking) and round(asking) >= 1):
        raise SettingsError(
            "asking price",
            "it is no amount of 1 or more",
            got=f"{asking}",
            remedy="Write it in figures, such as 45000",
        )
    day = sure_of_day(market, as_of)
    hide = private_words(market, car)
    market = customers_market(market, with_named_variant(market, car), purchase=purchase)
    sold = _shown_car(with_named_variant(market, car), customers_sale(market, car, channel))
    valued = appraise(market, sold, as_of=day)
    cells = car_cells(sold, day, sold.sale) | {"chassis": sold.chassis}
    offers = market.estimand == OFFERS
    found = compared_sales(next(batches(market, [sold], as_of=day)), offered=offers)
    points = adjusted_points(found)
    return CustomerSheet(
        heading=heading_of(cells),
        basics=basic_facts(sold),
        picture=picture,
        as_of=day,
        currency=market.currency,
        meaning=sale_words(sold.sale, offered=offers),
        offers=offers,
        central=valued.central,
        range=_range(valued),
        asking=None if asking is None else asking_price(_whole(asking), valued, points),
        start_label=_start_label(market, valued),
        start=valued.start,
        lines=price_lines(valued.contributions, cells, usual=market.usual, central=valued.central),
        points=points,
        far=found.far,
        sales=grid_sales(market, found, cells, hide),
        course=line_course(market, sold, start=valued.start, as_of=day),
        papers=paper_facts(sold),
        findings=finding_facts(sold, inspection or default_inspection_settings()),
        questions=open_questions(sold, valued.checks),
        evidence=SheetEvidence(
            valued.evidence.strength,
            valued.evidence.level,
            valued.evidence.sales,
            len(market.frame),
            valued.evidence.outside,
        ),
        notes=tuple(_notes(market, sold, valued, day)),
        version=version,
        cautions=(*CAUTIONS, APPEARS_ORIGINAL, VARIANT_AND_ENGINE),
    )


def _shown_car(car: Car, sale: Mapping[str, str]) -> Car:
    """Return the car as it is sold, without what is the firm's or the seller's own business."""
    return replace(car, sale=sale, label="", notes=(), asking=None, work=(), cure=None, stops=())


def asking_price(asking: int, valued: Valuation, points: tuple[AdjustedSale, ...]) -> AskingPrice:
    """Set an asking price beside an estimate and beside adjusted sales.

    Parameters
    ----------
    asking : int
        Whole currency units.
    valued : Valuation
        With central estimate and range.
    points : tuple of AdjustedSale
        Sales brought to the car.
    """
    answer = _range(valued)
    inside = None
    if isinstance(answer, PriceRange):
        inside = answer.lower <= asking <= answer.upper
    return AskingPrice(
        asking,
        asking - valued.central,
        inside,
        sum(p.adjusted < asking for p in points),
        sum(p.adjusted > asking for p in points),
        sum(p.adjusted == asking for p in points),
    )


def _range(valued: Valuation) -> PriceRange | NoRange:
    """Return the range in whole units, or in words for a customer why there is none."""
    answer = valued.range
    if isinstance(answer, PriceRange):
        return PriceRange(answer.level, float(_whole(answer.lower)), float(_whole(answer.upper)))
    if valued.evidence.outside:
        return answer
    return NoRange("Too few past estimates can be held against prices for an honest range.")


def _start_label(market: MarketModel, valued: Valuation) -> str:
    verb = "offered" if market.estimand == OFFERS else "sold"
    return f"{valued.start_label}, {verb} {way_words(market.usual)}".rstrip()


def _whole(amount: float) -> int:
    return int(np.floor(amount + 0.5))


def _notes(market: MarketModel, car: Car, valued: Valuation, day: date | None) -> Iterator[str]:
    if market.estimand == OFFERS:
        yield (
            "The evidence is of asking prices: the figures are what is asked for such cars, which "
            "may be more than is paid."
        )
    elif car.sale["channel"] != DEALER:
        yield f"The figures are those of a car {sale_words(car.sale)}."
    if market.estimand == "market bid":
        yield "The highest bid on a car that did not sell counts as what the market bid for it."
    if valued.evidence.level == "make":
        yield "No sale of this very model is known: other models of its make speak for it."
    if valued.evidence.outside:
        yield "The car lies outside what the sales have seen. The central figure is a guess."
    if day is not None and day_number(day) - market.fitted.last_day > _GAP:
        yield (
            "The newest sale is more than two months older than this sheet: the market is taken "
            "as unchanged since, and the range is wider for it."
        )
    if day is not None and day_number(day) < market.fitted.last_day:
        yield "The model knows sales made after the day of this sheet."
