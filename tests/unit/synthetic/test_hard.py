"""A wrong method does worse in this market than a right one; otherwise it would be too easy."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest
from sklearn.linear_model import Ridge

from valuation.synthetic.market import SyntheticMarket, make_market
from valuation.synthetic.settings import MarketSettings
from valuation.synthetic.world import LINES

WORDS = ("body", "genuineness", "transmission", "restoration", "engine_originality", "channel")
NUMBERS = ("condition_grade", "originality_score", "mileage", "engine_size", "year")
MODERN = {line.model for line in LINES if line.segment == "modern classics"}
WRONG = (
    "time ignored",
    "basis ignored",
    "silence ignored",
    "unsold bids as prices",
    "tributes pooled",
)


def dummies(words: pd.Series, times: pd.Series | float = 1.0) -> pd.DataFrame:
    return pd.get_dummies(words).astype(float).mul(times, axis=0)


def design(table: pd.DataFrame, wrong: str) -> np.ndarray:
    """Return the columns of a plain hedonic regression, one thing left out of it."""
    line = table["make"] + " " + table["model"]
    blocks = [dummies(line), dummies(line + table["variant"].fillna("?"))]
    for name in WORDS:
        if name != "genuineness" or wrong != "tributes pooled":
            words = table[name]
            blocks.append(dummies(words if wrong == "silence ignored" else words.fillna("silent")))
    for name in NUMBERS:
        silent = table[name].isna()
        value = np.sqrt(table[name])
        value = ((value - value.mean()) / value.std()).fillna(0)
        blocks += [pd.DataFrame({"x": value, "curve": value**2}), dummies(line, 0.3 * value)]
        if wrong != "silence ignored":
            blocks.append(silent.astype(float).to_frame())
    if wrong != "time ignored":
        years = (table["sale_date"] - pd.Timestamp(2022, 1, 1)).dt.days / 365.25
        blocks += [dummies(line, 0.3 * years), years.to_frame()]
    if wrong != "basis ignored":
        blocks.append(dummies(table["basis"]))
    if wrong != "unsold bids as prices":
        blocks.append((table["outcome"] == "not sold").astype(float).to_frame())
    return pd.concat(blocks, axis=1).to_numpy()


@dataclass(frozen=True)
class Score:
    """Errors of log estimates of the last year's sales."""

    table: pd.DataFrame
    error: np.ndarray

    def mean(self, **where: str) -> float:
        rows = self.table["outcome"] == "sold"
        for name, word in where.items():
            rows &= self.table[name] == word
        assert rows.sum() >= 5
        return float(np.mean(self.error[rows]))

    @property
    def spread(self) -> float:
        return float(np.sqrt(np.mean(self.error[self.table["outcome"] == "sold"] ** 2)))


def score(market: SyntheticMarket, wrong: str) -> Score:
    table = market.table
    logs, columns = np.log(table["price"].to_numpy()), design(table, wrong)
    late = (table["sale_date"] >= pd.Timestamp(2024, 1, 1)).to_numpy()
    fitted = Ridge(1.0).fit(columns[~late], logs[~late])
    error = fitted.predict(columns[late]) - logs[late]
    return Score(table[late].reset_index(drop=True), error)


@pytest.fixture(scope="module")
def scores() -> dict[str, Score]:
    market = make_market(MarketSettings(sales=6000), seed=1)
    return {method: score(market, method) for method in ("right", *WRONG)}


@pytest.mark.parametrize("wrong", ["time ignored", "silence ignored", "tributes pooled"])
def test_the_error_grows(scores: dict[str, Score], wrong: str) -> None:
    assert scores[wrong].spread > 1.01 * scores["right"].spread


def test_without_time_the_late_sales_are_underestimated(scores: dict[str, Score]) -> None:
    def mean(method: str) -> float:
        late = scores[method]
        rows = late.table["model"].isin(MODERN) & (late.table["outcome"] == "sold")
        return float(np.mean(late.error[rows]))

    assert mean("time ignored") < mean("right") - 0.05


def test_with_unsold_bids_as_prices_estimates_are_too_low(scores: dict[str, Score]) -> None:
    auction = {"basis": "hammer price"}
    drop = scores["right"].mean(**auction) - scores["unsold bids as prices"].mean(**auction)
    assert drop > 0.03


def test_pooled_tributes_are_overrated(scores: dict[str, Score]) -> None:
    word = {"genuineness": "tribute"}
    assert scores["tributes pooled"].mean(**word) > scores["right"].mean(**word) + 0.2


def test_without_the_basis_hammer_and_premium_prices_part(scores: dict[str, Score]) -> None:
    def gap(method: str) -> float:
        bases = ("hammer price", "hammer price plus buyer's premium")
        return float(np.subtract(*(scores[method].mean(basis=b) for b in bases)))

    assert gap("basis ignored") > gap("right") + 0.05
