"""What was said: small files that need no store, harmless when repeated, honest when damaged."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from pathlib import Path

import pytest
from bid_sheets import ordinary
from hypothesis import given
from hypothesis import strategies as st
from run_lists import FIRST, run_list
from said import BID, CAR, PRICE

from valuation.errors import SaidFileError
from valuation.evidence.opening import reading
from valuation.evidence.said_files import (
    log_bid,
    log_override,
    log_run_list,
    log_valuation,
    read_said_file,
    read_said_folder,
    said_id,
    write_said,
)
from valuation.evidence.said_in import collect_said, said_of
from valuation.evidence.workspace import Workspace
from valuation.results.said import Override, Said
from valuation.results.valuation import Valuation

NOW = datetime(2024, 3, 10, 9, 30, tzinfo=UTC)


def test_a_machine_without_a_database_can_keep_what_was_said() -> None:
    asked = (
        "import sys, valuation.evidence.said_files\n"
        "heavy = {'duckdb', 'pandas', 'scipy', 'sklearn', 'numpy'} & set(sys.modules)\n"
        "print(sorted(heavy))"
    )
    done = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_valuation_is_kept_with_what_its_comparison_needs(
    tmp_path: Path, example: Valuation
) -> None:
    identity = log_valuation(
        tmp_path,
        example,
        car=CAR,
        by="Ada",
        now=NOW,
        version="2024-02-29-1f3a9c0d",
        channel="live auction",
        own_figure=Decimal("47500.50"),
    )
    found = read_said_file(tmp_path / f"{identity}.json")
    said = found.thing
    assert isinstance(said, Said)
    assert found.identity == identity
    assert (said.kind, said.car, said.central) == ("price", CAR, Decimal(example.central))
    assert (said.level, said.lower, said.upper) == (0.8, Decimal("41340.00"), Decimal("60120.00"))
    assert (said.own_figure, said.for_day, said.basis) == (
        Decimal("47500.50"),
        example.as_of,
        example.basis,
    )


def test_a_valuation_without_a_range_is_kept_without_one(tmp_path: Path, bare: Valuation) -> None:
    identity = log_valuation(tmp_path, bare, car=CAR, by="Ada", now=NOW, version="x")
    said = read_said_file(tmp_path / f"{identity}.json").thing
    assert isinstance(said, Said)
    assert (said.level, said.lower, said.upper, said.for_day) == (None, None, None, None)


def test_a_bid_is_kept_with_its_account_and_the_estimate_before_winning(tmp_path: Path) -> None:
    made = ordinary()
    identity = log_bid(tmp_path, made, car=CAR, by="Ada", now=NOW, version="x")
    said = read_said_file(tmp_path / f"{identity}.json").thing
    assert isinstance(said, Said)
    assert said.bid is not None
    assert made.resale is not None
    assert said.central == made.resale.central
    assert said.bid.walk_away == made.walk_away
    assert [a for _, _, a in said.bid.account] == [x.expected for x in made.account]
    before = made.resale.central / (1 + Decimal(str(made.resale.winning_percent)) / 100)
    assert said.bid.before_winning == before.quantize(Decimal("0.01"))


def test_a_run_list_is_kept_lot_by_lot_with_the_estimate_before_winning(tmp_path: Path) -> None:
    first = replace(FIRST, winning_percent=-4.0)
    unpriced = replace(FIRST, number="13", order=2, central=None, lower=None, upper=None)
    other = replace(FIRST, number="14", order=3, lower=None, upper=None)
    made = run_list(lines=(first, unpriced, other))
    cars = {i: replace(CAR, lot=str(i)) for i in (1, 2)}
    kept = log_run_list(tmp_path, made, cars, by="Ada", now=NOW, version="x", channel="dealer")
    assert [p.stem for p in tmp_path.iterdir()] == list(kept)
    said = read_said_file(tmp_path / f"{kept[0]}.json").thing
    assert isinstance(said, Said)
    assert said.bid is not None
    assert (said.kind, said.car.lot, said.central) == ("lot", "1", first.central)
    assert said.bid.before_winning == Decimal("52083.33")
    assert (said.bid.walk_away, said.bid.at) == (first.walk_away, first.at)
    assert said.bid.account == ()


def test_the_same_thing_said_twice_is_one_file(tmp_path: Path) -> None:
    first = write_said(tmp_path, PRICE)
    assert write_said(tmp_path, PRICE) == first
    assert [p.name for p in tmp_path.iterdir()] == [f"{first}.json"]
    assert write_said(tmp_path, replace(PRICE, by="Bo")) != first


def test_an_override_needs_its_reason(tmp_path: Path) -> None:
    with pytest.raises(SaidFileError, match="an override needs its reason"):
        log_override(tmp_path, "abc", figure=Decimal(1), reason=" ", by="Ada", now=NOW)
    assert not list(tmp_path.iterdir())


def _cut(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:100])


def _changed(path: Path) -> None:
    path.write_text(path.read_text(encoding="utf-8").replace("32000", "39000"), encoding="utf-8")


def _newer(path: Path) -> None:
    path.write_text(path.read_text(encoding="utf-8").replace('"format": 1', '"format": 2'))


def _other(path: Path) -> None:
    path.write_text("[1, 2]", encoding="utf-8")


def _nested(path: Path) -> None:
    path.write_text("[" * 100_000, encoding="utf-8")


@pytest.mark.parametrize("harm", [_cut, _changed, _newer, _other, _nested])
def test_a_damaged_file_is_named_and_left_and_hinders_no_other(
    tmp_path: Path, harm: Callable[[Path], None]
) -> None:
    good = write_said(tmp_path, BID)
    bad = tmp_path / f"{write_said(tmp_path, PRICE)}.json"
    harm(bad)
    found = read_said_folder(tmp_path)
    assert [f.identity for f in found.files] == [good]
    assert [name for name, _ in found.damaged] == [bad.name]
    assert bad.exists()
    with pytest.raises(SaidFileError, match="no whole record of what was said"):
        read_said_file(bad)


def test_files_come_into_the_evidence_once(tmp_path: Path, workspace: Workspace) -> None:
    said = write_said(workspace.said, PRICE)
    elsewhere = tmp_path / "buyer"
    write_said(elsewhere, PRICE)
    write_said(elsewhere, BID)
    log_override(elsewhere, said, figure=Decimal(31000), reason="rust", by="Bo", now=NOW)
    damaged = elsewhere / "0000000000000000.json"
    damaged.write_text("{}", encoding="utf-8")
    done = collect_said(workspace, [elsewhere], who="Ada", now=NOW)
    assert (done.new, done.known) == (3, 0)
    assert [f.file for f in done.refused] == [damaged.name]
    assert damaged.exists()
    again = collect_said(workspace, elsewhere, who="Ada", now=NOW)
    assert (again.new, again.batch) == (0, "")
    with reading(workspace) as con:
        store = said_of(con)
    assert list(store.said.values()) == [PRICE, BID]
    assert [o.figure for o in store.overrides[said]] == [Decimal(31000)]


def test_a_folder_that_is_not_there_is_named(tmp_path: Path, workspace: Workspace) -> None:
    with pytest.raises(SaidFileError, match="there is no such folder"):
        collect_said(workspace, [tmp_path / "nowhere"], who="Ada", now=NOW)
    assert collect_said(workspace, workspace.said, who="Ada", now=NOW).new == 0


def test_the_day_is_that_of_the_place_where_it_was_said(tmp_path: Path) -> None:
    evening = datetime(2024, 3, 14, 22, tzinfo=timezone(timedelta(hours=-6)))
    name = write_said(tmp_path, replace(PRICE, said_at=evening))
    said = read_said_file(tmp_path / f"{name}.json").thing
    assert isinstance(said, Said)
    assert said.said_on == date(2024, 3, 14)


def test_a_moment_without_its_time_zone_is_an_error() -> None:
    with pytest.raises(ValueError, match="needs its time zone"):
        said_id(replace(PRICE, said_at=datetime(2024, 3, 14, 22)))  # noqa: DTZ001


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        ({"kind": "guess"}, "no such kind"),
        ({"central": "much"}, "central is no amount"),
        ({"central": "-5"}, "central is no amount above zero"),
        ({"lower": None}, "a range needs level, lower and upper"),
        ({"level": 8}, "level is no share"),
        ({"said_at": "2024-03-10T09:00:00"}, "without its time zone"),
        ({"car": None}, "no car is named"),
        ({"by": 7}, "by is no text"),
    ],
)
def test_what_is_no_record_says_why(change: dict[str, object], problem: str) -> None:
    with pytest.raises(ValueError, match=problem):
        Said.from_dict(PRICE.to_dict() | change)


amounts = st.decimals(min_value="0.01", max_value=10**9, places=2)


@given(
    central=amounts,
    own=st.none() | amounts,
    by=st.text(max_size=20),
    minutes=st.integers(-720, 720),
)
def test_everything_comes_back_as_it_was_said(
    central: Decimal, own: Decimal | None, by: str, minutes: int
) -> None:
    zone = timezone(timedelta(minutes=minutes))
    moment = datetime(2024, 3, 14, 22, 5, 7, tzinfo=zone)
    said = replace(BID, central=central, own_figure=own, by=by, said_at=moment)
    back = Said.from_dict(json.loads(json.dumps(said.to_dict())))
    assert back == said
    assert said_id(back) == said_id(said)
    over = Override("abc", central, "rust", by, moment)
    assert Override.from_dict(json.loads(json.dumps(over.to_dict()))) == over
