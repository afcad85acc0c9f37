"""``valuation ratio-study`` on given estimates: the worked examples, files of others, faults."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import ratios

from valuation.cli.command import main

WORKED = sorted((Path(__file__).parents[2] / "reference" / "ratio_study").glob("*/sales.csv"))


def study(capsys: pytest.CaptureFixture[str], *words: str | Path) -> dict[str, Any]:
    assert main(["ratio-study", *map(str, words), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert next(iter(told)) == "format"
    return told


@pytest.mark.parametrize("sales", WORKED, ids=lambda p: p.parent.name)
def test_worked_examples_come_out_to_the_last_printed_digit(
    sales: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told = study(capsys, "--predictions", sales)
    found, measures = told["overall"]["study"], told["overall"]["measures"]
    groups = found["vei"]["groups"] if found["vei"] else []
    got = {
        **{name: m["value"] for name, m in measures.items()},
        "mean_ratio": found["mean_ratio"],
        "weighted_mean_ratio": found["weighted_mean_ratio"],
        "cov": found["cov"],
        "prb_lower": measures["prb"]["interval"]["lower"],
        "prb_upper": measures["prb"]["interval"]["upper"],
        "vei_significance": measures["vei"]["apart"] if groups else None,
        "vei_group_sales": [g["sales"] for g in groups],
        "vei_group_medians": [g["median"] for g in groups],
    }
    printed = json.loads((sales.parent / "published.json").read_text(encoding="utf-8"))["values"]
    checked = [name for name in printed if name in got]
    assert {"median_ratio", "cod", "prd", "prb"} <= set(checked)
    for name in checked:
        many = isinstance(printed[name], list)
        pairs = zip(got[name], printed[name], strict=True) if many else [(got[name], printed[name])]
        for value, text in pairs:
            assert f"{value:.{len(text.partition('.')[2])}f}" == text, name


def test_the_five_worked_examples_are_all_there() -> None:
    assert len(WORKED) == 5


def test_one_dear_sale_that_fools_the_prd_is_seen_through(
    capsys: pytest.CaptureFixture[str],
) -> None:
    (sales,) = (p for p in WORKED if p.parent.name.endswith("d_2"))
    told = study(capsys, "--predictions", sales)
    verdicts = {name: m["verdict"] for name, m in told["overall"]["measures"].items()}
    assert (verdicts["prd"], verdicts["prb"]) == ("outside", "inside")
    assert told["overall"]["measures"]["prd"]["proven"] is False


def test_a_table_with_everything_gives_words_and_a_page(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table, page = tmp_path / "estimates.csv", tmp_path / "out" / "ratios.html"
    ratios.forecasts(60).assign(currency="EUR").to_csv(table, index=False)
    assert main(["ratio-study", "--predictions", str(table), "--page", str(page)]) == 0
    said = capsys.readouterr().out
    assert said.startswith("Ratio study: ")
    assert "By make:" in said
    assert "Did the ranges hold? " in said
    assert said.endswith(f"Page to open: {page}\n")
    assert "Ratio study" in page.read_text(encoding="utf-8")
    first = study(capsys, "--predictions", table, "--seed", "3")
    assert first == study(capsys, "--predictions", table, "--seed", "3")
    assert first["currency"] == "EUR"
    assert first["coverage"]["overall"]["tested"] == first["overall"]["tested"]


def test_rows_that_were_set_aside_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "t.csv"
    table.write_text("price,estimate\n100,90\nn/a,5\n200,210\n", encoding="utf-8")
    told = study(capsys, "--predictions", table)
    assert told["notes"][0] == "t.csv: 1 row set aside, no price: row 3."
    assert told["coverage"] is None


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ["--group-by", "hue"],
            "the tested sales: there is no such column to group by (got: hue). Name some of price, "
            "central, outcome.",
        ),
        (
            ["--months", "3", "--no-assumptions"],
            "ratio-study: these say how sales are tested, and estimates are given (got: --months, "
            "--no-assumptions). Give --sales in the place of --predictions, or leave them out.",
        ),
    ],
)
def test_a_fault_is_one_sentence(
    words: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "t.csv"
    table.write_text("price,estimate\n100,90\n", encoding="utf-8")
    assert main(["ratio-study", "--predictions", str(table), *words]) == 2
    assert capsys.readouterr().err == f"valuation: {said}\n"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "one of the arguments --predictions --sales is required"),
        (["--predictions", "a", "--sales", "b"], "not allowed with argument"),
    ],
)
def test_estimates_or_sales_are_wanted(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as caught:
        main(["ratio-study", *words])
    assert caught.value.code == 2
    assert said in capsys.readouterr().err
