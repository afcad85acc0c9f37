"""Forward forecasts are the same bytes on any number of processes, stopped and resumed or not."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from valuation.appraisal.settings import ModelSettings
from valuation.records import SalesBook
from valuation.running.runner import Runner
from valuation.study.backtest import backtest
from valuation.study.forecasts import forward_forecasts
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

MONTHS = 4

IN_A_PROCESS = """
import sys
from datetime import date
from valuation.appraisal.settings import ModelSettings
from valuation.features.settings import FeatureSettings
from valuation.study.forecasts import forward_forecasts
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

book = make_market(MarketSettings(sales=250, lines=3, start=date(2023, 1, 1)), seed=9).book()
lean = ModelSettings(features=FeatureSettings(words=False, local=False), origins=3)
forward_forecasts(book, months=4, settings=lean, keep=sys.argv[1])
"""


@pytest.fixture(scope="module")
def book() -> SalesBook:
    return make_market(MarketSettings(sales=250, lines=3, start=date(2023, 1, 1)), seed=9).book()


@pytest.fixture(scope="module")
def alone(book: SalesBook, lean: ModelSettings) -> pd.DataFrame:
    return forward_forecasts(book, months=MONTHS, settings=lean).frame


def _same(one: pd.DataFrame, other: pd.DataFrame) -> None:
    pd.testing.assert_frame_equal(one, other, check_exact=True)
    assert one.to_csv() == other.to_csv()


def _times(folder: Path) -> dict[str, int]:
    return {p.name: p.stat().st_mtime_ns for p in sorted(folder.glob("*.part"))}


def test_two_processes_give_the_same_bytes(
    book: SalesBook, lean: ModelSettings, alone: pd.DataFrame
) -> None:
    with Runner(workers=2) as run:
        _same(forward_forecasts(book, months=MONTHS, settings=lean, run=run).frame, alone)
        again = backtest(book, months=3, settings=lean, run=run)
    _same(again.predictions, backtest(book, months=3, settings=lean).predictions)


def test_two_workers_of_a_cluster_give_the_same_bytes(
    book: SalesBook, lean: ModelSettings, alone: pd.DataFrame
) -> None:
    with Runner(cluster="local:2") as run:
        _same(forward_forecasts(book, months=MONTHS, settings=lean, run=run).frame, alone)


def test_a_run_that_was_interrupted_goes_on(
    book: SalesBook, lean: ModelSettings, alone: pd.DataFrame, tmp_path: Path
) -> None:
    def stop(done: int, of: int, what: str) -> None:
        if what == "pricing the test" and done == 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        forward_forecasts(book, months=MONTHS, settings=lean, keep=tmp_path, progress=stop)
    kept = _times(tmp_path)
    assert 0 < len(kept) < MONTHS + lean.origins
    told: list[tuple[int, int, str]] = []
    resumed = forward_forecasts(
        book, months=MONTHS, settings=lean, keep=tmp_path, progress=lambda *step: told.append(step)
    )
    _same(resumed.frame, alone)
    after = _times(tmp_path)
    assert len(after) == MONTHS + lean.origins
    assert {name: after[name] for name in kept} == kept
    assert told[-1] == (MONTHS, MONTHS, "pricing the test")
    # All of it is there: nothing is worked out any more.
    _same(forward_forecasts(book, months=MONTHS, settings=lean, keep=tmp_path).frame, alone)
    assert _times(tmp_path) == after


def test_a_damaged_part_is_worked_out_again(
    book: SalesBook, lean: ModelSettings, alone: pd.DataFrame, tmp_path: Path
) -> None:
    forward_forecasts(book, months=MONTHS, settings=lean, keep=tmp_path)
    for file in tmp_path.glob("*.part"):
        file.write_bytes(file.read_bytes()[:100])
    _same(forward_forecasts(book, months=MONTHS, settings=lean, keep=tmp_path).frame, alone)


def test_what_was_kept_of_other_sales_is_not_used(
    book: SalesBook, lean: ModelSettings, tmp_path: Path
) -> None:
    forward_forecasts(book, months=MONTHS, settings=lean, keep=tmp_path)
    before = _times(tmp_path)
    table = book.table.copy()
    table.loc[7, "price"] *= 1.01
    other = SalesBook(table, book.currency, book.dated)
    found = forward_forecasts(other, months=MONTHS, settings=lean, keep=tmp_path)
    _same(found.frame, forward_forecasts(other, months=MONTHS, settings=lean).frame)
    assert len(_times(tmp_path)) == 2 * len(before)


def test_a_process_that_was_killed_leaves_what_it_had_finished(
    book: SalesBook, lean: ModelSettings, alone: pd.DataFrame, tmp_path: Path
) -> None:
    # Another seed of hashes: keys must not depend on the order of sets.
    environment = {**os.environ, "PYTHONHASHSEED": "17"}
    command = [sys.executable, "-c", IN_A_PROCESS, str(tmp_path)]
    with subprocess.Popen(command, env=environment) as process:
        deadline = time.monotonic() + 300
        while not _times(tmp_path) and process.poll() is None and time.monotonic() < deadline:
            time.sleep(0.01)
        process.send_signal(signal.SIGKILL)
    kept = _times(tmp_path)
    assert kept
    _same(forward_forecasts(book, months=MONTHS, settings=lean, keep=tmp_path).frame, alone)
    after = _times(tmp_path)
    assert {name: after[name] for name in kept} == kept
    assert len(after) == MONTHS + lean.origins
