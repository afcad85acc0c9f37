"""What to ask for a car of the firm: text, JSON, page, and what can't be answered."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from subprocess import CompletedProcess

import pandas as pd
import pytest
from reading import plain

Run = Callable[..., CompletedProcess[str]]

HEAD = "date,stock,event,amount,currency,what,from or to,chassis,make,model,year"


@pytest.fixture(scope="module")
def firm(run: Run, data: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a workspace whose ledger knows 24 sold cars and one that is on offer."""
    sales = pd.read_csv(data / "sales.csv").dropna(subset=["chassis", "sale_date"])
    sales = sales[(sales["outcome"] == "sold") & (sales["sale_date"] > "2020-01-01")]
    lines = [HEAD]
    for k, row in enumerate(sales.drop_duplicates("chassis").head(25).to_dict("records")):
        bought = date.fromisoformat(row["sale_date"])
        car = f"{row['chassis']},{row['make']},{row['model']},{row['year']:.0f}"
        price, stock, on_offer = float(row["price"]), f"A-{k}", k == 24
        if on_offer:
            bought = date.fromisoformat(sales["sale_date"].max()) - timedelta(60)
        events = [(0, "bought", price), (15, "spent", 800), (30, "asking price", 1.35 * price)]
        events += [] if on_offer else [(35 + 5 * k, "sold", 1.3 * price)]
        for days, event, amount in events:
            what = "paint" if event == "spent" else ""
            day = bought + timedelta(days)
            lines.append(f"{day},{stock},{event},{amount:.2f},EUR,{what},private,{car}")
    folder = tmp_path_factory.mktemp("firm")
    (folder / "ledger.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    place = ("--workspace", folder / "workspace", "--by", "Ada")
    done = run("ledger", "import", folder / "ledger.csv", *place)
    assert done.returncode == 0, done.stderr
    return folder / "workspace"


@pytest.fixture(scope="module")
def words(data: Path, model: Path, firm: Path) -> list[str | Path]:
    costs = data / "costs.toml"
    place = ["--workspace", firm, "--stock", "A-24"]
    return ["ask", data / "cars" / "ordinary.toml", "--model", model, "--costs", costs, *place]


def test_text_json_page_and_paper_say_the_same(
    run: Run, words: list[str | Path], tmp_path: Path
) -> None:
    page, paper = tmp_path / "ask.html", tmp_path / "ask.pdf"
    said = run(*words, "--page", page)
    assert said.returncode == 0, said.stderr
    told = json.loads(run(*words, "--page", paper, "--json").stdout)
    assert paper.read_bytes().startswith(b"%PDF")
    assert told["format"] == 1
    assert told["own"]
    assert told["basis"] == "24 own sales and the starting assumption"
    asks = [p["ask"] for p in told["points"]]
    chances = [p["chance"]["chance"] for p in told["points"]]
    assert asks == sorted(set(asks))
    assert all(a >= b for a, b in pairwise(chances))
    best = told["points"][told["recommended"]]
    assert best["beyond"] == max(p["beyond"] for p in told["points"])
    for band in (best["net"], best["a_day"]):
        assert band["lower"] <= band["value"] <= band["upper"]
    html = plain(page.read_text(encoding="utf-8"))
    for text in (said.stdout, html):
        assert f"{best['ask']:,} EUR" in text
        assert "Internal: not for customers" in text
        assert told["rule"] in text


def test_a_target_lowers_the_price_and_is_met(run: Run, words: list[str | Path]) -> None:
    free = json.loads(run(*words, "--json").stdout)
    bound = json.loads(run(*words, "--days", "30", "--json").stdout)
    assert bound["recommended"] <= free["recommended"] == bound["without_target"]
    best = bound["points"][bound["recommended"]]
    reached = not any("No price tried is sold within 30 days" in n for n in bound["notes"])
    assert (best["chance"]["chance"] >= 0.5) is reached
    surer = json.loads(run(*words, "--days", "30", "--least-chance", "80", "--json").stdout)
    assert surer["target_percent"] == 80
    assert surer["recommended"] <= bound["recommended"]


@pytest.mark.parametrize(
    ("target", "fault"),
    [
        (("--least-chance", "60"), "nothing says until when"),
        (("--days", "30", "--least-chance", "100"), "it has to be a number from 1 to 99"),
        (("--days", "30", "--least-chance", "nan"), "it has to be a number from 1 to 99"),
    ],
)
def test_a_target_that_is_none_is_refused(
    run: Run, words: list[str | Path], target: tuple[str, ...], fault: str
) -> None:
    done = run(*words, *target)
    assert done.returncode == 2
    assert fault in done.stderr


def test_without_a_ledger_the_assumption_speaks_and_says_so(
    run: Run, words: list[str | Path]
) -> None:
    alone = [*words[:6], "--paid", "30000"]
    done = run(*alone)
    assert done.returncode == 0, done.stderr
    assert "starting assumption alone: no own sale, 20 are needed" in done.stdout
    assert "What your money earns elsewhere is not known" in done.stdout


def test_unknown_and_sold_cars_are_refused(run: Run, words: list[str | Path]) -> None:
    for number, fault in (("A-99", "no car of the ledger"), ("A-3", "the car is sold")):
        done = run(*words[:-1], number)
        assert done.returncode == 2
        assert fault in done.stderr
