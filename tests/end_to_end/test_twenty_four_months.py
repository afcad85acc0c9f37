"""Two years of a firm, month by month: what is read, held, published and said is as planned."""

from __future__ import annotations

import shutil
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np
import pytest

from valuation.appraisal.settings import ModelSettings
from valuation.evidence.batches import batches
from valuation.evidence.examine import examine
from valuation.evidence.opening import reading
from valuation.evidence.read_file import rows_set_aside
from valuation.evidence.workspace import Workspace, workspace_at
from valuation.features.settings import FeatureSettings
from valuation.records import SalesBook
from valuation.refresh.month import published_folder, refresh
from valuation.refresh.settings import MonthSettings, default_month_settings
from valuation.results.month import MonthStudy
from valuation.store.modelfile import load_model
from valuation.store.published import current_version, history
from valuation.study.forecasts import forecasts_of_model
from valuation.synthetic.months import MonthlyFiles, MonthPlan, monthly_files

LEAN = ModelSettings(features=FeatureSettings(words=False, local=False), origins=3)
AGAIN = "2023-02"
"""The month that is done twice, from the same evidence."""

DOUBTS = {
    "wrong currency": "Another currency",
    "doubled prices": "Were amounts counted twice",
    "sales chasing": "within 2% of our own estimates",
}
"""What a held file is doubted for."""


@dataclass
class Firm:
    """A firm's two years."""

    made: MonthlyFiles
    workspace: Workspace
    settings: MonthSettings
    folder: Path
    studies: dict[str, MonthStudy]

    def month(self, name: str, files: Mapping[str, bytes], *, at: Workspace) -> MonthStudy:
        """Put files into an inbox and do the month's work, on the third of the next month."""
        inbox = self.folder / f"inbox-{name}-{at.root.name}"
        for file, content in files.items():
            path = inbox / file
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
        year, month = map(int, name.split("-"))
        return refresh(
            at,
            who="analyst",
            now=datetime(year + month // 12, month % 12 + 1, 3, tzinfo=UTC),
            pages=lambda study: {},
            inbox=inbox,
            settings=self.settings,
            model=LEAN,
        )

    def files_of(self, plan: MonthPlan) -> dict[str, bytes]:
        """Return the files of a month; in one of them stand what the model in use says."""
        files = dict(self.made.months[plan.month])
        if plan.poison == "sales chasing":
            files = self.made.chasing(plan.month, self.estimates(plan.month))
        if plan == self.made.plans[-1]:
            files["ledger/stock.xlsx"] = self.made.ledger
        return files

    def estimates(self, month: str) -> dict[str, float]:
        """Return what the model in use says of the sales of a month."""
        current = current_version(published_folder(self.workspace, self.settings))
        assert current is not None
        table = self.made.sales_of(month)
        found = forecasts_of_model(
            load_model(current.model),
            SalesBook(table, "EUR", True, rows=len(table)),
            start=date.fromisoformat(f"{month}-01"),
            end=table["sale_date"].max().date(),
        )
        return dict(zip(found["sale_id"], found["central"], strict=True))


@pytest.fixture(scope="module")
def firm(tmp_path_factory: pytest.TempPathFactory) -> Firm:
    """Return a firm after two years of months."""
    folder = tmp_path_factory.mktemp("firm")
    made = monthly_files(seed=3, sales=1600, lines=4)
    workspace = workspace_at(folder / "evidence", {}, make=True)
    settings = replace(default_month_settings(), months=2, segments=_segments(made))
    firm = Firm(made, workspace, settings, folder, {})
    firm.studies["2022-12"] = firm.month("2022-12", {"history.csv": made.history}, at=workspace)
    for plan in made.plans:
        if plan.month == AGAIN:
            shutil.copytree(workspace.root, folder / "again")
        firm.studies[plan.month] = firm.month(plan.month, firm.files_of(plan), at=workspace)
        if plan.month == AGAIN:
            shutil.copytree(workspace.published, folder / "published once")
    return firm


def _segments(made: MonthlyFiles) -> dict[str, dict[str, list[str]]]:
    lines = made.market.truth.lines_table()
    names = lines["make"] + " " + lines["model"]
    return {
        segment: {"models": names[lines["segment"] == segment].tolist()}
        for segment in sorted(set(lines["segment"]))
    }


def test_every_file_becomes_what_it_has_to(firm: Firm) -> None:
    for plan in firm.made.plans:
        study = firm.studies[plan.month]
        fates = {f.file: f.status for f in study.files if f.kind == "sales"}
        assert fates == plan.files, plan.month


def test_what_is_held_is_held_for_the_right_reason(firm: Firm) -> None:
    held = [p for p in firm.made.plans if "held" in p.files.values()]
    assert {p.poison for p in held} == set(DOUBTS)
    for plan in held:
        (file,) = firm.studies[plan.month].files
        assert DOUBTS[plan.poison] in file.why, plan.month
        (screen,) = [s for s in firm.studies[plan.month].screens if s.batch == file.batch]
        assert screen.verdict == "hold"


def test_rows_are_set_aside_for_the_reasons_they_were_made_for(firm: Firm) -> None:
    with reading(firm.workspace) as con:
        for plan in firm.made.plans:
            read = {f.file: f.batch for f in firm.studies[plan.month].files if f.kind == "sales"}
            for name, batch in read.items():
                aside = rows_set_aside(con, batch)
                codes = Counter(fault.code for _, row in aside for fault in row.faults)
                del codes["re-offer"]
                assert codes == plan.set_aside.get(name, {}), (plan.month, name)


def test_a_month_is_published_if_its_evidence_may_move_a_model(firm: Firm) -> None:
    decided = {p.month: firm.studies[p.month].decision for p in firm.made.plans}
    for plan in firm.made.plans:
        decision = decided[plan.month]
        assert decision.publish == plan.publish, (plan.month, decision.reasons)
        if not plan.publish:
            assert any("No sale came" in why for why in decision.reasons)
    folder = published_folder(firm.workspace, firm.settings)
    published = [d.candidate for d in decided.values() if d.publish]
    assert [use.version for use in history(folder)][1:] == published
    current = current_version(folder)
    assert current is not None
    assert current.version == published[-1]


def test_a_market_that_falls_is_followed_with_a_warning(firm: Firm) -> None:
    (jump,) = [p.month for p in firm.made.plans if p.jump]
    decision = firm.studies[jump].decision
    assert decision.publish
    warned = {c.rule: c.why for c in decision.checks if c.weighed == "warns"}
    said = warned["the market's level in the last month"]
    assert f"The market fell in {jump}" in said
    assert "the newer model knows it" in said


def test_the_index_is_as_often_within_its_bands_as_it_says(firm: Firm) -> None:
    index = firm.studies[firm.made.plans[-1].month].index
    assert index is not None
    base = _true_levels(firm, index.base)
    inside80, inside95, off = [], [], []
    for segment in index.segments:
        for plan in firm.made.plans:
            month = segment.at(plan.month)
            assert month is not None
            true = 100 * np.exp(plan.levels[segment.name] - base[segment.name])
            inside80.append(month.lower80 <= true <= month.upper80)
            inside95.append(month.lower95 <= true <= month.upper95)
            off.append(abs(np.log(month.level / true)))
    assert len(inside80) >= 24
    assert 0.6 <= np.mean(inside80) <= 0.99
    assert np.mean(inside95) >= 0.85
    assert np.median(off) < 0.08


def _true_levels(firm: Firm, month: str) -> dict[str, float]:
    """Return the true level of each segment in any month, as plans do for theirs."""
    truth = firm.made.market.truth.levels_table()
    day = np.datetime64(f"{month}-15", "s")
    known = truth["day"].to_numpy()
    columns = [c for c in truth if c != "day"]
    seconds, at = known.astype(np.int64), day.astype(np.int64)
    return {c: float(np.interp(at, seconds, truth[c].to_numpy())) for c in columns}


def test_figures_are_as_close_as_such_a_market_allows(firm: Firm) -> None:
    tested = [s.accuracy for s in firm.studies.values() if s.accuracy.tested >= 30]
    assert len(tested) >= 15
    errors = [a.median_abs_pct_error for a in tested]
    held = [a.coverage_80 for a in tested]
    assert np.mean(errors) < 22
    assert 70 <= np.mean(held) <= 90


def test_the_ledger_is_read_with_the_month(firm: Firm) -> None:
    (ledger,) = [f for f in firm.studies["2024-12"].files if f.kind == "ledger"]
    assert (ledger.status, ledger.rows, ledger.accepted) == ("in use", 95, 95)


def test_the_evidence_is_whole_after_two_years(firm: Firm) -> None:
    assert examine(firm.workspace).faults == ()
    with reading(firm.workspace) as con:
        statuses = Counter(b.status for b in batches(con, kind="sales"))
    planned = Counter(fate for p in firm.made.plans for fate in p.files.values())
    assert statuses == planned + Counter({"in use": 1})


def test_the_same_evidence_gives_the_same_bytes(firm: Firm) -> None:
    plan = next(p for p in firm.made.plans if p.month == AGAIN)
    place = Workspace(firm.folder / "again")
    firm.month(AGAIN, dict(reversed(firm.made.months[plan.month].items())), at=place)
    once = firm.folder / "published once"
    names = {p.relative_to(once) for p in once.rglob("*") if p.is_file()}
    assert names == {p.relative_to(place.published) for p in place.published.rglob("*.*")}
    for name in names:
        assert (place.published / name).read_bytes() == (once / name).read_bytes(), name
