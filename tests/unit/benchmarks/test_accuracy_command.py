"""The command: what it runs, what it keeps, and the same table twice."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from accuracy import jobs, main, parse, target
from accuracy_methods import ABLATIONS, CENTRES, OURS, PEERS, RANGES, stored
from accuracy_pages import CENTRE_OF

from valuation.appraisal.settings import ModelSettings
from valuation.synthetic.market import SyntheticMarket

PLAIN = ["--peers", "regression", "neighbours", "--without-ours"]


@pytest.fixture
def folder(small_world: SyntheticMarket, tmp_path: Path) -> Path:
    small_world.table.head(300).to_csv(tmp_path / "auction_lots.csv.gz", index=False)
    return tmp_path


def test_every_method_is_run_once_on_every_file(folder: Path) -> None:
    asked = parse(["--data", str(folder), "--files", "auction_lots", "--out", str(folder / "o")])
    assert [m for m, _, _ in jobs(asked)] == [*PEERS, OURS]
    assert {(f, s) for _, f, s in jobs(asked)} == {("auction_lots", "frozen")}


def test_ablations_and_schedules_are_asked_for(folder: Path) -> None:
    words = ["--data", str(folder), "--files", "auction_lots", "--out", str(folder / "o")]
    asked = parse([*words, "--schedule", "frozen", "month", "--peers", "--ablations"])
    methods = [OURS, *ABLATIONS]
    assert jobs(asked) == [(m, "auction_lots", s) for s in ("frozen", "month") for m in methods]


def test_what_is_stored_is_not_run_again(folder: Path) -> None:
    words = ["--data", str(folder), "--files", "auction_lots", "--out", str(folder / "o"), *PLAIN]
    asked = parse(words)
    kept = target(asked.out, ("regression", "auction_lots", "frozen")).with_suffix(".json")
    kept.parent.mkdir(parents=True)
    kept.write_text("{}")
    assert [m for m, _, _ in jobs(asked)] == ["neighbours"]
    assert [m for m, _, _ in jobs(parse([*words, "--again"]))] == ["regression", "neighbours"]


def test_each_ablation_takes_out_one_part() -> None:
    for name, settings in ABLATIONS.items():
        assert settings != ModelSettings(), name
    assert not set(CENTRES) & set(RANGES)
    assert set(CENTRE_OF) == set(RANGES)
    assert set(CENTRE_OF.values()) <= set(CENTRES)


def test_the_same_sales_give_the_same_tables(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["--data", str(folder), "--files", "auction_lots", "--without-ours"]
    words += ["--peers", "regression", "--out"]
    pages = []
    for out in ("first", "second"):
        main([*words, str(folder / out)])
        pages.append(capsys.readouterr().out)
    assert pages[0] == pages[1]
    assert pages[0].startswith("# auction_lots, frozen\n\n## all cars\n")
    for name in ("auction_lots-frozen.csv", "auction_lots-frozen.md"):
        assert (folder / "first" / name).read_bytes() == (folder / "second" / name).read_bytes()
    cost = (folder / "first" / "auction_lots-frozen-cost.csv").read_text().splitlines()
    assert cost[0] == "method,seconds,peak MB"
    assert [line.partition(",")[0] for line in cost[1:]] == ["regression"]
    run = stored(target(folder / "first", ("regression", "auction_lots", "frozen")))
    assert run.chosen.keys() == {"penalty"}
    assert run.cost.seconds > 0
    assert run.cost.peak_mb > 50
    assert np.isfinite(run.predictions.central).all()
    assert not run.outside.any()


def test_an_undated_list_is_run_once_for_both_schedules(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = folder / "auction_lots.csv.gz"
    pd.read_csv(file).drop(columns="sale_date").to_csv(folder / "dealer_listings.csv.gz")
    words = ["--data", str(folder), "--files", "dealer_listings", "--out", str(folder / "o")]
    main([*words, "--peers", "regression", "--without-ours", "--schedule", "frozen", "month"])
    frozen, month = capsys.readouterr().out.split("# dealer_listings, ")[1:]
    assert frozen.removeprefix("frozen") == month.removeprefix("month")
    kept = [
        target(folder / "o", ("regression", "dealer_listings", s)).with_suffix(".json").read_text()
        for s in ("frozen", "month")
    ]
    assert kept[0] == kept[1]  # seconds and all: the second was not run
