"""A form in which a salesperson shows a customer why a car costs what it does."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import ipywidgets

from valuation.appraisal.market import MarketModel
from valuation.errors import CarFileError
from valuation.forms.justify_ask import OWN, AskPart
from valuation.forms.justify_beside import BesidePart, typed_price
from valuation.forms.justify_said import SayLine
from valuation.forms.justify_save import SavePart
from valuation.forms.justify_stock import OfferedCar, Stock
from valuation.forms.shown import page_html
from valuation.forms.widgets import field, hint, narrow_choice, views
from valuation.inspection.settings import InspectionSettings
from valuation.inspection.settings_file import default_inspection_settings
from valuation.records import Car
from valuation.report.beside_page import beside_page
from valuation.report.pdf import render_pdf
from valuation.report.sheet_page import render_sheet, sheet_page
from valuation.report.what_if_page import what_if_page
from valuation.results.customer_sheet import CustomerSheet
from valuation.selling.beside import beside
from valuation.selling.customers_market import Purchase
from valuation.selling.own_stock import purchase_of
from valuation.selling.questions import Question, default_questions
from valuation.selling.sheet import customer_sheet
from valuation.selling.what_if import what_if, what_ifs

__all__ = ["JustifyForm"]

ASKING = "Asking price"

UNREAD = "Files in the folder of which no car could be made: {}. Let the analyst look at them."
"""Without their names, which may say more than a customer should read."""


class JustifyForm:
    """A car from stock, its asking price, and what a customer may ask; see :func:`justify_form`.

    What it shows is fit for a customer's eyes: nothing in it tells what the firm paid, and what
    goes wrong is one sentence.

    Parameters
    ----------
    market : MarketModel
        Fitted and calibrated.
    stock : Stock
        The cars to choose from, at least one.
    save_to : path-like
        Folder in which sheets are kept.
    as_of : datetime.date, optional
        Day of the sheet; the day of the model by default.
    version : str
        Version of the model, for the foot of the sheet.
    questions : sequence of Question, optional
        Those that are asked often; those that come with the package by default.
    inspection : InspectionSettings, optional
        Zones and components; those that come with the package by default.

    Attributes
    ----------
    car : ipywidgets.Dropdown
        The car.
    asking : ipywidgets.Text
        What the firm asks for it.
    view : ipywidgets.ToggleButtons
        Which part is shown.
    ask, beside, save : AskPart, BesidePart, SavePart
        The other parts.
    said : SayLine
        What is wrong with car or price.
    box : ipywidgets.VBox
        All of it.
    """

    def __init__(
        self,
        market: MarketModel,
        stock: Stock,
        *,
        save_to: str | Path,
        as_of: date | None = None,
        version: str = "",
        questions: Sequence[Question] | None = None,
        inspection: InspectionSettings | None = None,
    ) -> None:
        if not stock.cars:
            raise CarFileError(
                "stock", "there is no car to choose", remedy="Put its car file into the folder"
            )
        self._market, self._stock, self._as_of, self._version = market, stock, as_of, version
        self._inspection = inspection or default_inspection_settings()
        self._sheet: CustomerSheet | None = None
        names = [entry.name for entry in stock.cars]
        self.car = narrow_choice("Car", names, names[0])
        self.asking = field(f"{ASKING}, {market.currency}", "such as 48,500; may be left empty")
        self.said = SayLine()
        self.ask = AskPart(questions or default_questions(), self._inspection, self._answer)
        self.beside = BesidePart(market.makes, market.currency, self._compare)
        kept: dict[str, Callable[[], bytes]] = {"PDF": self._pdf, "HTML page": self._html}
        self.save = SavePart(save_to, kept)
        self._shown = ipywidgets.HTML()
        self._parts = {
            "The sheet": self._shown,
            "What if": self.ask.box,
            "Another car": self.beside.box,
            "Keep the sheet": self.save.box,
        }
        self.view = views(list(self._parts))
        self.box = ipywidgets.VBox(list(self._rows()))
        self.car.observe(self._car_chosen, "value")
        self.asking.observe(self._asked, "value")
        self.view.observe(self._turned, "value")
        self._turned(None)
        self._car_chosen(None)

    @property
    def sheet(self) -> CustomerSheet:
        """The customer's sheet as the form stands.

        Raises
        ------
        CarFileError
            If there is none; the form says why.
        """
        if self._sheet is None:
            raise CarFileError(
                "The sheet", "there is none yet", remedy="See above what is wrong with it"
            )
        return self._sheet

    def __repr__(self) -> str:
        return self._sheet.summary() if self._sheet else "There is no sheet yet."

    def _repr_mimebundle_(self, **options: Any) -> dict[str, Any]:
        """Return the form, and the sheet as it stands for whoever shows no forms."""
        bundle: dict[str, Any] = self.box._repr_mimebundle_(**options)
        return {**bundle, "text/plain": repr(self), "text/html": self._shown.value}

    @property
    def _chosen(self) -> OfferedCar:
        return self._stock.named(self.car.value)

    def _rows(self) -> list[ipywidgets.Widget]:
        unread = len(self._stock.unread)
        told = [hint(UNREAD.format(unread))] if unread else []
        return [self.car, self.asking, *told, self.said.widget, self.view, *self._parts.values()]

    def _turned(self, _: object) -> None:
        """Show one part and hide the others."""
        for name, part in self._parts.items():
            part.layout.display = "" if name == self.view.value else "none"

    def _car_chosen(self, _: object) -> None:
        """Start anew with another car: a price or an answer belongs to the one before."""
        chosen = self._chosen
        self.ask.start()
        others = [(entry.name, entry.car) for entry in self._stock.cars if entry is not chosen]
        self.beside.start(others)
        self.save.start(chosen.name)
        if self.asking.value:
            self.asking.value = ""  # which makes the sheet
        else:
            self._asked(None)

    def _asked(self, _: object) -> None:
        self._sheet = None
        self._shown.value = ""
        self.said.doing("Working it out …", self._make_sheet)

    def _price(self) -> float | None:
        return typed_price(self.asking.value, self._market.currency, where=ASKING)

    def _make_sheet(self) -> str:
        chosen = self._chosen
        sheet = customer_sheet(
            self._market,
            chosen.car,
            as_of=self._as_of,
            asking=self._price(),
            version=self._version,
            purchase=self._purchase(chosen),
        )
        self._shown.value = page_html(sheet_page(sheet), "sheet")
        self._sheet = sheet
        return ""

    def _purchase(self, chosen: OfferedCar) -> Purchase | None:
        return purchase_of(chosen.stock, self._market.currency)

    def _answer(self, question: Question) -> str:
        chosen = self._chosen
        told: dict[str, Any] = {
            "as_of": self._as_of,
            "settings": self._inspection,
            "purchase": self._purchase(chosen),
        }
        if question.name == OWN:  # whose value may be wrong, and is then told more plainly
            asked = what_if(self._market, chosen.car, question.changes, ask=question.ask, **told)
            return page_html(what_if_page(asked), "ask")
        found = what_ifs(self._market, chosen.car, [question], **told)
        return page_html(what_if_page(found), "ask")

    def _compare(self, other: Car, price: float | None, kind: str) -> str:
        chosen = self._chosen
        found = beside(
            self._market,
            chosen.car,
            other,
            our_price=self._price(),
            their_price=price,
            price_kind=kind,
            as_of=self._as_of,
            purchase=self._purchase(chosen),
        )
        return page_html(beside_page(found), "beside")

    def _html(self) -> bytes:
        return render_sheet(self.sheet).encode()

    def _pdf(self) -> bytes:
        return render_pdf(sheet_page(self.sheet))
