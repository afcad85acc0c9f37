"""From what a command says to what came of it: keeping, asking first, collecting, comparing."""

from __future__ import annotations

import io
import json
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from said import BID

from valuation.appraisal.market import MarketModel
from valuation.cli.command import main
from valuation.cli.logging_said import version_of
from valuation.errors import SettingsError
from valuation.evidence.said_files import write_said
from valuation.records import Car
from valuation.results.said import Said, SaidCar
from valuation.store.modelfile import save_model
from valuation.store.published import publish

COSTS = """currency = "EUR"

[target]
margin = 100

[buying.default]
increments = [{ step = 100 }]

[[work]]
what = "service"
low = 300
high = 300

[winning]
rivals = 2
own_share = 0.3
"""


@dataclass(frozen=True)
class Desk:
    """A buyer's folder: model, costs, a car, and the words that name them."""

    folder: Path
    car: Path
    model: Path
    costs: Path

    @property
    def workspace(self) -> Path:
        return self.folder / "firm"

    @property
    def said(self) -> list[dict[str, object]]:
        """What was kept, in the order of the files' names."""
        files = sorted((self.workspace / "said").glob("*.json"))
        return [json.loads(p.read_text(encoding="utf-8")) for p in files]

    def price(self, *words: str) -> int:
        named = ("price", str(self.car), "--model", str(self.model))
        return main([*named, "--workspace", str(self.workspace), *words])

    def bid(self, *words: str) -> int:
        named = ("bid", str(self.car), "--model", str(self.model), "--costs", str(self.costs))
        return main([*named, "--workspace", str(self.workspace), *words])


@pytest.fixture(scope="module")
def model(tmp_path_factory: pytest.TempPathFactory, tiny_market: MarketModel) -> Path:
    """Return the tiny market on disk."""
    return save_model(tiny_market, tmp_path_factory.mktemp("model") / "market.model")


@pytest.fixture(scope="module")
def lot(tiny_market: MarketModel) -> Car:
    """Return a car that is like one of the market."""
    row = tiny_market.frame.iloc[-1]
    values = {"make": row["make"], "model": row["model"], "year": float(row["year"])}
    return Car(values, chassis="QX12-3456")


@pytest.fixture
def desk(tmp_path: Path, model: Path, lot: Car) -> Desk:
    """Return a buyer's folder with an empty workspace."""
    car, costs = tmp_path / "lot112.toml", tmp_path / "costs.toml"
    lines = [f'{name} = "{lot.values[name]}"' for name in ("make", "model")]
    lines += [f"year = {lot.values['year']:.0f}", f'chassis = "{lot.chassis}"']
    lines += ["[sale]", 'venue = "Harbour Rooms"', 'channel = "live auction"']
    car.write_text("\n".join(lines), encoding="utf-8")
    costs.write_text(COSTS, encoding="utf-8")
    (tmp_path / "firm").mkdir()
    return Desk(tmp_path, car, model, costs)


def test_nothing_is_kept_that_nobody_asked_for(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    assert desk.price() == 0
    assert desk.bid("--json") == 0
    assert not (desk.workspace / "said").exists()
    assert "Kept as" not in capsys.readouterr().out


def test_a_price_is_kept_with_its_car_and_the_figure_given_before(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("--log", "--by", "Ada", "--own-figure", "30500.50", "--as-lot", "112")
    assert desk.price(*words, "--stock", "H-7") == 0
    shown = capsys.readouterr().out
    (said,) = desk.said
    assert f"Kept as: {next((desk.workspace / 'said').glob('*.json')).stem}" in shown
    assert (said["by"], said["own_figure"], said["kind"]) == ("Ada", "30500.50", "price")
    assert said["channel"] == "live auction"
    assert said["car"] == {
        "name": said["car"]["name"], "chassis": "QX12-3456", "make": said["car"]["make"],
        "model": said["car"]["model"], "year": said["car"]["year"], "venue": "Harbour Rooms",
        "lot": "112", "stock": "H-7",
    }  # fmt: skip
    assert Said.from_dict(said).said_on in {
        datetime.now().astimezone().date(),
        (datetime.now().astimezone() - timedelta(minutes=5)).date(),
    }


def test_the_figure_is_asked_for_before_anything_is_shown(
    desk: Desk, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("31,000\n"))
    assert desk.bid("--log", "--ask-own-figure", "--json") == 0
    out, err = capsys.readouterr()
    assert err.startswith("Your own figure for lot112.toml (empty for none): ")
    assert json.loads(out)["said"]
    assert desk.said[0]["own_figure"] == "31000"


@pytest.mark.parametrize(
    ("typed", "problem"),
    [("", "nobody answers"), ("a lot\n", "no amount above 0"), ("-5\n", "no amount above 0")],
)
def test_without_an_answer_nothing_is_worked_out(
    desk: Desk,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    typed: str,
    problem: str,
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(typed))
    assert desk.price("--log", "--ask-own-figure") == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert problem in err
    assert not (desk.workspace / "said").exists()


def test_no_figure_is_an_answer_too(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("\n"))
    assert desk.price("--log", "--ask-own-figure") == 0
    assert desk.said[0]["own_figure"] is None


@pytest.mark.parametrize("words", [("--own-figure", "5"), ("--ask-own-figure",)])
def test_a_figure_that_would_be_lost_is_refused(
    desk: Desk, capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    assert desk.price(*words) == 2
    assert "a figure of your own is lost if what is said is not kept" in capsys.readouterr().err


@pytest.mark.parametrize("words", [("--own-figure", "5"), ("--stock", "H-7"), ("--as-lot", "112")])
def test_what_is_stated_of_one_car_is_not_kept_of_several(
    desk: Desk, capsys: pytest.CaptureFixture[str], words: tuple[str, str]
) -> None:
    cars = [str(desk.car), str(desk.car)]
    assert main(["price", *cars, "--model", str(desk.model), "--log", *words]) == 2
    assert f"{words[0]}: it is for one car (got: 2 cars)" in capsys.readouterr().err


def test_without_a_folder_to_keep_it_in_it_says_how_to_name_one(
    desk: Desk, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("VALUATION_WORKSPACE", raising=False)
    assert main(["price", str(desk.car), "--model", str(desk.model), "--log"]) == 2
    assert "no folder of evidence is named" in capsys.readouterr().err


def test_a_published_model_is_named_by_its_version_and_a_file_by_its_hash(
    tmp_path: Path, model: Path
) -> None:
    files = {"market.model": model.read_bytes()}
    made = publish(
        tmp_path / "published", version="2024-12-31-0a1b2c3d", files=files, by="Ada", reason="first"
    )
    assert version_of(tmp_path / "published") == "2024-12-31-0a1b2c3d"
    assert version_of(made.model) == "2024-12-31-0a1b2c3d"
    assert len(version_of(model)) == 16
    with pytest.raises(SettingsError, match="the model can't be read"):
        version_of(tmp_path / "nothing.model")


def ledger(desk: Desk, day: date, price: int, lot: Car) -> Path:
    """Write the ledger of the lot: bought today, worked on, and sold again."""
    path = desk.folder / "ledger.csv"
    v = lot.values
    path.write_text(
        "date,stock,event,amount,currency,basis,what,channel,venue,lot,chassis,make,model,year\n"
        f"{day},H-7,bought,1000.10,EUR,hammer price,,live auction,Harbour Rooms,112,{lot.chassis},"
        f"{v['make']},{v['model']},{v['year']:.0f}\n"
        f"{day},H-7,spent,250.05,EUR,,service,,,,,,,\n"
        f"{day},H-7,sold,{price},EUR,,,dealer,,,,,,\n",
        encoding="utf-8",
    )
    return path


def test_the_whole_way_from_a_bid_to_the_correction_of_the_next(
    desk: Desk, lot: Car, capsys: pytest.CaptureFixture[str]
) -> None:
    place = ("--workspace", str(desk.workspace))
    points = desk.folder / "points.csv"
    points.write_text("resale,probability\n1800,0.3\n2000,0.4\n2300,0.3\n", encoding="utf-8")
    words = ("--costs", str(desk.costs), "--resale-points", str(points), "--json")
    asked = ("bid", str(desk.car), *words)
    assert main([*asked, *place, "--log", "--as-lot", "112", "--own-figure", "900"]) == 0
    before = json.loads(capsys.readouterr().out)
    expected = before["resale"]["central"]
    path = ledger(desk, datetime.now().astimezone().date(), round(expected * 0.5), lot)
    assert main(["ledger", "import", str(path), *place]) == 0
    set_to = ("--figure", "800", "--reason", "rust")
    assert main(["said", "override", before["said"][:6], *set_to, *place]) == 0
    assert main(["said", "collect", *place, "--json"]) == 0
    capsys.readouterr()
    assert main(["said", "list", *place]) == 0
    assert "; set to 800 (rust)" in capsys.readouterr().out
    record, page = desk.folder / "won.csv", desk.folder / "page.html"
    words = ("--won-record", str(record), "--page", str(page))
    assert main(["realised", *place, *words]) == 0
    assert "Record for winning" in capsys.readouterr().out
    assert "Did it come true?" in page.read_text(encoding="utf-8")
    assert main(["realised", *place, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    (pair,) = found["pairs"]
    assert (pair["matched_by"], pair["override"], pair["own_figure"]) == ("chassis", "800", "900")
    assert pair["margin"]["realised"] == f"{round(expected * 0.5) - 1000.10 - 250.05:.2f}"
    desk.costs.write_text(f'{COSTS}record = "won.csv"\n', encoding="utf-8")
    assert main([*asked]) == 0
    after = json.loads(capsys.readouterr().out)
    assert "1 purchase on record brought" in after["resale"]["winning_source"]
    assert after["resale"]["winning_percent"] < before["resale"]["winning_percent"]


def test_without_a_sale_no_record_is_written(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    assert desk.bid("--log") == 0
    place = ("--workspace", str(desk.workspace))
    assert main(["said", "collect", *place]) == 0
    record = desk.folder / "won.csv"
    assert main(["realised", *place, "--won-record", str(record)]) == 0
    assert "no record is written" in capsys.readouterr().out
    assert not record.exists()


def test_an_override_of_nothing_says_where_to_look(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("--figure", "5", "--reason", "rust", "--workspace", str(desk.workspace))
    assert main(["said", "override", "abc", *words]) == 2
    assert "nothing was said of it (got: abc)" in capsys.readouterr().err


def test_a_ledger_is_listed_and_shown(
    desk: Desk, lot: Car, capsys: pytest.CaptureFixture[str]
) -> None:
    place = ("--workspace", str(desk.workspace))
    path = ledger(desk, date(2024, 3, 14), 2000, lot)
    assert main(["ledger", "import", str(path), *place, "--json"]) == 0
    capsys.readouterr()
    assert main(["ledger", "list", *place, "--in-stock"]) == 0
    assert "0 cars" in capsys.readouterr().out
    assert main(["ledger", "show", "qx12 3456", *place, "--json"]) == 0
    shown = json.loads(capsys.readouterr().out)
    assert (shown["margin"], shown["in_evidence"]) == ("749.85", [])
    assert main(["ledger", "show", "H-8", *place]) == 2
    assert main(["ledger", "import", str(desk.car), *place]) == 2
    assert "not every file could be read in (got: lot112.toml)" in capsys.readouterr().err
    blank = desk.folder / "blank.xlsx"
    assert main(["ledger", "template", str(blank)]) == 0
    assert blank.exists()


def test_the_firm_sets_how_long_a_sale_answers_what_was_said(
    desk: Desk, lot: Car, capsys: pytest.CaptureFixture[str]
) -> None:
    place = ("--workspace", str(desk.workspace))
    now = datetime.now().astimezone()
    car = SaidCar(lot.name, lot.chassis, str(lot.values["make"]))
    early = replace(BID, car=car, said_at=now - timedelta(days=60))
    write_said(desk.workspace / "said", early)
    assert main(["ledger", "import", str(ledger(desk, now.date(), 2000, lot)), *place]) == 0
    assert main(["said", "collect", *place]) == 0
    settings = desk.workspace / "settings.toml"
    for entry, waiting in (("", 0), ("within_days = 30", 1)):
        settings.write_text(f"[realised]\n{entry}\n", encoding="utf-8")
        capsys.readouterr()
        assert main(["realised", *place, "--json"]) == 0
        assert json.loads(capsys.readouterr().out)["waiting"] == waiting
    assert main(["realised", *place, "--within-days", "60", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["waiting"] == 0
    settings.write_text("[realised]\nwithin_days = 0\n", encoding="utf-8")
    assert main(["realised", *place]) == 2
    assert "within_days" in capsys.readouterr().err


def test_a_batch_of_the_ledger_shows_its_rows_set_aside(
    desk: Desk, lot: Car, capsys: pytest.CaptureFixture[str]
) -> None:
    place = ("--workspace", str(desk.workspace))
    path = ledger(desk, date(2024, 3, 14), 2000, lot)
    with path.open("a", encoding="utf-8") as stream:
        stream.write("never,H-7,spent,5,EUR,,paint,,,,,,,\n")
    assert main(["ledger", "import", str(path), *place, "--json"]) == 0
    batch = json.loads(capsys.readouterr().out)["files"][0]["batch"]["batch"]
    assert main(["batches", "show", batch, *place]) == 0
    assert f"{batch}:5  unreadable date (never)" in capsys.readouterr().out
