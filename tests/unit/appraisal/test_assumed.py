"""Lines that rest on assumption: found for many cars at once as the explanation finds them."""

from __future__ import annotations

from collections import Counter

import pytest

from valuation.appraisal.assumed import LARGE, LITTLE
from valuation.appraisal.batch import batches
from valuation.appraisal.lines import explain_lines
from valuation.appraisal.market import MarketModel
from valuation.records import Car

WARNING = "More assumption than evidence: "


@pytest.mark.parametrize("name", ["small_market", "tiny_market"])
def test_they_are_those_of_the_explanation(
    name: str, sold_cars: list[Car], request: pytest.FixtureRequest
) -> None:
    market: MarketModel = request.getfixturevalue(name)
    papers = Car({"make": "Torvane", "year": 1960.0, "documents": ("bills",)})
    cars = [*sold_cars, papers, Car({"make": "Nobody's", "year": 1966.0})]
    (found,) = batches(market, cars, as_of=market.as_of)
    seen: Counter[str] = Counter()
    for i in range(len(cars)):
        lines = explain_lines(market.fitted, market.typical, found.starts.moved(i), {})
        weak = [x.label for x in lines if x.share < LITTLE and abs(x.effect) > LARGE]
        assert found.assumed[i] == tuple(dict.fromkeys(weak))
        seen.update(found.assumed[i])
    assert len(seen) > 3
    assert seen.total() > 20
