"""Nothing of the firm's own business reaches a customer, by any command, in any form."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from leaks import amounts_in, leaks_in, numbers_in, pdf_text, visible
from planted_secrets import ASKING, LIST, MARKUP, PUBLISHED, VARIANT, WORDS, Planted

from valuation.store.modelfile import load_model

Run = Callable[..., subprocess.CompletedProcess[str]]

CASES = {
    "its number in the list": ("chassis", LIST),
    "its facts in the list": ("facts", LIST),
    "its number in the ledger": ("chassis", PUBLISHED),
    "its model and day in the ledger": ("ledger", PUBLISHED),
}


@pytest.fixture(scope="module", params=CASES)
def shown(
    request: pytest.FixtureRequest,
    run: Run,
    planted: Planted,
    tmp_path_factory: pytest.TempPathFactory,
) -> tuple[str, str, dict[str, str]]:
    """Return car, model and everything that the three commands say of it, by name."""
    car, model = CASES[request.param]
    out = tmp_path_factory.mktemp("out")
    commands = COMMANDS if car == "chassis" else COMMANDS[:1]
    return car, model, dict(_said(run, planted.folder, car, planted.folder / model, out, commands))


COMMANDS = (
    ("justify", ("--asking", str(ASKING)), ("-o", "sheet.html", "-o", "sheet.pdf")),
    ("what-if", (), ("--page", "what_if.html")),
    ("compare", ("--with", "facts.toml", "--asking", str(ASKING), "--price", "41000"),
     ("--page", "compare.html")),
)  # fmt: skip
"""Each command with what is asked and what it writes; all three for one of the cars."""


def _said(
    run: Run, folder: Path, car: str, model: Path, out: Path, commands: tuple[Any, ...]
) -> Iterator[tuple[str, str]]:
    for command, words, pages in commands:
        asked = [folder / w if w.endswith(".toml") else w for w in words]
        for form in ([w if w[0] == "-" else out / w for w in pages], ["--json"]):
            done = run(command, folder / f"{car}.toml", "--model", model, *asked, *form)
            assert done.returncode == 0, (command, done.stderr)
            text = [line for line in done.stdout.splitlines() if str(out) not in line]
            yield f"{command} {'JSON' if form == ['--json'] else 'text'}", "\n".join(text)
    for page in out.iterdir():
        content = page.read_bytes()
        if page.suffix == ".pdf":
            yield page.name, pdf_text(content)
        else:
            yield page.name, visible(content.decode())
            yield f"{page.name}, as written", content.decode()


def test_nothing_private_is_told(shown: tuple[str, str, dict[str, str]], planted: Planted) -> None:
    car, model, texts = shown
    assert len(texts) == (13 if car == "chassis" else 5)
    private = planted.of(car, model)
    # In a drawing figures are places, and what is shown is looked at without it.
    told = {name: text for name, text in texts.items() if not name.endswith("as written")}
    found = {name: leaks_in(text, **private) for name, text in told.items()}
    assert {name: what for name, what in found.items() if what} == {}


def test_words_that_are_told_are_no_markup(
    shown: tuple[str, str, dict[str, str]], planted: Planted
) -> None:
    car, _, texts = shown
    for name, text in texts.items():
        if name.endswith("as written"):
            assert MARKUP not in text
            assert VARIANT not in text
            assert leaks_in(text, amounts=[], numbers=[], words=WORDS) == []
    if car == "chassis":
        assert "alert(8)" in texts["sheet.html"], "no sale with markup is near: nothing was tried"


def test_purchases_of_other_cars_and_former_customers_are_known_to_a_published_model(
    shown: tuple[str, str, dict[str, str]], planted: Planted
) -> None:
    """From the list alone nobody knows whose sales they were: there they are shown."""
    car, model, texts = shown
    told = texts["justify JSON"]
    others = planted.ledger[2:]
    if model == LIST and car == "chassis":
        assert amounts_in(told, [*others, planted.sold])
    if model == PUBLISHED:
        assert amounts_in(told, [*others, planted.sold]) == []


def test_the_purchase_is_in_no_count(
    shown: tuple[str, str, dict[str, str]], planted: Planted, run: Run
) -> None:
    car, model, texts = shown
    sheet = json.loads(texts["justify JSON"])
    asked = ("price", planted.folder / f"{car}.toml", "--model", planted.folder / model, "--json")
    told = json.loads(run(*asked).stdout)
    told_sales = len(load_model(planted.folder / model).frame)
    assert sheet["evidence"]["all_sales"] < told_sales
    assert sheet["evidence"]["sales"] < told["evidence"]["sales"]


def test_what_is_looked_for_is_found_where_it_stands(
    planted: Planted, run: Run, tmp_path: Path
) -> None:
    """The firm's own page of a car shows all of it: the search is not blind."""
    page = tmp_path / "price.html"
    asked = ("price", planted.folder / "chassis.toml", "--model", planted.folder / LIST)
    done = run(*asked, "--page", page)
    assert done.returncode == 0, done.stderr
    text = visible(page.read_text(encoding="utf-8"))
    assert amounts_in(text, [planted.paid["chassis"]])
    assert numbers_in(text, planted.others)
    assert leaks_in(text, amounts=[], numbers=[], words=WORDS)


@pytest.mark.parametrize(
    "written",
    ["31777", "31,777", "31.777", "31 777", "31'777", "31\u202f777", "EUR31,777", "(31,777.00)"],
)
def test_an_amount_is_found_however_it_is_written(written: str) -> None:
    assert amounts_in(f"paid {written} for it", [31_777]) == [31_777]
    assert amounts_in(f"{written}0 or 1{written} or 31 776", [31_777]) in ([], [31_777])


def test_other_amounts_are_not_taken_for_it() -> None:
    assert amounts_in("131,777 31,7770 31,778 0.31777 131.777", [31_777]) == []


def test_a_page_tells_what_it_shows_and_no_drawing() -> None:
    page = '<style>.a{x:31777}</style><p title="a &amp; b">x&lt;y</p><path d="M 31777 1"/>'
    assert visible(page).split() == ["x<y", "a", "&", "b"]
