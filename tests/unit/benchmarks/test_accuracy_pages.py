"""All methods side by side, on the same cars."""

from __future__ import annotations

import numpy as np
import pytest
from accuracy_measures import Predictions
from accuracy_methods import Run
from accuracy_pages import page_of, ratios_of, tables_of
from accuracy_tables import Cost

PRICE = np.array([100.0, 200.0, 300.0, 400.0])
IDS = np.array(["a", "b", "c", "d"])
INSIDE = np.zeros(4, dtype=bool)


def run(central: np.ndarray, outside: np.ndarray = INSIDE, **ranges: np.ndarray) -> Run:
    bounds = {80: (ranges["low"], ranges["high"])} if ranges else {}
    said = Predictions(PRICE, np.asarray(central, dtype=float), bounds)
    return Run(IDS, said, outside, Cost(1.0, 2.0), {})


def test_cars_outside_the_evidence_stand_apart_for_every_method() -> None:
    outside = np.array([False, False, False, True])
    tables = tables_of({"boosted_a": run(2 * PRICE), "ours": run(1.5 * PRICE, outside)})
    assert list(tables) == ["all cars", "inside the evidence", "outside the evidence"]
    assert [t["boosted_a"].tested for t in tables.values()] == [4, 3, 1]
    assert [t["ours"].error for t in tables.values()] == [pytest.approx(50.0)] * 3


def test_peers_alone_have_one_table() -> None:
    assert list(tables_of({"boosted_a": run(PRICE)})) == ["all cars"]


def test_nothing_outside_leaves_two_tables() -> None:
    assert list(tables_of({"ours": run(PRICE)})) == ["all cars", "inside the evidence"]


def test_ranges_of_peers_stand_around_the_estimates_of_boosted_trees() -> None:
    blank = np.full(4, np.nan)
    ranges = run(blank, low=PRICE / 2, high=PRICE * 2)
    tables = tables_of({"boosted_a": run(1.1 * PRICE), "ranges_a_forward": ranges})
    m = tables["all cars"]["ranges_a_forward"]
    assert m.error == pytest.approx(10.0)
    assert m.width == pytest.approx(100 * 1.5 / 1.1)
    assert tables["all cars"]["boosted_a"].held is None


def test_ranges_without_estimates_to_stand_around_are_left_out() -> None:
    ranges = run(np.full(4, np.nan), low=PRICE / 2, high=PRICE * 2)
    assert list(tables_of({"ours": run(PRICE), "ranges_b_forward": ranges})["all cars"]) == ["ours"]


def test_methods_tested_on_different_sales_are_not_compared() -> None:
    other = Run(IDS[::-1], run(PRICE).predictions, INSIDE, Cost(1.0, 2.0), {})
    with pytest.raises(ValueError, match=r"^boosted_a was tested on other sales than the first"):
        tables_of({"ours": run(PRICE), "boosted_a": other})


def test_a_page_names_what_peers_have_chosen_and_no_seconds() -> None:
    peer = Run(IDS, run(PRICE).predictions, INSIDE, Cost(1234.5, 6789.0), {"penalty": 3.0})
    runs = {"regression": peer}
    page = page_of("a file, frozen", tables_of(runs), runs)
    assert page.endswith('Chosen on the training part:\n\n- regression: `{"penalty": 3.0}`\n')
    assert "1234" not in page
    assert "6789" not in page


def test_ratios_to_the_best_peer_stand_on_the_page() -> None:
    runs = {"ours": run(1.1 * PRICE), "boosted_a": run(1.2 * PRICE), "boosted_b": run(1.4 * PRICE)}
    ratios = ratios_of(runs)
    assert list(ratios) == ["all cars", "inside the evidence"]
    assert ratios["all cars"][0].peer == "boosted_a"
    page = page_of("x", tables_of(runs), runs, ratios)
    row = "| all cars, median absolute error | boosted_a | 20.00 | 10.00 | 0.500 | 0.500 to 0.500 |"
    assert row in page
    assert ratios_of({"boosted_a": run(PRICE)}) == {}
