"""What the peers see, and that the word feature never sees the price it stands for."""

from __future__ import annotations

import numpy as np
from accuracy_splits import folds_by_chassis
from peer_features import Scale, WordRidge, category_names, columns, cross_fitted, with_words

from valuation.appraisal.data import MarketData
from valuation.features.table import FeatureTable


def test_the_word_feature_of_a_fold_does_not_depend_on_its_prices(
    worded_sales: MarketData,
) -> None:
    fold = folds_by_chassis(worded_sales, 5, seed=0)
    y = worded_sales.log_price
    before = cross_fitted(worded_sales.table, y, fold, 1.0)
    for k in range(5):
        moved = np.where(fold == k, y + 3.0, y)
        after = cross_fitted(worded_sales.table, moved, fold, 1.0)
        np.testing.assert_array_equal(after[fold == k], before[fold == k])
        assert np.median(np.abs(after[fold != k] - before[fold != k])) > 0.1


def test_no_sale_of_the_same_chassis_helps_the_word_feature(worded_sales: MarketData) -> None:
    train, _ = with_words(worded_sales, worded_sales.table)
    y = worded_sales.log_price.copy()
    y[1] += 5.0  # the same chassis as sale 0
    frame = worded_sales.frame
    moved = MarketData(worded_sales.table, y, worded_sales.bound, frame, True)
    fold = folds_by_chassis(worded_sales, 5, seed=0)
    same = cross_fitted(moved.table, moved.log_price, fold, 0.5)[0]
    assert same == cross_fitted(worded_sales.table, worded_sales.log_price, fold, 0.5)[0]
    assert train["words"].notna().all()


def test_the_word_feature_learns_what_a_word_is_worth(worded_sales: MarketData) -> None:
    train, test = with_words(worded_sales, worded_sales.table)
    sharp = worded_sales.frame["title"].str.contains("Sprint").to_numpy()
    for frame in (train, test):
        gap = frame["words"][sharp].mean() - frame["words"][~sharp].mean()
        assert 0.55 < gap < 0.75  # the word doubles the price: log 2 = 0.69, somewhat shrunk


def test_words_that_training_does_not_know_move_nothing(worded_sales: MarketData) -> None:
    table = worded_sales.table
    sprint = table.bags["wording"].levels.index("sprint")
    plain = np.setdiff1d(np.arange(60), table.bags["wording"].rows[
        table.bags["wording"].codes == sprint])  # fmt: skip
    fitted = WordRidge.fit(table.take(plain), worded_sales.log_price[plain], 1.0)
    assert not [v for v in fitted.place if "sprint" in v]
    assert np.isfinite(fitted.predict(table)).all()


def test_columns_have_the_levels_of_the_known_sales(dated_sales: MarketData) -> None:
    known, later = dated_sales.table.take(np.arange(400)), dated_sales.table.take(slice(400, 800))
    train, test = columns(known, known), columns(known, later)
    assert list(train.columns) == list(test.columns)
    assert "age" in train
    assert "day" in train
    assert {"make", "line"} <= set(train.columns)
    assert "chassis" not in train
    for name in category_names(known):
        assert list(train[name].cat.categories) == list(test[name].cat.categories)
        codes = train[name].cat.codes
        counts = codes[codes >= 0].value_counts()
        assert (counts >= 2).all()


def test_a_level_seen_once_or_never_is_not_stated(worded_sales: MarketData) -> None:
    table = worded_sales.table
    words = ["red"] * 30 + ["blue"] * 29 + ["teal"]
    colour = type(table.factors["colour"]).of(words)
    known = FeatureTable(60, table.numbers, {**table.factors, "colour": colour}, table.bags)
    shown = columns(known, known)["colour"]
    assert shown.cat.categories.tolist() == ["blue", "red"]
    assert shown.isna().tolist() == [False] * 59 + [True]


def test_the_outcome_of_a_sale_is_not_shown(dated_sales: MarketData) -> None:
    assert "outcome" not in category_names(dated_sales.table)


def test_sets_become_indicators(dated_sales: MarketData) -> None:
    shown = columns(dated_sales.table, dated_sales.table)
    name = next(c for c in shown if c.startswith("documents "))
    bag = dated_sales.table.bags["documents"]
    word = name.removeprefix("documents ")
    has = bag.rows[bag.codes == bag.levels.index(word)]
    assert np.flatnonzero(shown[name] == 1.0).tolist() == np.unique(has).tolist()
    assert shown[name].isna().tolist() == (~bag.stated).tolist()


def test_powers_of_numbers_stay_within_three_spreads(dated_sales: MarketData) -> None:
    scale = Scale.learn(dated_sales.table)
    shown = scale.shown(dated_sales.table, (1, 2))
    k = len(scale.names)
    assert "day" not in scale.names  # powers of the date run away in the months to be priced
    assert shown.shape == (len(dated_sales), 3 * k)
    assert np.abs(shown[:, :k]).max() <= 3.0
    np.testing.assert_allclose(shown[:, k : 2 * k], shown[:, :k] ** 2)
    assert set(np.unique(shown[:, 2 * k :])) <= {0.0, 1.0}
