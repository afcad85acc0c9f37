"""The salesperson's notebook as it is worked: in JupyterLab, and as a plain page of Voilà."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from lab import CHANGE_THEME
from notebook_page import SEEN, NotebookPage
from pypdf import PdfReader
from test_price_before_bidding import BEYOND, COLOURS, GROUNDS, rgb
from voila_page import VoilaPage

from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.bidding.costs_file import read_costs
from valuation.features.settings import FeatureSettings
from valuation.forms.justify_stock import cars_of, offered
from valuation.importing.sales import read_sales
from valuation.money import format_money
from valuation.records import Car
from valuation.report.palette import INK, PAPER, QUIET
from valuation.results.customer_sheet import CustomerSheet
from valuation.results.valuation import PriceRange
from valuation.results.what_if import change_words
from valuation.selling.beside import beside
from valuation.selling.customers_market import customers_market
from valuation.selling.questions import default_questions
from valuation.selling.sheet import customer_sheet
from valuation.selling.what_if import what_if, what_ifs
from valuation.selling.what_if_changes import Change
from valuation.stocking.asking_car import ask_for, known_firm
from valuation.stocking.asking_money import MoneyIn
from valuation.stocking.settings import default_stock_settings
from valuation.store.modelfile import load_model, save_model

pytestmark = pytest.mark.browser

NAME = "justify_price.ipynb"
CAR = "1968 Torvane GT Standard coupe, blue"
OTHER = "1967 Torvane GT convertible"
ASKING = "Asking price, EUR"
LEAN = ModelSettings(features=FeatureSettings(words=False, local=False), origins=3)
# What may stand on no screen before a customer: places, insides of the program, sellers' words.
NEVER = (
    "Traceback", "Error:", "/opt", "/root", "/pytest-", "site-packages", ".toml", ".xlsx",
    "<valuation", "object at 0x", "TO68-90412", "driver-quality",
)  # fmt: skip


@dataclass(frozen=True)
class Known:
    """The model and the cars of the notebook, as the Python interface has them."""

    market: MarketModel
    cars: dict[str, Car]

    def sheet(self, asking: float | None = None) -> CustomerSheet:
        """Return the sheet of the car."""
        return customer_sheet(self.market, self.cars[CAR], asking=asking)


@pytest.fixture(scope="module")
def known(files: Path) -> Known:
    """Return a model of few sales, kept where the notebook looks for it, and the cars."""
    data = files / "data_synthetic"
    book = read_sales(data / "sales.csv").subset(np.arange(400))
    save_model(fit_market(book, settings=LEAN), files / "market.model")
    market = load_model(files / "market.model")
    cars, _ = cars_of([data / "cars", data / "sheets"], known_makes=market.makes)
    return Known(market, {entry.name: entry.car for entry in offered(cars)})


@pytest.fixture(scope="module", params=["lab", "voila"])
def shown(request: pytest.FixtureRequest, known: Known) -> Iterator[NotebookPage]:
    """Return the notebook, run to its end."""
    page: NotebookPage = request.getfixturevalue(request.param)
    page.show(NAME)
    yield page
    assert (page.faults(), page.console, page.outside) == ([], [], [])


def money(amount: float) -> str:
    return format_money(amount, "")


def visible(page: NotebookPage, selector: str) -> list[str]:
    """Return the texts of the elements that are shown: a part that is hidden has texts too."""
    found = page.outputs(selector).filter(visible=True).all()
    return [text for text in (str(element.evaluate(SEEN)) for element in found) if text]


def seen(page: NotebookPage) -> str:
    """Return all the text that is seen of the form."""
    return "\n".join(visible(page, ".widget-html-content"))


def said(page: NotebookPage) -> list[str]:
    """Return what the form says was done or is wrong."""
    return visible(page, "p[role=status]")


def test_a_car_is_chosen_and_its_price_set_beside_the_range(
    shown: NotebookPage, known: Known
) -> None:
    assert shown.options("Car") == list(known.cars)
    shown.choose("Car", CAR)
    shown.write_into(ASKING, "48.500,00 €")
    sheet = known.sheet(48_500.0)
    assert isinstance(sheet.range, PriceRange)
    assert sheet.asking is not None
    text = seen(shown)
    for amount in (sheet.range.lower, sheet.range.upper, sheet.central, 48_500):
        assert money(amount) in text
    assert money(abs(sheet.asking.above)) in text
    for sale in sheet.sales:
        assert sale.title in text
        assert money(sale.adjusted) in text
    assert said(shown) == []
    assert [word for word in NEVER if word in text] == []


def test_what_if_is_answered(shown: NotebookPage, known: Known) -> None:
    car = known.cars[CAR]
    shown.choose("Car", CAR)
    shown.click("What if")
    question = default_questions()[0]
    shown.choose("Question", question.ask)
    shown.click("Ask")
    (answer,) = what_ifs(known.market, car, [question]).answers
    assert change_words(answer) in seen(shown)
    shown.choose("Question", "Something else")
    shown.choose("What would differ", "Mileage")
    shown.write_into("It would be", "+20,000")
    shown.click("Ask")
    answer = what_if(known.market, car, [Change("mileage", "+20,000")])
    text = seen(shown)
    assert change_words(answer) in text
    assert [word for word in NEVER if word in text] == []


def test_another_car_is_put_beside(shown: NotebookPage, known: Known) -> None:
    shown.choose("Car", CAR)
    shown.write_into(ASKING, "48,500")
    shown.click("Another car")
    shown.choose("The other car", OTHER)
    shown.write_into("Its price, EUR", "61,000")
    shown.click("Put it beside")
    market = customers_market(known.market, known.cars[CAR])
    found = beside(market, known.cars[CAR], known.cars[OTHER], our_price=48_500, their_price=61_000)
    text = seen(shown)
    assert found.theirs.heading in text
    assert money(found.ours.central) in text
    assert money(found.theirs.central) in text
    assert money(abs(found.difference)) in text
    shown.choose("The other car", "An advert, written below")
    shown.write_into(
        "Words of its advert", "1968 Torvane GT Coupe, 4-speed\nMatching numbers. No rust."
    )
    shown.click("Put it beside")
    text = seen(shown)
    assert "1968 Torvane GT coupe" in text
    assert "No rust" not in text
    assert [word for word in NEVER if word in text] == []


class Words(HTMLParser):
    """The text of a page, without style sheets; every opened element has to be closed."""

    VOID = frozenset({"meta", "link", "br", "hr", "img", "col"})

    def __init__(self, html: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.text = ""
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: object) -> None:
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.text += data + " "


def test_the_sheet_is_kept_as_a_file(shown: NotebookPage, known: Known, files: Path) -> None:
    shown.choose("Car", CAR)
    shown.write_into(ASKING, "48,500")
    shown.click("Keep the sheet")
    name = f"for Saturday, {type(shown).__name__}"
    shown.write_into("File name", name)
    shown.click("Save the sheet")
    assert said(shown) == [f"Saved as {name}.pdf in the folder customer_sheets."]
    shown.choose("Keep it as", "HTML page")
    shown.click("Save the sheet")
    assert said(shown) == [f"Saved as {name}.html in the folder customer_sheets."]
    kept = files / "customer_sheets"
    page = Words((kept / f"{name}.html").read_text("utf-8"))
    assert page.open == []
    pdf = PdfReader(io.BytesIO((kept / f"{name}.pdf").read_bytes()))
    printed = " ".join(sheet.extract_text() for sheet in pdf.pages)
    sheet = known.sheet(48_500.0)
    assert isinstance(sheet.range, PriceRange)
    numbers = [sheet.range.lower, sheet.range.upper, sheet.central, 48_500]
    numbers += [abs(line.amount) for line in sheet.lines] + [s.adjusted for s in sheet.sales]
    for text in (page.text, printed):
        words = re.sub(r"\s+", " ", text)
        assert sheet.heading in words
        assert [n for n in numbers if money(n) not in words] == []
        assert [word for word in NEVER if word in words] == []


def test_what_is_typed_wrong_is_a_sentence(shown: NotebookPage, known: Known) -> None:
    shown.click("The sheet")
    shown.write_into(ASKING, "a good price")
    assert said(shown) == [
        "Asking price: it is no price (got: a good price). Write it in figures, such as 48,500."
    ]
    shown.click("Keep the sheet")
    shown.write_into("File name", "../../x")
    shown.click("Save the sheet")
    assert "it has to be a plain name without a folder (got: ../../x)" in said(shown)[-1]
    shown.write_into("File name", "x")
    shown.click("Save the sheet")
    assert said(shown)[-1].startswith("The sheet: there is none yet.")
    shown.write_into(ASKING, "")
    shown.click("What if")
    shown.choose("Question", "Something else")
    shown.choose("What would differ", "Mileage")
    shown.write_into("It would be", "far")
    shown.click("Ask")
    (told,) = said(shown)
    assert "mileage has to be" in told
    assert "(got: far)" in told
    shown.click("Another car")
    shown.choose("The other car", "An advert, written below")
    shown.write_into("Words of its advert", "<script>alert(1)</script> a nice old thing")
    shown.click("Put it beside")
    told = said(shown)[-1]
    assert "can't be valued without" in told
    assert [word for word in NEVER if word in seen(shown)] == []


@pytest.mark.parametrize("shown", ["voila"], indirect=True)
def test_every_car_of_the_stock_has_a_sheet_or_a_reason(shown: NotebookPage, known: Known) -> None:
    shown.click("The sheet")
    for name in known.cars:
        shown.choose("Car", name)
        text = seen(shown)
        assert "What it is worth" in text
        assert [word for word in NEVER if word in text] == []


FIRM_ONLY = "What to ask (for the firm only)"
PAID = 31_313


def fits(page: NotebookPage) -> None:
    """Check that nothing reaches beyond the width of a phone."""
    page.page.set_viewport_size({"width": 390, "height": 800})
    page.settle()
    wide = "(parts) => parts.filter((p) => p.getBoundingClientRect().right > innerWidth + 1).length"
    assert page.page.locator(".jupyter-widgets:visible").evaluate_all(wide) == 0
    assert page.outputs(".valuation :is(h2, p, dl, figure)").evaluate_all(BEYOND) == 0
    page.page.set_viewport_size({"width": 1300, "height": 1000})
    page.settle()


def test_what_to_ask_is_for_the_firm_only(shown: NotebookPage, known: Known, files: Path) -> None:
    assert shown.outputs("button").get_by_text("Put away").count() == 0
    shown.click(FIRM_ONLY)
    shown.choose("Car to ask for", CAR)
    shown.write_into("Paid for it, EUR", f"{PAID:,}")
    shown.write_into("Days to sell within", "60")
    shown.write_into("Least chance, %", "40")
    shown.click("Work it out")
    costs = read_costs(files / "data_synthetic" / "costs.toml")
    firm = known_firm(known.market, costs, default_stock_settings())
    money_in = MoneyIn(100 * PAID, 100 * PAID, firm.day)
    answer = ask_for(firm, known.cars[CAR], money=money_in, target_days=60, target_percent=40)
    figures = [f"{money(n)} EUR" for n in (answer.best.ask, answer.estimate, PAID)]
    text = seen(shown)
    assert [figure for figure in figures if figure not in text] == []
    assert "Internal: not for customers." in text
    assert answer.rule in text
    if isinstance(shown, VoilaPage):  # JupyterLab's own panels want more room than a phone has
        fits(shown)
    kept = files / "internal_pages" / f"What to ask, {CAR}.pdf"
    kept.unlink(missing_ok=True)
    shown.click("Save the page")
    assert said(shown)[-1] == f"Saved as {kept.name} in the folder internal_pages."
    printed = "".join(sheet.extract_text() for sheet in PdfReader(kept).pages)
    assert figures[0] in re.sub(r"\s+", " ", printed)
    assert list((files / "customer_sheets").glob("What to ask*")) == []
    assert money(PAID) in shown.page.content()
    shown.click("Put away")
    left = shown.page.content()
    inside = ("Paid for it", "What to ask,", answer.rule, money(PAID), str(PAID), figures[0])
    assert [word for word in inside if word in left] == []
    assert shown.outputs("button").get_by_text(FIRM_ONLY, exact=True).count() == 1


# JupyterLab's own panels want more room than a phone has.
@pytest.mark.parametrize("shown", ["voila"], indirect=True)
def test_it_fits_a_phone(shown: NotebookPage) -> None:
    for part in ("The sheet", "What if", "Another car", "Keep the sheet"):
        shown.click(part)
        fits(shown)


@pytest.mark.parametrize("shown", ["lab"], indirect=True)
def test_on_a_dark_ground_the_sheet_can_be_read(shown: NotebookPage) -> None:
    shown.page.evaluate(CHANGE_THEME, {"theme": "JupyterLab Dark"})
    shown.page.wait_for_function("document.body.dataset.jpThemeLight === 'false'")
    shown.settle()
    parts = shown.outputs(".valuation :is(h2, p, dt, dd, caption, th, td, li, figcaption)")
    assert {rgb(INK), rgb(QUIET)} >= set(parts.evaluate_all(COLOURS)) != set()
    assert shown.outputs(".valuation, .valuation table").evaluate_all(GROUNDS) == [rgb(PAPER)]
