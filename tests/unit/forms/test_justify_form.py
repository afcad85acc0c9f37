"""The salesperson's form: the figures of the interface, and nothing that is not for customers."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from leaks import leaks_in, visible

from valuation.appraisal.market import MarketModel
from valuation.errors import CarFileError
from valuation.forms import JustifyForm, NoForm, justify_form
from valuation.forms.justify_stock import Stock, offered
from valuation.reading.text import compact
from valuation.records import Car
from valuation.results.ledger import CarMark, Ledger, StockCar, StockEvent
from valuation.selling.beside import beside
from valuation.selling.customers_market import Purchase
from valuation.selling.questions import default_questions
from valuation.selling.sheet import customer_sheet
from valuation.selling.what_if import what_if
from valuation.store.modelfile import save_model

PAID = Decimal("41777.00")
PRIVATE = ("Quillfeather", "secret", "41,777")


@pytest.fixture(scope="module")
def cars(sold_cars: list[Car]) -> list[Car]:
    """Return three cars as a firm's files describe them, with words that no customer reads."""
    # A number of a few digits can stand in any amount.
    shown = [car for car in sold_cars if len(compact(car.chassis)) >= 7][:3]
    return [
        replace(car, label="Quillfeather's", title="secret", asking=41_777.0, notes=("secret",))
        for car in shown
    ]


@pytest.fixture(scope="module")
def stock(cars: list[Car]) -> Stock:
    """Return them as the stock of a firm that knows what it paid for the first."""
    first = CarMark("S-1", cars[0].chassis, str(cars[0].values["make"]))
    bought = StockEvent("bought", date(2024, 1, 7), PAID, "EUR")
    known = [StockCar(first, (bought,), date(2024, 6, 1))]
    known += [
        StockCar(CarMark(f"S-{i}", c.chassis, str(c.values["make"])), (), date(2024, 6, 1))
        for i, c in enumerate(cars[1:], start=2)
    ]
    return Stock(
        offered([(f"x{i}", c) for i, c in enumerate(cars)], Ledger(tuple(known), date.max))
    )


@pytest.fixture
def form(small_market: MarketModel, stock: Stock, tmp_path: Path) -> JustifyForm:
    made = JustifyForm(small_market, stock, save_to=tmp_path / "sheets", version="v1")
    made.car.value = next(entry.name for entry in stock.cars if entry.name.endswith("S-1"))
    return made


def test_the_form_shows_the_sheet_of_the_interface(
    form: JustifyForm, small_market: MarketModel, cars: list[Car]
) -> None:
    form.asking.value = "52,000"
    purchase = Purchase(date(2024, 1, 7), float(PAID))
    same = customer_sheet(small_market, cars[0], asking=52_000.0, version="v1", purchase=purchase)
    assert form.sheet == same
    assert repr(form) == same.summary()
    shown = form._repr_mimebundle_()
    assert leaks_in(visible(shown["text/html"]), amounts=[], numbers=[], words=PRIVATE) == []
    assert f"{same.central:,}" in shown["text/html"]


def test_another_car_starts_anew(form: JustifyForm, stock: Stock) -> None:
    form.asking.value = "52,000"
    form.ask.button.click()
    before = form.sheet
    form.car.value = next(e.name for e in stock.cars if e.name.endswith("S-2"))
    assert form.asking.value == ""
    assert form.sheet.heading != before.heading or form.sheet.central != before.central
    assert form.sheet.asking is None
    assert form.ask.box.children[-1].value == ""
    assert form.save.name.value.endswith("stock S-2")
    assert form.car.value not in form.beside.other.options


def test_what_if_and_beside_are_those_of_the_interface(
    form: JustifyForm, small_market: MarketModel, cars: list[Car], stock: Stock
) -> None:
    purchase = Purchase(date(2024, 1, 7), float(PAID))
    question = default_questions()[0]
    form.ask.question.value = question.ask
    form.ask.button.click()
    answer = what_if(small_market, cars[0], question.changes, purchase=purchase)
    assert f"{answer.after:,}" in form.ask.box.children[-1].value
    form.asking.value, form.beside.price.value = "52,000", "49,500"
    other = next(e for e in stock.cars if e.name.endswith("S-3"))
    form.beside.other.value = other.name
    form.beside.button.click()
    found = beside(
        small_market, cars[0], other.car, our_price=52_000, their_price=49_500, purchase=purchase
    )
    html = form.beside.box.children[-1].value
    assert f"{found.theirs.central:,}" in html
    assert f"{abs(found.difference):,}" in html
    for part in (html, form.ask.box.children[-1].value):
        assert leaks_in(visible(part), amounts=[], numbers=[c.chassis for c in cars],
                        words=PRIVATE) == []  # fmt: skip


def test_names_in_one_document_differ(form: JustifyForm) -> None:
    form.ask.button.click()
    form.beside.other.value = form.beside.other.options[1]
    form.beside.button.click()
    parts = (form._shown.value, form.ask.box.children[-1].value, form.beside.box.children[-1].value)
    names = [line.split('"')[1] for p in parts for line in p.split("<section id=")[1:]]
    assert len(names) > 5
    assert len(set(names)) == len(names)


def test_a_wrong_price_leaves_no_sheet_to_keep(form: JustifyForm, tmp_path: Path) -> None:
    form.asking.value = "dear"
    assert "it is no price (got: dear)" in form.said.text
    assert repr(form) == "There is no sheet yet."
    with pytest.raises(CarFileError):
        _ = form.sheet
    form.save.button.click()
    assert "there is none yet" in form.save.said.text
    assert not (tmp_path / "sheets").exists()


def test_what_nobody_foresaw_tells_nothing(
    small_market: MarketModel, stock: Stock, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("/firm/secret: paid 41,777")

    monkeypatch.setattr(sys.modules[JustifyForm.__module__], "customer_sheet", broken)
    form = JustifyForm(small_market, stock, save_to=tmp_path)
    assert "tell the analyst" in form.said.text
    assert leaks_in(form.said.text, amounts=[], numbers=[], words=PRIVATE) == []
    assert isinstance(form.said.fault, RuntimeError)


def test_it_starts_from_files(small_market: MarketModel, tmp_path: Path) -> None:
    save_model(small_market, tmp_path / "a.model")
    (tmp_path / "cars").mkdir()
    (tmp_path / "cars" / "empty.toml").write_text("")
    make = next(iter(small_market.makes))
    text = f'title = "Quillfeather"\nmake = "{make}"\nmodel = "{small_market.makes[make][0]}"\n'
    (tmp_path / "cars" / "one.toml").write_text(f"{text}year = 1968\n")
    form = justify_form(model=tmp_path / "a.model", cars=[tmp_path / "cars"], save_to=tmp_path)
    assert isinstance(form, JustifyForm)
    assert len(form.car.options) == 1
    told = " ".join(str(child.value) for child in form.box.children if hasattr(child, "value"))
    assert "no car could be made: 1." in told
    assert leaks_in(visible(told), amounts=[], numbers=[], words=["empty", "one.toml"]) == []


@pytest.mark.parametrize(
    ("model", "cars", "said"),
    [
        (None, "cars", "model: none is named"),
        ("none.model", "cars", "none.model: "),
        (".", "cars", "no model is published in this folder"),
    ],
)
def test_without_a_model_it_says_so(
    tmp_path: Path, model: str | None, cars: str, said: str
) -> None:
    found = justify_form(
        model=model and tmp_path / model, cars=[tmp_path / cars], save_to=tmp_path, environment={}
    )
    assert isinstance(found, NoForm)
    assert said in repr(found)
    assert str(tmp_path) not in repr(found)
    assert str(tmp_path) not in found._repr_html_()


def test_without_a_car_or_a_workspace_it_says_so(small_market: MarketModel, tmp_path: Path) -> None:
    save_model(small_market, tmp_path / "a.model")
    place = {"model": tmp_path / "a.model", "save_to": tmp_path}
    assert "there is no car to choose" in repr(justify_form(cars=[], **place))
    assert "no such folder of cars" in repr(justify_form(cars=[tmp_path / "x"], **place))
    found = justify_form(cars=[], environment={"VALUATION_WORKSPACE": str(tmp_path / "y")}, **place)
    assert "there is no such workspace" in repr(found)
    assert str(tmp_path) not in repr(found)
