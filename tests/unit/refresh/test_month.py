"""A month's work on a small invented market, from the inbox to the published folder."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path

import pandas as pd
import pytest

from valuation.appraisal.appraise import appraise_all
from valuation.appraisal.settings import ModelSettings
from valuation.errors import SettingsError, TooFewSalesError, ValuationError
from valuation.evidence.batches import accept_batch, batches
from valuation.evidence.book import evidence_book
from valuation.evidence.corrections import set_aside_sale
from valuation.evidence.opening import reading, writing
from valuation.evidence.pairs import pairs_of
from valuation.evidence.said_files import log_valuation
from valuation.evidence.workspace import Workspace, workspace_at
from valuation.features.settings import FeatureSettings
from valuation.records import Car
from valuation.refresh.month import refresh
from valuation.refresh.settings import default_month_settings
from valuation.refresh.versions import version_lines
from valuation.report.month_page import month_files, render_month, show_month
from valuation.results.month import MonthStudy
from valuation.results.said import SaidCar
from valuation.store.modelfile import load_model
from valuation.store.published import current_version
from valuation.synthetic.files import csv_bytes, sales_cells
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

LEAN = ModelSettings(features=FeatureSettings(words=False, local=False), origins=4)
NOW = datetime(2024, 12, 31, tzinfo=UTC)
SETTINGS = replace(
    default_month_settings(),
    months=3,
    rules=replace(default_month_settings().rules, least_new_sales=5),
    panel_lines=3,
)


@cache
def rows_of(*months: str) -> pd.DataFrame:
    table = make_market(MarketSettings(sales=480, lines=3, start=date(2022, 1, 1)), seed=3).table
    month = table["sale_date"].dt.strftime("%Y-%m")
    return table[month.isin(months)] if months else table[month < "2024-10"]


def put(workspace: Workspace, name: str, rows: pd.DataFrame) -> None:
    workspace.inbox.mkdir(exist_ok=True)
    header, cells = sales_cells(rows)
    (workspace.inbox / name).write_bytes(csv_bytes(header, cells))


def no_pages(study: MonthStudy) -> dict[str, bytes]:
    """Draw nothing: charts take longer than everything else."""
    return {"study.txt": study.summary().encode()}


def worked(workspace: Workspace, until: date, **changes: object) -> MonthStudy:
    asked = {"pages": no_pages, "model": LEAN, "settings": SETTINGS, "who": "Ada", "now": NOW}
    return refresh(workspace, as_of=until, **(asked | changes))


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> tuple[Workspace, MonthStudy]:
    """Return a workspace after its first refresh."""
    workspace = workspace_at(tmp_path_factory.mktemp("month") / "firm", {}, make=True)
    put(workspace, "history.csv", rows_of())
    return workspace, worked(workspace, date(2024, 9, 30), pages=month_files)


@pytest.fixture
def copy(first: tuple[Workspace, MonthStudy], tmp_path: Path) -> Workspace:
    """Return a copy of that workspace to go on with."""
    shutil.copytree(first[0].root, tmp_path / "firm")
    return Workspace(tmp_path / "firm")


@pytest.fixture(scope="module")
def second(
    first: tuple[Workspace, MonthStudy], tmp_path_factory: pytest.TempPathFactory
) -> tuple[Workspace, MonthStudy]:
    """Return a workspace after the next month."""
    folder = tmp_path_factory.mktemp("next") / "firm"
    shutil.copytree(first[0].root, folder)
    workspace = Workspace(folder)
    put(workspace, "2024-10.csv", rows_of("2024-10"))
    return workspace, worked(workspace, date(2024, 10, 31))


def test_the_first_model_is_published_with_its_record(first: tuple[Workspace, MonthStudy]) -> None:
    workspace, study = first
    assert study.decision.publish
    current = current_version(workspace.published)
    assert current is not None
    assert current.version == study.decision.candidate
    assert sorted(p.name for p in current.folder.iterdir()) == [
        "decision.json", "index.csv", "market.model", "study.html", "study.json",
    ]  # fmt: skip
    assert current.read("decision.json")["publish"] is True
    assert not list(workspace.work.iterdir())
    assert load_model(workspace.published).as_of == date(2024, 9, 30)


def test_the_next_month_knows_what_moved(second: tuple[Workspace, MonthStudy]) -> None:
    workspace, study = second
    assert study.decision.in_use.startswith("2024-09-30")
    assert study.decision.publish
    assert [f.outcome for f in study.files] == ["new", "known"]
    assert study.change is not None
    assert study.change.came >= 5
    assert study.index is not None
    assert study.index.against == date(2024, 9, 30)
    assert [line.in_use for line in version_lines(workspace.published)] == [False, True]
    assert len(study.screens) == 1


def test_the_page_tells_the_decision_first(second: tuple[Workspace, MonthStudy]) -> None:
    study = second[1]
    page = render_month(study)
    assert page.index("Keep or replace") < page.index("What was read in")
    assert study.decision.candidate in page
    assert page == render_month(study)
    shown = show_month(study, "decision", "look")
    assert shown.sections[0].name == "decision"
    with pytest.raises(ValueError, match="no such part"):
        show_month(study, "everything")


def test_the_same_evidence_gives_the_same_bytes(
    second: tuple[Workspace, MonthStudy], copy: Workspace
) -> None:
    workspace, study = second
    put(copy, "2024-10.csv", rows_of("2024-10"))
    assert worked(copy, date(2024, 10, 31)).to_dict() == study.to_dict()
    ours, theirs = current_version(copy.published), current_version(workspace.published)
    assert ours is not None
    assert theirs is not None
    for file in sorted(theirs.folder.iterdir()):
        assert (ours.folder / file.name).read_bytes() == file.read_bytes(), file.name


def test_a_dry_run_changes_nothing(second: tuple[Workspace, MonthStudy], copy: Workspace) -> None:
    put(copy, "2024-10.csv", rows_of("2024-10"))
    before = {p: p.read_bytes() for p in copy.root.rglob("*") if p.is_file()}
    study = worked(copy, date(2024, 10, 31), dry_run=True)
    assert study.decision == second[1].decision
    assert {p: p.read_bytes() for p in copy.root.rglob("*") if p.is_file()} == before


def test_nothing_new_keeps_the_model_in_use(copy: Workspace) -> None:
    study = worked(copy, date(2024, 9, 30))
    assert not study.decision.publish
    assert study.decision.reasons == (f"No sale came since {study.decision.in_use}.",)


def test_what_an_analyst_set_aside_is_reason_enough(copy: Workspace) -> None:
    with reading(copy) as con:
        key = evidence_book(con).table["sale_key"].iloc[0]
    with writing(copy, who="Ada", now=NOW) as con:
        set_aside_sale(con, key, reason="a project sold in boxes", who="Ada", now=NOW)
    study = worked(copy, date(2024, 9, 30))
    assert study.decision.publish
    assert "were taken out or mended" in study.decision.reasons[0]


def doubled(rows: pd.DataFrame) -> pd.DataFrame:
    return rows.assign(price=rows["price"] * 2)


def test_a_file_with_doubled_prices_is_held_until_somebody_accepts_it(copy: Workspace) -> None:
    put(copy, "2024-10.csv", doubled(rows_of("2024-10", "2024-11")))
    study = worked(copy, date(2024, 11, 30))
    assert not study.decision.publish
    (file,) = [f for f in study.files if f.outcome == "new"]
    assert file.status == "held"
    assert "No sale came since" in study.decision.reasons[0]
    with reading(copy) as con:
        (held,) = [b for b in batches(con) if b.status == "held"]
    assert held.batch == file.batch
    assert held.reason == file.why
    with writing(copy, who="Ada", now=NOW) as con:
        accept_batch(con, held.batch, reason="the prices are right", who="Ada", now=NOW)
    after = worked(copy, date(2024, 11, 30))
    assert after.screens == ()
    assert after.decision.checks[0].found != "0"


def test_a_file_that_is_none_stops_no_other(copy: Workspace) -> None:
    put(copy, "2024-10.csv", rows_of("2024-10"))
    (copy.inbox / "notes.csv").write_text("a letter\nto nobody\n")
    study = worked(copy, date(2024, 10, 31))
    assert study.decision.publish
    refused = [f for f in study.files if f.outcome == "refused"]
    assert [f.file for f in refused] == ["notes.csv"]
    assert "no column holds a price" in refused[0].why


def test_a_stopped_run_goes_on_where_it_was(
    second: tuple[Workspace, MonthStudy], copy: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(copy, "2024-10.csv", rows_of("2024-10"))

    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as m:
        m.setattr("valuation.refresh.month.studies", stop)
        with pytest.raises(KeyboardInterrupt):
            worked(copy, date(2024, 10, 31))
    (work,) = copy.work.iterdir()
    assert (work / "candidate.model").is_file()
    with monkeypatch.context() as m:
        m.setattr("valuation.refresh.candidate.fit_market", stop)
        assert worked(copy, date(2024, 10, 31)).to_dict() == second[1].to_dict()


def test_what_was_said_meets_the_sale_that_came(
    copy: Workspace, as_car: Callable[..., Car]
) -> None:
    rows = rows_of("2024-10")
    sale = next(r for _, r in rows.iterrows() if r["outcome"] == "sold" and r["chassis"])
    car = as_car(sale)
    (valuation,) = appraise_all(load_model(copy.published), [car], as_of=date(2024, 9, 30))
    said = SaidCar(car.name, chassis=car.chassis, make=str(sale["make"]))
    then = datetime(2024, 9, 30, tzinfo=UTC)
    log_valuation(copy.said, valuation, car=said, by="Bo", now=then, version="2024-09-30")
    put(copy, "2024-10.csv", rows)
    study = worked(copy, date(2024, 10, 31))
    assert study.realised is not None
    assert (study.realised.said, study.realised.waiting) == (1, 0)
    with reading(copy) as con:
        (pair,) = pairs_of(con)
    assert pair.price == sale["price"]
    assert study.realised.pairs == (pair,)


@pytest.mark.parametrize(
    ("rows", "error", "said"),
    [
        (lambda: rows_of().head(10), TooFewSalesError, "at least 30 sales are needed"),
        (
            lambda: rows_of().assign(sale_date=pd.NaT),
            SettingsError,
            "the evidence has no dates",
        ),
    ],
)
def test_evidence_that_carries_no_model_is_said(
    rows: Callable[[], pd.DataFrame],
    error: type[ValuationError],
    said: str,
    tmp_path: Path,
) -> None:
    workspace = workspace_at(tmp_path / "firm", {}, make=True)
    put(workspace, "sales.csv", rows())
    with pytest.raises(error, match=said):
        refresh(workspace, who="Ada", now=NOW, pages=month_files, settings=SETTINGS, model=LEAN)
