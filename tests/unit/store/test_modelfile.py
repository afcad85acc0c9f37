"""A model that was saved prices as before, has the same bytes each time, and holds no code."""

from __future__ import annotations

import io
import os
import zipfile
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from valuation.appraisal.appraise import appraise
from valuation.appraisal.market import MarketModel, fit_market
from valuation.appraisal.settings import ModelSettings
from valuation.errors import ModelFileError, ValuationError
from valuation.features.settings import FeatureSettings
from valuation.models.comparables import ComparableSettings
from valuation.records import Car, SalesBook
from valuation.store.archive import read_archive, write_archive
from valuation.store.modelfile import load_model, save_model
from valuation.store.plain import (
    settings_from_plain,
    settings_to_plain,
    spec_from_plain,
    spec_to_plain,
)
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

DAY = date(2025, 4, 1)


@pytest.fixture(scope="module")
def saved(small_market: MarketModel, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return save_model(small_market, tmp_path_factory.mktemp("store") / "small.model")


@pytest.fixture(scope="module")
def loaded(saved: Path) -> MarketModel:
    return load_model(saved)


@pytest.fixture(scope="module")
def tiny(tiny_market: MarketModel, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return save_model(tiny_market, tmp_path_factory.mktemp("store") / "tiny.model")


def test_a_loaded_model_prices_as_before(
    small_market: MarketModel, loaded: MarketModel, sold_cars: list[Car]
) -> None:
    odd = Car({"make": "Nobody's", "year": 1950.0}, not_looked_at=frozenset({"documents"}))
    for car in [*sold_cars[::4], odd]:
        assert appraise(loaded, car, as_of=DAY) == appraise(small_market, car, as_of=DAY)


def test_a_loaded_model_says_the_same_of_itself(
    small_market: MarketModel, loaded: MarketModel
) -> None:
    assert loaded.summary() == small_market.summary()
    assert loaded.makes == small_market.makes
    assert loaded.settings == small_market.settings
    assert loaded.usual == small_market.usual
    assert loaded.fitted.held == small_market.fitted.held
    assert loaded.frame.equals(small_market.frame)


def test_a_model_that_does_not_know_what_was_stated_prices_all_the_same(
    small_market: MarketModel, saved: Path, tmp_path: Path, sold_cars: list[Car]
) -> None:
    arrays, plain, manifest = read_archive(saved)
    assert arrays.pop("sales_stated").shape == small_market.fitted.sales.effects.shape
    about = {name: manifest[name] for name in ("made_by", "settings")}
    older = write_archive(tmp_path / "older.model", arrays=arrays, plain=plain, about=about)
    for car in (replace(c, chassis="") for c in sold_cars[::8]):
        # Only an earlier sale of the very car can have stated less than is known of it now.
        assert appraise(load_model(older), car, as_of=DAY) == appraise(small_market, car, as_of=DAY)


def test_what_months_ahead_add_comes_back(
    small_market: MarketModel, loaded: MarketModel, tmp_path: Path, saved: Path
) -> None:
    known = small_market.calibration
    assert known.ahead_rate > 0
    assert (loaded.calibration.ahead_rate, loaded.calibration.ahead_from) == (
        known.ahead_rate,
        known.ahead_from,
    )
    # A file of the first format lacks it, and is read as it was meant then.
    arrays, plain, manifest = read_archive(saved)
    plain["market"] = {k: v for k, v in plain["market"].items() if not k.startswith("ahead")}
    about = {k: v for k, v in manifest.items() if k not in ("entries", "format")}
    old = load_model(write_archive(tmp_path / "old.model", arrays=arrays, plain=plain, about=about))
    assert old.calibration.ahead_variance(200.0) == 0.0
    car = Car({"make": "Torvane", "model": "GT", "year": 1966.0})
    assert appraise(old, car) == appraise(small_market, car)


def test_saving_twice_gives_the_same_bytes(
    small_market: MarketModel, loaded: MarketModel, saved: Path, tmp_path: Path
) -> None:
    again = save_model(small_market, tmp_path / "again.model")
    assert again.read_bytes() == saved.read_bytes()
    copied = save_model(loaded, tmp_path / "copy.model")
    assert copied.read_bytes() == saved.read_bytes()


def test_fitting_twice_gives_the_same_bytes(
    tiny: Path, lean: ModelSettings, tmp_path: Path
) -> None:
    world = make_market(MarketSettings(sales=150, lines=3), seed=8)
    market = fit_market(world.book(), settings=lean)
    assert save_model(market, tmp_path / "again.model").read_bytes() == tiny.read_bytes()


def test_an_undated_model_is_saved_too(
    lean: ModelSettings, undate: Callable[[SalesBook], SalesBook], tmp_path: Path
) -> None:
    book = undate(make_market(MarketSettings(sales=150, lines=3), seed=8).book())
    market = fit_market(book, settings=lean)
    loaded = load_model(save_model(market, tmp_path / "undated.model"))
    assert not loaded.dated
    assert loaded.as_of is None
    assert np.isnan(loaded.fitted.last_day)
    car = Car({"make": "Torvane", "model": "GT", "year": 1966.0})
    assert appraise(loaded, car) == appraise(market, car)


def test_the_manifest_says_what_made_it(saved: Path, small_market: MarketModel) -> None:
    _, _, manifest = read_archive(saved)
    assert set(manifest) == {
        "entries", "format", "made_by", "packages", "sales", "sales_sha256", "settings",
    }  # fmt: skip
    assert manifest["made_by"].startswith("collector-car-valuation ")
    assert manifest["sales"] == len(small_market.frame)
    assert set(manifest["packages"]) == {"numpy", "scipy", "pandas", "scikit-learn"}
    assert len(manifest["sales_sha256"]) == 64


def test_other_sales_have_another_hash(
    tiny_market: MarketModel, tiny: Path, tmp_path: Path
) -> None:
    frame = tiny_market.frame.assign(price=tiny_market.frame["price"] + 1.0)
    other = save_model(replace(tiny_market, frame=frame), tmp_path / "other.model")
    hashes = [read_archive(p)[2]["sales_sha256"] for p in (tiny, other)]
    assert hashes[0] != hashes[1]


def test_a_model_holds_no_code(saved: Path) -> None:
    with zipfile.ZipFile(saved) as z:
        names = z.namelist()
        assert {n.rpartition(".")[2] for n in names} == {"npy", "json", "seal"}
        for name in names:
            if name.endswith(".npy"):
                array = np.load(io.BytesIO(z.read(name)), allow_pickle=False)
                assert array.dtype.kind in "fiub"


@settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(where=st.floats(0, 1, exclude_max=True), bits=st.integers(1, 255))
def test_a_changed_byte_anywhere_is_refused(
    tiny: Path, tmp_path: Path, where: float, bits: int
) -> None:
    raw = bytearray(tiny.read_bytes())
    raw[int(where * len(raw))] ^= bits
    other = tmp_path / "flipped.model"
    other.write_bytes(raw)
    with pytest.raises(ModelFileError) as caught:
        load_model(other)
    assert str(caught.value).startswith(
        "flipped.model: the model is damaged or was changed, and is not used (got: "
    )


@settings(
    max_examples=20,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(share=st.floats(0, 1, exclude_max=True))
def test_a_cut_model_is_refused(tiny: Path, tmp_path: Path, share: float) -> None:
    raw = tiny.read_bytes()
    cut = tmp_path / "cut.model"
    cut.write_bytes(raw[: int(share * len(raw))])
    with pytest.raises(ModelFileError) as caught:
        load_model(cut)
    assert str(caught.value).startswith("cut.model: the model is damaged or was changed")


def test_an_archive_of_something_else_is_refused(tiny: Path, tmp_path: Path) -> None:
    arrays, plain, manifest = read_archive(tiny)
    about = {k: v for k, v in manifest.items() if k not in ("entries", "format")}
    sentence = (
        "other.model: the model is damaged or was changed, and is not used (got: it holds "
        "something else than a market model). Fit it again, or take the copy it came from."
    )
    less = {k: v for k, v in arrays.items() if k != "coef"}
    odd = {**plain, "market": {**plain["market"], "as_of": "yesterday"}}
    for a, p, m in ((less, plain, about), (arrays, odd, about), (arrays, plain, {}), ({}, {}, {})):
        other = write_archive(tmp_path / "other.model", arrays=a, plain=p, about=m)
        with pytest.raises(ModelFileError) as caught:
            load_model(other)
        assert str(caught.value) == sentence


def test_a_failed_save_leaves_the_old_model(
    tiny_market: MarketModel, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = save_model(tiny_market, tmp_path / "market.model")
    before = path.read_bytes()

    def broken(*_: object) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "fsync", broken)
    with pytest.raises(ValuationError, match="the model can't be written there"):
        save_model(replace(tiny_market, currency="GBP"), path)
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["market.model"]
    assert load_model(path).currency == "EUR"


def test_settings_come_back_from_plain_data() -> None:
    asked = ModelSettings(
        features=FeatureSettings(knots=3, words=False),
        comparables=ComparableSettings(bandwidth=0.3),
        unsold="as bounds",
        robust_df=None,
        origins=2,
        level=0.5,
    )
    plain = settings_to_plain(asked)
    assert plain["unsold"] == "as bounds"
    assert plain["robust_df"] is None
    assert settings_from_plain(plain) == asked


def test_a_spec_comes_back_from_plain_data(small_market: MarketModel) -> None:
    spec = small_market.fitted.spec
    plain = spec_to_plain(spec)
    back = spec_from_plain(plain)
    assert back.terms == spec.terms
    assert back.lines == spec.lines
    assert spec_to_plain(back) == plain
