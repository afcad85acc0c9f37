"""From files to files: what goes in, what comes out, what is said when it can't."""

from __future__ import annotations

import csv
import json
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfReader

Run = Callable[..., subprocess.CompletedProcess[str]]
KEYS = {
    "tested",
    "median_abs_pct_error",
    "within_10_pct",
    "within_20_pct",
    "median_ratio",
    "coverage_80",
    "median_width_80_pct",
    "share_priced",
}


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as stream:
        return list(csv.DictReader(stream))


def car_file(folder: Path, text: str) -> Path:
    path = folder / "car.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_help_loads_nothing_heavy() -> None:
    script = (
        "import sys\nfrom valuation.cli import main\n"
        "try: main(['--help'])\nexcept SystemExit: pass\n"
        "print(sorted({name.partition('.')[0] for name in sys.modules}), file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert "Prices collector cars" in done.stdout
    heavy = {
        "pandas",
        "numpy",
        "scipy",
        "sklearn",
        "matplotlib",
        "statsmodels",
        "openpyxl",
        "jinja2",
    }
    assert not heavy & set(re.findall(r"'(\w+)'", done.stderr))


def test_check_accounts_for_every_row(run: Run, data: Path, tmp_path: Path) -> None:
    rejects, written = tmp_path / "rejects.csv", tmp_path / "map.toml"
    dirty = data / "sales_dirty.csv"
    done = run("check", dirty, "--json", "--rejects", rejects, "--write-map", written)
    assert (done.returncode, done.stderr) == (0, "")
    report = json.loads(done.stdout)
    assert report["format"] == 1
    assert report["accepted"] + report["rejected"] == report["rows"]
    expected = {r["row"] for r in rows(data / "expected_rejects.csv")}
    assert {r["row"] for r in rows(rejects)} >= expected
    assert len({r["row"] for r in rows(rejects)}) == report["rejected"]
    again = run("check", dirty, "--json", "--map", written)
    assert json.loads(again.stdout)["accepted"] == report["accepted"]


def test_check_says_it_in_words(run: Run, data: Path) -> None:
    done = run("check", data / "sales.csv")
    assert done.returncode == 0
    assert re.search(r"400 rows .*: \d+ accepted, \d+ set aside", done.stdout)


@pytest.mark.parametrize("name", ["new.xlsx", "new.csv"])
def test_a_template_is_a_readable_sale_file(run: Run, tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    done = run("template", path)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == f"Empty sale file: {path}\n"
    assert path.stat().st_size > 100


def test_fit_says_what_the_model_rests_on(run: Run, data: Path, tmp_path: Path) -> None:
    path = tmp_path / "until.model"
    done = run(
        "fit", "--sales", data / "sales.csv", "--model", path, "--as-of", "2022-12-31",
        "--no-assumptions", "--json",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    said = json.loads(done.stdout)
    assert (said["format"], said["as_of"], said["currency"]) == (1, "2022-12-31", "EUR")
    sold_until = sum(r["sale_date"] <= "2022-12-31" for r in rows(data / "sales.csv"))
    assert 0.8 * sold_until < said["sales"] <= sold_until
    assert path.is_file()


def test_the_installed_command_says_the_same(
    run: Run, run_installed: Run, data: Path, model: Path
) -> None:
    for words in (("price", data / "cars" / "ordinary.toml", "--model", model), ("price",)):
        here, installed = run(*words), run_installed(*words)
        assert (here.returncode, here.stdout) == (installed.returncode, installed.stdout)
        assert here.stderr == installed.stderr


def test_a_price_adds_up_to_the_unit(run: Run, data: Path, model: Path) -> None:
    done = run("price", data / "cars" / "ordinary.toml", "--model", model, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    v = json.loads(done.stdout)
    assert v["format"] == 1
    assert v["start"]["amount"] + sum(c["amount"] for c in v["contributions"]) == v["central"]
    for sale in v["comparables"]:
        moved = sum(a["amount"] for a in sale["adjustments"])
        assert sale["price"] + moved == sale["adjusted_price"]
    lower, upper = v["range"]["lower"], v["range"]["upper"]
    assert lower < v["central"] < upper


def test_the_page_and_the_text_hold_the_same_money(
    run: Run, data: Path, model: Path, tmp_path: Path
) -> None:
    car, page = data / "cars" / "ordinary.toml", tmp_path / "page.html"
    v = json.loads(run("price", car, "--model", model, "--json").stdout)
    done = run("price", car, "--model", model, "--page", page)
    assert done.stdout.endswith(f"Page to open: {page}\n")
    central = f"{v['central']:,} EUR"
    assert central in done.stdout
    assert central in page.read_text(encoding="utf-8")


def test_a_page_named_so_is_a_pdf_with_the_same_money(
    run: Run, data: Path, model: Path, tmp_path: Path
) -> None:
    car, page = data / "cars" / "ordinary.toml", tmp_path / "page.pdf"
    done = run("price", car, "--model", model, "--page", page, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    v = json.loads(done.stdout)
    words = "\n".join(sheet.extract_text() for sheet in PdfReader(page).pages)
    amounts = [v["central"], *(sale["adjusted_price"] for sale in v["comparables"])]
    assert all(f"{amount:,}" in words for amount in amounts)


def test_many_cars_are_priced_as_one_by_one(
    run: Run, data: Path, model: Path, tmp_path: Path
) -> None:
    cars = [data / "cars" / f"{n}.toml" for n in ("ordinary", "rare", "outside")]
    one = [json.loads(run("price", c, "--model", model, "--json").stdout) for c in cars]
    done = run("price", *cars, "--model", model, "--json")
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout)["valuations"] == one
    text = run("price", *cars, "--model", model).stdout
    assert [text.count(f"{v['central']:,} EUR") > 0 for v in one] == [True] * 3
    done = run("price", *cars, "--model", model, "--page", tmp_path / "page.html")
    assert done.returncode == 2
    assert done.stderr == (
        "valuation: --page: one page shows one car (got: 3 cars). Price each car whose page you "
        "want by itself.\n"
    )


def test_the_same_question_has_the_same_answer(
    run: Run, data: Path, model: Path, tmp_path: Path
) -> None:
    car = data / "cars" / "rare.toml"
    pages = [tmp_path / "one.html", tmp_path / "two.html"]
    for page in pages:
        run("price", car, "--model", model, "--page", page)
    assert pages[0].read_bytes() == pages[1].read_bytes()


def test_a_car_outside_the_evidence_gets_no_range(run: Run, tmp_path: Path, model: Path) -> None:
    car = car_file(tmp_path, 'make = "Nomakeknown"\nmodel = "X"\nyear = 1899\n')
    v = json.loads(run("price", car, "--model", model, "--json").stdout)
    assert set(v["range"]) == {"reason"}
    assert v["evidence"]["outside"] is True
    text = run("price", car, "--model", model).stdout
    assert "no range: " in text


def test_a_backtest_reports_accuracy_and_every_prediction(
    run: Run, data: Path, tmp_path: Path
) -> None:
    out = tmp_path / "predictions.csv"
    done = run(
        "backtest", "--sales", data / "sales.csv", "--test-share", "0.2", "--refit", "never",
        "--predictions", out, "--json",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    result = json.loads(done.stdout)
    assert result["format"] == 1
    assert set(result) >= KEYS
    assert set(result["by"]) >= {"make", "era", "estimate_band", "month"}
    for groups in result["by"].values():
        assert sum(g["tested"] for g in groups.values()) == result["tested"]
        assert all(set(g) >= KEYS for g in groups.values())
    predictions = rows(out)
    assert list(predictions[0]) == [
        "sale_id", "sale_date", "price", "central", "lower", "upper", "lower_50", "upper_50",
        "lower_95", "upper_95", "outside", "months_ahead", "make", "year", "channel", "basis",
        "outcome",
    ]  # fmt: skip
    assert len(predictions) == result["tested"]
    errors = sorted(abs(float(p["central"]) / float(p["price"]) - 1) for p in predictions)
    middle = len(errors) // 2
    median = (errors[middle] + errors[~middle]) / 2
    assert 100 * median == pytest.approx(result["median_abs_pct_error"], abs=1e-3)


def test_demo_on_given_sales_ends_with_the_page(run: Run, data: Path, tmp_path: Path) -> None:
    done = run("demo", "--sales", data / "sales.csv", "--out", tmp_path)
    assert done.returncode == 0, done.stderr
    page = tmp_path / "valuation.html"
    assert done.stdout.endswith(f"Page to open in a browser: {page}\n")
    assert "80% range" in done.stdout
    assert "= central estimate" in done.stdout
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
