"""What the form of asking prices knows of the firm: costs, ledger, cars, and the chance to sell."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from valuation.appraisal.market import MarketModel
from valuation.bidding.costs import Costs
from valuation.bidding.costs_file import read_costs
from valuation.errors import CarFileError, CostsError, SettingsError
from valuation.evidence.stock_known import stock_known
from valuation.evidence.workspace import Workspace
from valuation.forms.in_use import market_in_use, workspace_in_use
from valuation.forms.justify_stock import OfferedCar, cars_of, offered
from valuation.reading.text import compact
from valuation.refresh.stock_settings import segments_in, stock_settings
from valuation.results.ledger import Ledger, StockCar
from valuation.results.said import Said
from valuation.stocking.asking_car import KnownFirm, known_firm
from valuation.study.segments import Segment

__all__ = ["AskFrom", "AskKnown", "ask_known"]


@dataclass(frozen=True)
class AskFrom:
    """Where everything lies that asking prices follow from.

    Parameters
    ----------
    cars : tuple of path-like
        Folders of car files and filled inspection sheets.
    model : path-like or None
        Model file, or folder to which models are published; that of the workspace by default.
    costs : path-like or None
        The firm's cost settings.
    workspace : path-like or None
        The firm's evidence with its stock ledger.
    environment : mapping of str to str or None
        Of the process; its ``VALUATION_WORKSPACE`` counts where `workspace` is missing.
    sales : path-like or None
        Sales from which a model is learned and kept as `model` if there is none yet.
    settings : path-like or None
        The firm's stock settings; those of the workspace by default, else those of the package.
    as_of : datetime.date or None
        First day of the price; the day of the model by default.
    """

    cars: tuple[str | Path, ...]
    model: str | Path | None = None
    costs: str | Path | None = None
    workspace: str | Path | None = None
    environment: Mapping[str, str] | None = None
    sales: str | Path | None = None
    settings: str | Path | None = None
    as_of: date | None = None


@dataclass(frozen=True)
class AskKnown:
    """A firm on a day, and the cars of which a price can be asked.

    Parameters
    ----------
    firm : KnownFirm
        How fast its cars sell, and its money.
    ledger : tuple of StockCar
        Every car of the ledger, empty without one.
    cars : tuple of OfferedCar
        At least one; those in stock first.
    unread : tuple of str
        Names of the files of which no car could be made.
    """

    firm: KnownFirm
    ledger: tuple[StockCar, ...]
    cars: tuple[OfferedCar, ...]
    unread: tuple[str, ...] = ()

    def named(self, name: str) -> OfferedCar:
        """Return the car with a name."""
        return next(entry for entry in self.cars if entry.name == name)

    def in_ledger(self, number: str) -> StockCar:
        """Return the car of the ledger with a stock number; of two that which is in stock.

        Raises
        ------
        SettingsError
            If there is no ledger, no such car in it, or it is sold.
        """
        where, wanted = "Stock number", compact(number)
        if not self.ledger:
            raise SettingsError(
                where,
                "there is no stock ledger to look it up in",
                got=number,
                remedy=(
                    "Read one in with 'valuation ledger import' and set WORKSPACE, or leave the "
                    "number empty and write what was paid"
                ),
            )
        found = [c for c in self.ledger if wanted and compact(c.mark.stock) == wanted]
        if not found:
            raise SettingsError(
                where,
                f"the ledger has no car with it until {self.firm.day:%d %B %Y}",
                got=number,
                remedy="See the numbers with 'valuation ledger list', or set a later AS_OF",
            )
        in_stock = next((c for c in found if c.in_stock), None)
        if in_stock is None:
            raise SettingsError(
                where, "the car is sold", got=number, remedy="Name a car that is in stock"
            )
        return in_stock


def ask_known(place: AskFrom) -> AskKnown:
    """Read everything that asking prices follow from.

    Parameters
    ----------
    place : AskFrom
        Where it lies.

    Raises
    ------
    ValuationError
        If something is missing or can't be read.
    """
    costs = _costs(place.costs)
    workspace = workspace_in_use(place.workspace, place.environment)
    market, _ = market_in_use(place.model, workspace, place.sales)
    ledger, said, segments = _kept(workspace, place.as_of or market.as_of or date.max)
    firm = known_firm(
        market,
        costs,
        stock_settings(place.settings, workspace),
        ledger=ledger.cars,
        said=said,
        segments=segments,
        as_of=place.as_of,
    )
    cars, unread = _cars(place.cars, market, ledger)
    return AskKnown(firm, ledger.cars, cars, unread)


def _costs(path: str | Path | None) -> Costs:
    if path is None:
        raise CostsError(
            "cost settings",
            "none are named, and what a price leaves can't be worked out without them",
            remedy=(
                "Set COSTS at the top to the file of your costs; 'valuation costs --example' "
                "prints one to begin with"
            ),
        )
    return read_costs(path)


def _kept(
    workspace: Workspace | None, day: date
) -> tuple[Ledger, tuple[Said, ...], tuple[Segment, ...]]:
    """Return the ledger, what was said, and the kinds of cars; nothing without a workspace."""
    if workspace is None:
        return Ledger((), day), (), ()
    ledger, said = stock_known(workspace, day)
    return ledger, said, segments_in(workspace)


def _cars(
    folders: Iterable[str | Path], market: MarketModel, ledger: Ledger
) -> tuple[tuple[OfferedCar, ...], tuple[str, ...]]:
    found, unread = cars_of(folders, known_makes=market.makes)
    cars = offered(found, ledger, others=True)
    if not cars:
        raise CarFileError(
            "cars", "there is no car to choose", remedy="Put its car file into the folder"
        )
    # Sorting keeps the order of names among those in stock and among the others.
    return tuple(sorted(cars, key=lambda entry: entry.stock is None)), unread
