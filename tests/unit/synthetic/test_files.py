"""The committed files are what the generator writes, and they hold what they promise."""

from __future__ import annotations

import csv
import io
import json
import runpy
import tomllib
from pathlib import Path

import numpy as np
import pytest

from valuation.schema import BY_FIELD, BY_NAME
from valuation.schema.kinds import NOT_LOOKED_AT
from valuation.synthetic.carfiles import CAR_FILES, car_toml, true_values
from valuation.synthetic.dirty import HEADER, dirty_list
from valuation.synthetic.files import market_files, sales_cells, write_files
from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.settings import MarketSettings

FOLDER = Path(__file__).parents[3] / "data_synthetic"
SMALL = MarketSettings(sales=3000)


def committed(name: str) -> bytes:
    return (FOLDER / name).read_bytes()


def rows_of(name: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(committed(name).decode())))


@pytest.fixture(scope="module")
def regenerated(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("market")
    script = runpy.run_path(str(FOLDER / "generate.py"))
    script["main"](["--out", str(folder)])
    return folder


def test_committed_files_are_what_the_generator_writes(regenerated: Path) -> None:
    names = sorted(str(p.relative_to(regenerated)) for p in regenerated.rglob("*") if p.is_file())
    assert len(names) == 18
    for name in names:
        assert (regenerated / name).read_bytes() == committed(name), name


def test_the_script_takes_seed_size_and_end(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    script = runpy.run_path(str(FOLDER / "generate.py"))
    script["main"](["--seed", "4", "--sales", "900", "--end", "2023-06-30", "--out", str(tmp_path)])
    lines = (tmp_path / "sales.csv").read_text().splitlines()
    assert len(lines) == 901
    truth = json.loads((tmp_path / "truth.json").read_text())
    assert (truth["seed"], truth["settings"]["end"]) == (4, "2023-06-30")
    assert "sales.csv: " in capsys.readouterr().out


def test_same_seed_same_bytes_and_another_seed_others() -> None:
    one, same, other = (market_files(make_market(SMALL, seed=s)) for s in (7, 7, 8))
    assert one == same
    changed = {n for n in one if one[n] != other[n]}
    assert changed >= {"sales.csv", "truth.json", "truth_sales.csv", "sales_dirty.csv"}


def test_writing_leaves_no_half_file_behind(tmp_path: Path) -> None:
    write_files(tmp_path, {"a.csv": b"1", "cars/b.toml": b"2"})
    assert sorted(p.name for p in tmp_path.rglob("*")) == ["a.csv", "b.toml", "cars"]
    assert (tmp_path / "cars/b.toml").read_bytes() == b"2"


def test_columns_are_named_as_the_contract_names_them() -> None:
    header = rows_of("sales.csv")[0].keys()
    assert set(header) <= set(BY_FIELD) | set(BY_NAME)
    assert {"price", "sale_date", "basis", "outcome", "make", "condition_grade"} <= set(header)
    assert not {"description", "power", "annual_tax"} & set(header)


def test_cells_are_plain(market: SyntheticMarket) -> None:
    header, rows = sales_cells(market.table)
    cells = {cell for row in rows for cell in row}
    assert not cells & {"nan", "None", "NaT", "()"}
    column = [row[header.index("modifications")] for row in rows]
    assert "none" in column
    assert "" in column
    assert any("; " in cell for cell in column)
    assert rows[0][header.index("sale_date")] == "2019-01-01"
    assert {len(row) for row in rows} == {len(header)}


def test_read_me_describes_every_column() -> None:
    text = (FOLDER / "README.md").read_text(encoding="utf-8")
    for name in rows_of("sales.csv")[0]:
        assert f"`{name}`" in text, name


def test_read_me_counts_what_is_in_the_file() -> None:
    text = (FOLDER / "README.md").read_text(encoding="utf-8")
    sales = rows_of("sales.csv")
    unsold = sum(s["outcome"] == "not sold" for s in sales)
    hammer = sum(s["basis"] == "hammer price" for s in sales)
    tributes = sum(s["genuineness"] == "tribute" for s in sales)
    assert f"| {unsold} lots not sold;" in text
    assert f"| {hammer} hammer prices," in text
    assert f"; {tributes} of them say so |" in text


def test_truth_of_each_record_fits_its_price() -> None:
    sales, truth = rows_of("sales.csv"), rows_of("truth_sales.csv")
    assert [s["sale_id"] for s in sales] == [t["sale_id"] for t in truth]
    logs = np.array([float(t["expected_log_price"]) + float(t["noise"]) for t in truth])
    np.testing.assert_allclose(np.log([float(s["price"]) for s in sales]), logs, atol=2e-5)
    unsold = [(s, t) for s, t in zip(sales, truth, strict=True) if s["outcome"] == "not sold"]
    assert all(float(s["price"]) < float(t["secret_reserve"]) for s, t in unsold)


def test_truth_is_written_out_by_name() -> None:
    truth = json.loads(committed("truth.json"))
    assert truth["levels"]["engine_originality"]["numbers-matching"] > 0
    assert len(truth["lines"]) == 33
    assert truth["lines"][0]["variants"]["Standard"] == 0
    assert len(truth["market_levels"]["exotics"]) == len(truth["market_levels"]["day"])
    assert truth["cars"]["rare"]["price"] > 2 * truth["cars"]["tribute"]["price"]
    assert set(truth["cars"]) == {"ordinary", "rare", "tribute"}


@pytest.mark.parametrize("name", CAR_FILES)
def test_car_files_say_what_the_contract_knows(name: str) -> None:
    content = tomllib.loads(car_toml(name))
    sale = content.pop("sale", {})
    assert set(sale) <= set(BY_FIELD)
    assert set(content) <= set(BY_NAME) | {"title", "chassis", "label"}
    for key, value in content.items():
        attribute = BY_NAME.get(key)
        if attribute is None or value == NOT_LOOKED_AT:
            continue
        if attribute.kind == "number":
            assert attribute.low <= value <= attribute.high
        elif attribute.levels:
            words = value if isinstance(value, list) else [value]
            assert set(words) <= set(attribute.levels)


def test_car_values_leave_out_what_nobody_looked_at() -> None:
    assert "engine_originality" not in true_values("ordinary")
    assert true_values("rare")["modifications"] == ()
    assert true_values("incomplete") == {}


def test_models_never_seen_are_never_seen() -> None:
    sales = rows_of("sales.csv")
    assert not any(s["model"] == "Farthingale" for s in sales)
    assert min(int(s["year"]) for s in sales) >= 1948
    chassis = {s["chassis"] for s in sales}
    assert not chassis & {car.get("chassis") for car in CAR_FILES.values()} - {""}


def test_dirty_list_is_windows_text_between_semicolons() -> None:
    content = committed("sales_dirty.csv")
    with pytest.raises(UnicodeDecodeError):
        content.decode("utf-8")
    lines = content.decode("cp1252").split("\r\n")
    assert lines[0] == ";".join(HEADER) + ";;"
    assert 105 <= len(lines) - 2 <= 130


@pytest.mark.parametrize(
    "notation",
    [
        "½",
        "EUR 1",
        ";c.19",
        ";'",
        "TMU",
        "00012 (exempt)",
        "ci;",
        "bid to ",
        ",00 €",
        " CHF",
        ";2060;",
    ],
)
def test_dirty_list_has_each_notation(notation: str) -> None:
    assert notation in committed("sales_dirty.csv").decode("cp1252")


def test_expected_rejects_point_at_the_rows_they_mean() -> None:
    lines = committed("sales_dirty.csv").decode("cp1252").split("\r\n")
    expected = {int(r["row"]): r["code"] for r in rows_of("expected_rejects.csv")}
    by_code = {code: lines[row - 1] for row, code in expected.items()}
    assert by_code["subtotal row"].startswith("Zwischensumme;")
    assert by_code["repeated header"] == lines[0]
    assert ";1;" in by_code["token price"]
    assert ";2060;" in by_code["impossible year"]
    assert " CHF;" in by_code["no rate"]
    assert len(expected) >= 20


def test_dirty_list_of_a_small_market_is_whole() -> None:
    content, rejects = dirty_list(make_market(SMALL, seed=7).table)
    lines = content.decode("cp1252").split("\r\n")
    assert all(1 < row < len(lines) for row, _ in rejects)
    assert len({row for row, _ in rejects}) == len(rejects)
