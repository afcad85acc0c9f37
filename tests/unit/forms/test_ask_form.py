"""The form of asking prices: the figures of the command while it is open, and nothing after."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Collection, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import ipywidgets
import pytest
from leaks import leaks_in, visible

from valuation.appraisal.market import MarketModel
from valuation.bidding.costs_file import read_costs
from valuation.evidence.ledger_in import import_ledger
from valuation.evidence.stock_known import stock_known
from valuation.evidence.workspace import Workspace, workspace_at
from valuation.forms import AskForm, ask_form
from valuation.forms.ask_desk import AskDesk
from valuation.forms.ask_known import AskFrom, AskKnown, ask_known
from valuation.importing.car_file import read_car, write_car
from valuation.records import Car
from valuation.report.ask_page import ask_page
from valuation.report.write import write_page
from valuation.stocking.asking_car import ask_for, known_firm
from valuation.stocking.settings import default_stock_settings
from valuation.store.modelfile import load_model, save_model

COSTS = Path(__file__).parents[3] / "data_synthetic" / "costs.toml"
HEAD = "date,stock,event,amount,currency,what,chassis,make,model,year"
PAID, SPENT = 41_777, 1_313
"""Of the car on offer."""

ON_OFFER, SOLD, BARE = "A-24", "A-3", "A-25"


@pytest.fixture(scope="module")
def firm(
    small_market: MarketModel, sold_cars: list[Car], tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """Return a folder: a model, a workspace whose ledger has 26 cars, and three car files."""
    folder = tmp_path_factory.mktemp("firm")
    save_model(small_market, folder / "market.model")
    cars = [car for car in sold_cars if car.chassis][:26]
    assert len(cars) == 26
    (folder / "ledger.csv").write_text("\n".join(_ledger(small_market, cars)), encoding="utf-8")
    workspace = workspace_at(folder / "workspace", {}, make=True)
    now = datetime(2025, 1, 2, tzinfo=UTC)
    assert not import_ledger(workspace, [folder / "ledger.csv"], who="Ada", now=now).refused
    stranger = next(car for car in sold_cars if not car.chassis)
    unknown = replace(stranger, values={"make": "Nomake", "model": "None", "year": 1960.0})
    files = {"on offer": cars[24], "stranger": stranger, "unknown": unknown}
    for name, car in files.items():
        write_car(replace(car, label="", title="", sale={}), folder / "cars" / f"{name}.toml")
    return folder


def _ledger(market: MarketModel, cars: list[Car]) -> Iterator[str]:
    yield HEAD
    assert market.as_of is not None
    for k, car in enumerate(cars):
        v = car.values
        known = f"{car.chassis},{v['make']},{v['model']},{v['year']:.0f}"
        there = k >= 24
        bought = market.as_of - timedelta(60 if there else 700 - 10 * k)
        paid = PAID if there else 30_000 + k
        events = [(0, "bought", paid, ""), (9, "spent", SPENT, "paint")]
        events += [(20, "asking price", 1.35 * paid, "")]
        events += [] if there else [(25 + 5 * k, "sold", 1.3 * paid, "")]
        for days, event, amount, what in events[1:] if k == 25 else events:
            day = bought + timedelta(days)
            yield f"{day},A-{k},{event},{amount:.2f},EUR,{what},{known}"


@pytest.fixture(autouse=True)
def _no_other_form() -> None:
    """End the widgets of other tests: all that are there belong to one form."""
    ipywidgets.Widget.close_all()


def place(firm: Path, **other: Any) -> dict[str, Any]:
    """Return where everything lies, as the form takes it."""
    usual = {
        "model": firm / "market.model",
        "costs": COSTS,
        "cars": [firm / "cars"],
        "workspace": firm / "workspace",
        "keep_in": firm / "internal",
        "sheets_in": firm / "sheets",
    }
    return usual | other


@pytest.fixture(scope="module")
def known(firm: Path) -> AskKnown:
    """Return what the form knows once it is open."""
    folders = (firm / "cars",)
    return ask_known(AskFrom(folders, firm / "market.model", COSTS, firm / "workspace"))


@pytest.fixture
def desk(known: AskKnown, tmp_path: Path) -> AskDesk:
    return open_desk(known, tmp_path / "internal", tmp_path / "sheets")


def open_desk(known: AskKnown, keep_in: Path, sheets_in: Path) -> AskDesk:
    return AskDesk(known, keep_in=keep_in, sheets_in=sheets_in, put_away=lambda _: None)


def choose(desk: AskDesk, words: str) -> None:
    """Choose the car whose name ends with words."""
    desk.car.value = next(name for name in desk.car.options if name.endswith(words))


def choose_stranger(desk: AskDesk) -> None:
    """Choose the car that can be valued and that no ledger knows."""
    known = desk.car.options
    desk.car.value = next(n for n in known if "stock" not in n and "Nomake" not in n)


def below(desk: AskDesk) -> ipywidgets.VBox:
    """Return what stands below the fields: the answer, and what can be done with it."""
    return desk.box.children[-1]


def shown(desk: AskDesk) -> str:
    """Return the markup of what was worked out."""
    return str(below(desk).children[0].value)


def widgets() -> dict[str, object]:
    """Return what would be kept with a notebook, by widget; those of other tests are among them."""
    found: dict[str, object] = ipywidgets.Widget.get_manager_state()["state"]
    return found


def states(others: Collection[str]) -> str:
    """Return what would be kept of every widget that is none of the others."""
    told = json.dumps([v for k, v in widgets().items() if k not in others], default=str)
    # Their own names are figures and letters by chance, in which any stock number can stand.
    return re.sub(r"IPY_MODEL_[0-9a-f]+", "", told)


def test_closed_it_is_one_line_and_reads_nothing(tmp_path: Path) -> None:
    form = ask_form(**place(tmp_path / "nowhere"))
    assert [type(w) for w in form.box.children] == [ipywidgets.Button, ipywidgets.HTML]
    assert form.open.description == "What to ask (for the firm only)"
    assert "no customer should look" in form.box.children[1].value
    assert form._repr_mimebundle_()["text/plain"] == repr(form)
    assert "text/html" not in form._repr_mimebundle_()
    assert repr(form).startswith("What to ask (for the firm only). It shows what was paid")


def test_open_it_says_what_the_command_says(firm: Path) -> None:
    form = ask_form(**place(firm))
    form.open.click()
    desk = form.desk
    assert desk is not None
    choose(desk, ON_OFFER)
    assert desk.number.value == ON_OFFER
    desk.days.value = "60"
    desk.button.click()
    assert desk.said.text == ""
    market = load_model(firm / "market.model")
    assert market.as_of is not None
    ledger, said = stock_known(Workspace(firm / "workspace"), market.as_of)
    settings = default_stock_settings()
    same = known_firm(market, read_costs(COSTS), settings, ledger=ledger.cars, said=said)
    stock = next(c for c in ledger.cars if c.mark.stock == ON_OFFER)
    car = read_car(firm / "cars" / "on offer.toml", known_makes=market.makes)
    answer = ask_for(same, car, stock=stock, target_days=60)
    assert desk.answer == answer
    assert answer.own
    assert answer.outlay == PAID + SPENT
    text = visible(shown(desk))
    told = (answer.best.ask, answer.estimate, answer.outlay)
    assert [amount for amount in told if f"{amount:,} EUR" not in text] == []
    assert "Internal: not for customers." in text
    assert "<svg" in shown(desk)
    assert f"stock {ON_OFFER}, asked from" in text


def test_put_away_it_holds_nothing_of_it(firm: Path) -> None:
    others = frozenset(widgets())
    form = ask_form(**place(firm))
    form.open.click()
    assert form.desk is not None
    choose(form.desk, ON_OFFER)
    form.desk.button.click()
    answer = form.desk.answer
    private = {"amounts": [answer.outlay, answer.best.ask], "numbers": [ON_OFFER], "words": []}
    assert len(leaks_in(visible(states(others)), **private)) == 3
    assert leaks_in(repr(form), **private) == []
    form.put_away.click()
    assert [type(w) for w in form.box.children] == [ipywidgets.Button, ipywidgets.HTML]
    assert form.desk is None
    assert leaks_in(states(others), **private) == []
    form.put_away.click()
    form.open.click()
    again = form.desk
    assert isinstance(again, AskDesk)
    assert again.said.text == ""
    assert shown(again) == ""
    again.put_away.click()  # the one below the answer
    assert form.desk is None
    assert len(form.box.children) == 2


def test_what_is_written_otherwise_takes_the_answer_away(desk: AskDesk) -> None:
    choose(desk, ON_OFFER)
    for widget, value in ((desk.days, "45"), (desk.chance, "50"), (desk.number, "a 24")):
        desk.button.click()
        assert shown(desk)
        assert below(desk).layout.display == ""
        widget.value = value
        assert shown(desk) == ""
        assert below(desk).layout.display == "none"
        desk.save.button.click()
        assert "The page: there is none yet. Work it out first." in desk.save.said.text
    desk.button.click()
    assert desk.answer.target_days == 45
    assert desk.answer.target_percent == 50
    choose_stranger(desk)
    assert (shown(desk), desk.number.value) == ("", "")


def test_a_higher_least_chance_never_raises_the_price(desk: AskDesk) -> None:
    choose(desk, ON_OFFER)
    desk.days.value = "60"
    places = []
    for percent in ("5", "30", "60 %", "95"):
        desk.chance.value = percent
        desk.button.click()
        places.append(desk.answer.recommended)
    assert places == sorted(places, reverse=True)
    assert places[0] > places[-1]


def test_a_car_that_no_ledger_knows_is_asked_for_by_what_was_paid(desk: AskDesk) -> None:
    choose_stranger(desk)
    desk.paid.value = "31.250,50 €"
    desk.button.click()
    assert desk.said.text == ""
    assert (desk.answer.stock, desk.answer.outlay, desk.answer.days_held) == ("", 31_250, 0)


def test_a_page_is_kept_in_its_own_folder(desk: AskDesk, tmp_path: Path) -> None:
    choose(desk, ON_OFFER)
    desk.button.click()
    name = desk.save.name.value
    assert name == f"What to ask, {desk.car.value}"
    for kind, ending in (("PDF", "pdf"), ("HTML page", "html")):
        desk.save.kind.value = kind
        desk.save.button.click()
        assert f"Saved as {name}.{ending} in the folder internal." in desk.save.said.text
    kept = tmp_path / "internal" / name
    assert Path(f"{kept}.pdf").read_bytes().startswith(b"%PDF")
    same = write_page(ask_page(desk.answer), tmp_path / "same.html")
    assert Path(f"{kept}.html").read_bytes() == same.read_bytes()


@pytest.mark.parametrize("within", [".", "internal", "a/../internal/b", "link", "link/x"])
def test_no_page_comes_among_the_sheets_of_customers(
    firm: Path, known: AskKnown, tmp_path: Path, within: str
) -> None:
    sheets = tmp_path / "sheets"
    sheets.mkdir()
    (sheets / "link").symlink_to(sheets)
    form = ask_form(**place(firm, keep_in=sheets / within, sheets_in=sheets))
    form.open.click()
    assert form.desk is None
    assert "it is the folder of customer sheets, or lies within it" in form.said.text
    assert "Set KEEP_INTERNAL" in form.said.text
    # A link may have come since the form was opened.
    desk = open_desk(known, sheets / within, sheets)
    choose(desk, ON_OFFER)
    desk.button.click()
    desk.save.button.click()
    assert "it is the folder of customer sheets" in desk.save.said.text
    assert [p.name for p in sheets.iterdir()] == ["link"]


WRONG = (
    ({"number": "A-99"}, "Stock number: the ledger has no car with it until "),
    ({"number": SOLD}, "Stock number: the car is sold (got: A-3). Name a car that is in stock."),
    ({"number": BARE}, "Stock number: the ledger doesn't say what was paid"),
    ({"number": ""}, "Paid for it: nothing says what was paid for the car. Write its stock number"),
    ({"paid": "30000"}, "Paid for it: the ledger says what is in this car (got: 30000). Leave it"),
    ({"number": "", "paid": "much"}, "Paid for it: it is no price (got: much)."),
    ({"number": "", "paid": "-5"}, "Paid for it: it is no price (got: -5)."),
    ({"number": "", "paid": "30,000 USD"}, "Paid for it: it has to be in EUR"),
    ({"days": "soon"}, "Days to sell within: it has to be a whole number from 1 to 3,650 (got: so"),
    ({"days": "0"}, "Days to sell within: it has to be a whole number from 1 to 3,650 (got: 0)"),
    ({"days": "60", "chance": "100"}, "Least chance, %: it has to be a number from 1 to 99"),
    ({"days": "60", "chance": "likely"}, "Least chance, %: it has to be a number from 1 to 99"),
    ({"chance": "60"}, "Least chance, %: nothing says until when. Fill in 'Days to sell within'"),
)  # fmt: skip


@pytest.mark.parametrize(("typed", "said"), WRONG)
def test_what_is_typed_wrong_is_a_sentence(desk: AskDesk, typed: dict[str, str], said: str) -> None:
    choose(desk, ON_OFFER)
    for name, text in typed.items():
        getattr(desk, name).value = text
    desk.button.click()
    assert said in read(desk.said.text)
    assert shown(desk) == ""
    assert desk.said.fault is None


def read(markup: str) -> str:
    """Return markup as it is read."""
    return visible(markup).strip()


def test_a_car_without_an_estimate_is_a_sentence(desk: AskDesk) -> None:
    choose(desk, "1960 Nomake None")
    desk.paid.value = "5000"
    desk.button.click()
    assert "Nomake" in desk.said.text
    assert desk.said.fault is None
    assert shown(desk) == ""


def test_what_nobody_foresaw_tells_nothing(desk: AskDesk, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("/firm/secret: paid 41,777")

    monkeypatch.setattr(sys.modules[AskDesk.__module__], "ask_for", broken)
    choose(desk, ON_OFFER)
    desk.button.click()
    assert "tell the analyst" in desk.said.text
    assert leaks_in(desk.said.text, amounts=[PAID], numbers=[], words=["secret"]) == []


def said_on_opening(form: AskForm) -> str:
    form.open.click()
    assert form.desk is None
    text = read(form.said.text)
    assert form.said.fault is None
    form.put_away.click()
    assert form.said.text == ""
    return text


def test_without_costs_model_workspace_or_cars_it_says_so(firm: Path, tmp_path: Path) -> None:
    said = said_on_opening(ask_form(**place(firm, costs=None)))
    assert said.startswith("cost settings: none are named")
    assert "Set COSTS at the top" in said
    assert said_on_opening(ask_form(**place(firm, costs=tmp_path / "none.toml"))).startswith(
        "none.toml: "
    )
    said = said_on_opening(ask_form(**place(firm, workspace=tmp_path / "none")))
    assert "there is no such workspace" in said
    said = said_on_opening(ask_form(**place(firm, workspace=None, model=None)))
    assert "model: none is named" in said
    said = said_on_opening(ask_form(**place(firm, cars=[])))
    assert "there is no car to choose" in said
    workspace = workspace_at(tmp_path / "new", {}, make=True)
    said = said_on_opening(ask_form(**place(firm, workspace=workspace.root)))
    assert "there is no evidence in this workspace yet" in said
    assert str(tmp_path) not in said


def test_without_a_ledger_a_number_is_refused_and_an_amount_is_enough(firm: Path) -> None:
    form = ask_form(**place(firm, workspace=None))
    form.open.click()
    desk = form.desk
    assert desk is not None
    assert "stock" not in " ".join(desk.car.options)
    desk.number.value = ON_OFFER
    desk.button.click()
    assert "there is no stock ledger to look it up in" in desk.said.text
    choose_stranger(desk)
    desk.number.value, desk.paid.value = "", "30,000"
    desk.button.click()
    assert desk.said.text == ""
    assert not desk.answer.own
    assert desk.answer.outlay == 30_000
    form.put_away.click()
