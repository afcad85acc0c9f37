"""The frozen spec: its columns, and that it replays on one car what it did to the sales."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from valuation.features.assumptions import NO_ASSUMPTIONS, default_assumptions
from valuation.features.encoders import Crossed, Levels, Ones, Silent, Straight
from valuation.features.learn import learn_spec
from valuation.features.settings import FeatureSettings
from valuation.features.table import FeatureTable
from valuation.features.terms import FeatureSpec, Term

Make = Callable[..., FeatureTable]


@pytest.fixture(scope="module")
def spec(market: Any) -> FeatureSpec:
    return learn_spec(market.table, settings=FeatureSettings(), assumptions=default_assumptions())


SMALL = FeatureSpec(
    (
        Term("level", "start", Ones("ones"), "free"),
        Term("slope", "mileage", Straight("mileage"), "assumed", (-0.1,), (0.05,)),
        Term("line", "make", Crossed("ones", Ones("ones"), "line", ("a |", "b |"), (0, 1))),
        Term("colour", "colour", Levels("colour", levels=("blue", "red"))),
    ),
    ("a |", "b |"),
)


def test_columns_of_a_spec() -> None:
    assert SMALL.starts == (0, 1, 2, 4, 6)
    assert SMALL.n_columns == 6
    assert SMALL.labels == (
        "ones", "mileage", "ones, a |", "ones, b |", "colour = blue", "colour = red",
    )  # fmt: skip
    assert SMALL.attributes == ("start", "mileage", "make", "colour")
    assert SMALL.column_attribute.tolist() == [0, 1, 2, 2, 3, 3]
    assert SMALL.is_local.tolist() == [False, False, True, True, False, False]
    assert SMALL.within.tolist() == [0, 1, 0, 1, 2, 3]


def test_layout_of_a_spec() -> None:
    layout = SMALL.layout()
    assert layout.names == ("level", "slope", "line", "colour")
    assert layout.penalties == ("free", "assumed", "estimated", "estimated")
    assert layout.block.tolist() == [0, 1, 2, 2, 3, 3]
    assert layout.owner.tolist() == [-1, -1, 0, 1, -1, -1]
    assert layout.mean.tolist() == [0, -0.1, 0, 0, 0, 0]
    assert layout.sd.tolist() == [np.inf, 0.05, np.inf, np.inf, np.inf, np.inf]


def test_design_of_a_spec(by_hand: Make) -> None:
    table = by_hand(3, make=["B", "A", "Other"], mileage=[2.0, np.nan, 3.0], colour=["Red"] * 3)
    design = SMALL.transform(table)
    assert design.X.toarray().tolist() == [
        [1, 2, 0, 1, 0, 1], [1, 0, 1, 0, 0, 1], [1, 3, 0, 0, 0, 1],
    ]  # fmt: skip
    assert design.line.tolist() == [1, 0, -1]


def test_part_of_a_spec() -> None:
    part = SMALL.only({"level", "colour", "no such term"})
    assert [t.name for t in part.terms] == ["level", "colour"]
    assert part.lines == SMALL.lines
    assert part.n_columns == 3


def test_only_columns_crossed_with_lines_are_local() -> None:
    crossed = Crossed("ones", Ones("ones"), "make", ("a",), (0,))
    assert not Term("make", "make", crossed).local
    assert SMALL.terms[2].local
    assert not SMALL.terms[0].local


def test_local_columns_belong_to_the_line_of_their_rows(market: Any, spec: FeatureSpec) -> None:
    design, layout = spec.transform(market.table), spec.layout()
    groups = layout.groups(design.X)  # would refuse a row with columns of two lines
    has = groups >= 0
    assert has.mean() > 0.9
    assert groups[has].tolist() == design.line[has].tolist()


def test_every_column_of_the_sales_is_used(market: Any, spec: FeatureSpec) -> None:
    """Each was given because sales carry it; only assumed ones may be empty."""
    used = np.diff(spec.transform(market.table).X.tocsc().indptr)
    names = np.repeat([t.penalty for t in spec.terms], np.diff(spec.starts))
    assert (used[names != "assumed"] > 0).all()
    assert (used[names == "assumed"] == 0).any()


def test_usual_values_stand_in_but_silence_is_heard(market: Any, spec: FeatureSpec) -> None:
    assert spec.usual
    bare = FeatureSpec(spec.terms, spec.lines)
    full, plain = spec.transform(market.table).X, bare.transform(market.table).X
    differs = np.unique((full - plain).tocoo().col)
    assert len(differs)
    for t, start, stop in zip(spec.terms, spec.starts[:-1], spec.starts[1:], strict=True):
        if isinstance(t.encoder, Silent):
            assert not ((differs >= start) & (differs < stop)).any(), t.name


# Replay


def assert_replays(market: Any, spec: FeatureSpec, rows: Any) -> None:
    whole = spec.transform(market.table.to_come())
    for i in rows:
        alone = spec.transform(market.car_table(int(i)))
        np.testing.assert_allclose(
            alone.X.toarray(), whole.X[[i]].toarray(), rtol=1e-12, atol=1e-12, err_msg=f"row {i}"
        )
        assert alone.line[0] == whole.line[i]


def test_a_car_alone_gets_the_row_of_its_sale(market: Any, spec: FeatureSpec) -> None:
    assert_replays(market, spec, range(0, market.table.n, 23))


@settings(
    max_examples=30,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    seed=st.integers(0, 10_000),
    sales=st.integers(60, 220),
    lines=st.integers(1, 9),
    options=st.fixed_dictionaries(
        {"words": st.booleans(), "local": st.booleans(), "min_level": st.integers(1, 5)}
    ),
    assume=st.booleans(),
)
def test_any_market_replays(
    make_small_market: Callable[..., Any],
    seed: int,
    sales: int,
    lines: int,
    options: dict[str, Any],
    assume: bool,
) -> None:
    market = make_small_market(sales, seed, lines=lines)
    spec = learn_spec(
        market.table,
        settings=FeatureSettings(**options),
        assumptions=default_assumptions() if assume else NO_ASSUMPTIONS,
    )
    assert_replays(market, spec, np.random.default_rng(seed).choice(sales, 6, replace=False))


def test_a_spec_learned_twice_is_the_same(market: Any, spec: FeatureSpec) -> None:
    again = learn_spec(market.table, settings=FeatureSettings(), assumptions=default_assumptions())
    assert again.terms == spec.terms
    assert again.lines == spec.lines
    first, second = spec.transform(market.table).X, again.transform(market.table).X
    assert first.data.tobytes() == second.data.tobytes()


def test_a_car_like_no_other_is_still_encoded(market: Any, spec: FeatureSpec) -> None:
    row = market.car_table(3)
    strange = {name: type(f)(np.array([0]), ("never seen",)) for name, f in row.factors.items()}
    table = FeatureTable(1, row.numbers, strange, row.bags)
    design = spec.transform(table)
    assert design.line.tolist() == [-1]
    assert not design.X[:, np.flatnonzero(spec.is_local)].nnz
    assert design.X.nnz > 0
