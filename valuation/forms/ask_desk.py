"""The form of asking prices while it is open: a car, what it has to do, and what to ask for it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import ipywidgets

from valuation.cents import in_cents
from valuation.errors import CarFileError, SettingsError
from valuation.forms.ask_keep import keep_apart
from valuation.forms.ask_known import AskKnown
from valuation.forms.ask_typed import LEAST_CHANCE, TARGET_DAYS, typed_days, typed_percent
from valuation.forms.justify_beside import typed_price
from valuation.forms.justify_said import SayLine
from valuation.forms.justify_save import SavePart
from valuation.forms.justify_stock import OfferedCar
from valuation.forms.shown import page_html
from valuation.forms.widgets import button, field, hint, narrow_choice, wipe
from valuation.reading.text import compact
from valuation.report.ask_page import ask_page
from valuation.report.page import Page, Paragraph
from valuation.report.pdf import render_pdf
from valuation.report.render import render_page
from valuation.results.ledger import StockCar
from valuation.results.stock_ask import StockAsk
from valuation.stocking.asking_car import ask_for
from valuation.stocking.asking_money import MoneyIn, money_in

__all__ = ["AskDesk"]

STOCK_NUMBER = "Stock number"
PAID = "Paid for it"

UNREAD = "Files of which no car could be made: {}."


class AskDesk:
    """The open form; made by :class:`valuation.forms.ask_form.AskForm`.

    Parameters
    ----------
    known : AskKnown
        The firm and its cars.
    keep_in : path-like
        Folder in which pages are kept.
    sheets_in : path-like
        Folder of customer sheets, in which none of them may be.
    put_away : callable
        Closes the form: asked for below an answer too, which is longer than a screen.

    Attributes
    ----------
    car : ipywidgets.Dropdown
        The car.
    number, paid : ipywidgets.Text
        Its stock number; or what was paid for a car that no ledger knows.
    days, chance : ipywidgets.Text
        Days within which it has to be sold, and how likely.
    button, put_away : ipywidgets.Button
        Work it out, and put it all away.
    said : SayLine
        What is wrong.
    save : SavePart
        Keeps the page.
    box : ipywidgets.VBox
        All of it.
    """

    def __init__(
        self,
        known: AskKnown,
        *,
        keep_in: str | Path,
        sheets_in: str | Path,
        put_away: Callable[[object], None],
    ) -> None:
        self._known, self._keep_in, self._sheets_in = known, keep_in, sheets_in
        self._worked_out: tuple[StockAsk, Page] | None = None
        names = [entry.name for entry in known.cars]
        self.car = narrow_choice("Car to ask for", names, names[0])
        self.number = field(STOCK_NUMBER, "empty if in no ledger")
        self.paid = field(f"{PAID}, {self._currency}", "only if in no ledger")
        self.days = field(TARGET_DAYS, "such as 60; may be left empty")
        self.chance = field(LEAST_CHANCE, "such as 60; may be left empty")
        self.button = button("Work it out", self._clicked)
        self.said = SayLine()
        contents: dict[str, Callable[[], bytes]] = {"PDF": self._pdf, "HTML page": self._html}
        self.save = SavePart(keep_in, contents, what="page")
        self.put_away = button("Put it all away", put_away)
        self._shown = ipywidgets.HTML()
        self._below = ipywidgets.VBox([self._shown, self.save.box, self.put_away])
        self._fields = (self.number, self.paid, self.days, self.chance)
        self.box = ipywidgets.VBox(list(self._rows()))
        self.car.observe(self._car_chosen, "value")
        for typed in self._fields:
            typed.observe(self._start, "value")
        self._car_chosen(None)

    @property
    def answer(self) -> StockAsk:
        """What to ask as it was worked out last.

        Raises
        ------
        CarFileError
            If the form was changed since, or nothing was worked out.
        """
        return self._last()[0]

    def wipe(self) -> None:
        """Take everything off the page and forget it."""
        self._worked_out = None
        wipe(self.box)

    def _last(self) -> tuple[StockAsk, Page]:
        if self._worked_out is None:
            raise CarFileError("The page", "there is none yet", remedy="Work it out first")
        return self._worked_out

    @property
    def _currency(self) -> str:
        return self._known.firm.market.currency

    @property
    def _chosen(self) -> OfferedCar:
        return self._known.named(self.car.value)

    def _rows(self) -> list[ipywidgets.Widget]:
        unread = ", ".join(self._known.unread)
        told = [hint(UNREAD.format(unread))] if unread else []
        return [self.car, *told, *self._fields, self.button, self.said.widget, self._below]

    def _car_chosen(self, _: object) -> None:
        """Start anew with another car: what was paid belongs to the one before."""
        chosen = self._chosen
        self.number.value = chosen.stock.mark.stock if chosen.stock else ""
        self.paid.value = ""
        self.save.start(f"What to ask, {chosen.name}")
        self._start(None)

    def _start(self, _: object) -> None:
        """Take an answer away that was to another question."""
        self._worked_out = None
        self._shown.value = ""
        self.said.say("")
        self.save.said.say("")
        self._below.layout.display = "none"

    def _clicked(self, _: object) -> None:
        self._start(None)
        self.said.doing("Working it out …", self._work_out)

    def _work_out(self) -> str:
        chosen, stock = self._chosen, self._stock()
        days, percent = typed_days(self.days.value), typed_percent(self.chance.value)
        if percent is not None and days is None:
            raise SettingsError(
                LEAST_CHANCE, "nothing says until when", remedy=f"Fill in '{TARGET_DAYS}' too"
            )
        answer = ask_for(
            self._known.firm,
            chosen.car,
            stock=stock,
            money=self._money(stock),
            target_days=days,
            target_percent=percent,
        )
        page = ask_page(answer)
        self._worked_out = answer, page
        self._shown.value = page_html(_with_notice(page), "firm")
        self._below.layout.display = ""
        return ""

    def _stock(self) -> StockCar | None:
        """Return the car of the ledger; None for one that no ledger knows."""
        typed, own = self.number.value.strip(), self._chosen.stock
        if own is not None and compact(typed) == compact(own.mark.stock):
            return own
        return self._known.in_ledger(typed) if typed else None

    def _money(self, stock: StockCar | None) -> MoneyIn:
        """Return the money in the car, from the ledger or as if it was bought on the day."""
        paid = typed_price(self.paid.value, self._currency, where=PAID)
        if stock is not None:
            if paid is None:
                return self._put_in(stock)
            raise SettingsError(
                PAID,
                "the ledger says what is in this car",
                got=self.paid.value.strip(),
                remedy="Leave it empty, or empty the stock number",
            )
        if paid is None:
            raise SettingsError(
                PAID,
                "nothing says what was paid for the car",
                remedy="Write its stock number, or what was paid",
            )
        cents = in_cents(paid)
        return MoneyIn(cents, cents, self._known.firm.day)

    def _put_in(self, stock: StockCar) -> MoneyIn:
        known = money_in(stock, self._currency)
        if known is None:
            raise SettingsError(
                STOCK_NUMBER,
                "the ledger doesn't say what was paid for the car",
                got=stock.mark.stock,
                remedy="Add its purchase to the ledger, or write what was paid in place of it",
            )
        return known

    def _page_kept(self) -> Page:
        keep_apart(self._keep_in, self._sheets_in)
        return self._last()[1]

    def _html(self) -> bytes:
        return render_page(self._page_kept()).encode()

    def _pdf(self) -> bytes:
        return render_pdf(self._page_kept())


def _with_notice(page: Page) -> Page:
    """Say above everything for whom it is, and of which car and day."""
    first, *rest = page.sections
    said = (Paragraph(page.notice, "notice"), Paragraph(f"{page.title}, {page.subtitle}."))
    return replace(page, sections=(replace(first, blocks=(*said, *first.blocks)), *rest))
