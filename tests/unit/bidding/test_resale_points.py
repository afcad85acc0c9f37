"""Points of a resale from CSV, TOML and JSON."""

from __future__ import annotations

import json
from contextlib import suppress
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.bidding.resale_points import FINEST, read_resale_points
from valuation.errors import ResaleError

Points = tuple[tuple[Decimal, Fraction], ...]
STEADY = settings(max_examples=60, deadline=None, derandomize=True)
THIRD = Fraction(1, 3)
THREE = tuple((Decimal(n), THIRD) for n in (40_000, 50_000, 60_000))
UNEVEN = tuple((Decimal(n), Fraction(p, 10)) for n, p in ((40_000, 5), (50_000, 3), (60_000, 2)))
AMOUNT = "an amount from 0 to 1,000,000,000 with at most two decimals"
CHANCE = "a number of zero or more, such as 0.25, 25% or 1/4"


def read(folder: Path, content: str | bytes, name: str = "points.csv") -> Points:
    path = folder / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_resale_points(path)


def told(folder: Path, content: str | bytes, name: str = "points.csv") -> str:
    with pytest.raises(ResaleError) as caught:
        read(folder, content, name)
    return str(caught.value)


@pytest.mark.parametrize(
    "content",
    [
        "resale,probability\n40000,0.5\n50000,0.3\n60000,0.2\n",
        "40000,0.5\n50000,0.3\n60000,0.2\n",
        "40000;0,5\n\n50000;0,3\n60000;0,2\n",
        "Probability (%)\tSold to\tResale (EUR)\n50\tx\t40.000\n30\ty\t50.000\n20\tz\t60.000\n",
        "price,chance\n$40000,50%\n$50000,30 per cent\n$60000,20percent\n",
        "value,share\n40k,1/2\n50k,3/10\n60k,.2\n",
        "amount;weight\n40,000;5\n50,000;3\n60,000;2\n",
        "resale,weight\n40000,2.5\n50000,1.5\n60000,1\n",
        b"\xef\xbb\xbfresale,probability\r\n40000,0.5\r\n50000,0.3\r\n60000,0.2\r\n",
    ],
)
def test_a_table_as_people_write_it(tmp_path: Path, content: str | bytes) -> None:
    assert read(tmp_path, content) == UNEVEN


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("p.csv", "40000,1/3\n50000,1/3\n60000,1/3\n"),
        ("p.csv", "40000,0.333\n50000,0.333\n60000,0.333\n"),
        ("p.csv", "40000,33.3\n50000,33.3\n60000,33.3\n"),
        ("p.txt", "resale\n40000\n50000\n60000\n"),
        ("p.tsv", "40000\n50000\n60000\n"),
        ("p.csv", "resale,probability\n40000,\n50000,\n60000,\n"),
        ("p.json", '[[40000, "1/3"], [50000, "1/3"], [60000.00, "1/3"]]'),
        ("p.json", "[[40000, 0.3333333333333333], [50000, 0.3333333333333333], "
         "[60000, 0.3333333333333333]]"),
        ("p.json", "[40000, 50000, [60000]]"),
        ("p.json", '{"points": [{"price": 40000, "weight": 7}, {"Price": 50000, "weight": 7}, '
         '{"price": "60,000", "weight": "7"}]}'),
        ("p.toml", "points = [[40000, 1], [50000, 1], [60000, 1]]".replace(" 1]", ' "1/3"]')),
        ("p.toml", '[[points]]\nresale = 40000\n[[points]]\nresale = 50000\n[[points]]\n'
         "resale = 60000\n"),
    ],
)  # fmt: skip
def test_three_points_alike(tmp_path: Path, name: str, content: str) -> None:
    assert read(tmp_path, content, name) == THREE


@STEADY
@given(
    st.lists(
        st.tuples(st.decimals(0, 1_000_000_000, places=2), st.integers(0, 10**9)),
        min_size=1,
        max_size=12,
    ).filter(lambda points: any(w for _, w in points)),
    st.sampled_from(("csv", "json", "toml")),
)
def test_amounts_are_exact_and_probabilities_add_up(
    tmp_path_factory: pytest.TempPathFactory, points: list[tuple[Decimal, int]], kind: str
) -> None:
    written = {
        "csv": "resale,weight\n" + "".join(f"{a},{w}\n" for a, w in points),
        "json": "[" + ", ".join(f'{{"resale": {a}, "weight": {w}}}' for a, w in points) + "]",
        "toml": f"points = [{', '.join(f'{{resale = {a}, weight = {w}}}' for a, w in points)}]",
    }
    found = read(tmp_path_factory.mktemp("points"), written[kind], f"points.{kind}")
    total = sum(w for _, w in points)
    assert [a for a, _ in found] == [a for a, _ in points]
    assert sum(p for _, p in found) == 1
    for (_, weight), (_, probability) in zip(points, found, strict=True):
        assert abs(probability - Fraction(weight, total)) < Fraction(1, FINEST)
        assert probability.denominator <= FINEST


@STEADY
@given(st.lists(st.integers(1, 1000), min_size=1, max_size=5))
def test_a_small_common_denominator_is_kept_exactly(
    tmp_path_factory: pytest.TempPathFactory, weights: list[int]
) -> None:
    content = json.dumps([{"resale": i, "weight": w} for i, w in enumerate(weights)])
    found = read(tmp_path_factory.mktemp("points"), content, "points.json")
    assert [p for _, p in found] == [Fraction(w, sum(weights)) for w in weights]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("resale,probability\n40000,0.5\n50000,0.4\n", "points.csv: the probabilities add up to "
         "0.9, not to 1 (got: 0.5, 0.4). Correct them, or call them weight."),
        ("40000,1.2\n", "points.csv: the probabilities add up to 1.2, not to 1 (got: 1.2). Correct "
         "them, or call them weight."),
        ("40000,50%\n50000,50\n", "points.csv: the probabilities add up to 50.5, not to 1 (got: "
         "50%, 50). Correct them, or call them weight."),
        ("resale,weight\n40000,0\n50000,0\n",
         "points.csv: every weight is zero. Let one of the points be possible."),
        ("40000 0.5\n(50000)\n", f"points.csv: 2 entries are wrong: row 1, resale has to be "
         f"{AMOUNT} (got: 40000 0.5); row 2, resale has to be {AMOUNT} (got: (50000)). Correct "
         "them."),
        ("40000,0.5\nmuch,0.5\n", f"points.csv: one entry is wrong: row 2, resale has to be "
         f"{AMOUNT} (got: much). Correct it."),
        ("-40000,0.5\n0.125,0.5\n", f"points.csv: 2 entries are wrong: row 1, resale has to be "
         f"{AMOUNT} (got: -40000.0); row 2, resale has to be {AMOUNT} (got: 0.125). Correct them."),
        ("40000,0.5\n50000,-0.5\n60000\n", "points.csv: 2 entries are wrong: row 2, probability "
         f"has to be {CHANCE} (got: -0.5); row 3, probability has to be {CHANCE} (got: nothing). "
         "Correct them."),
        ("resale;weight\n40000;1,250\n50000;1/0\n", "points.csv: 2 entries are wrong: row 2, "
         f"weight has to be {CHANCE} (got: 1,250); row 3, weight has to be {CHANCE} (got: 1/0). "
         "Correct them."),
        ("car,odds\nx,3\n", "points.csv: no column is called resale (got: car, odds). Name the "
         "columns resale and probability."),
        ("40000,1,2\n", "points.csv: two columns without names are wanted (got: 3 in a row). Name "
         "the columns resale and probability."),
        ("", "points.csv: there are no points. Write an amount and its probability a line."),
        ("resale,probability\n", "points.csv: there are no points. Write an amount and its "
         "probability a line."),
    ],
)  # fmt: skip
def test_a_wrong_table_is_told(tmp_path: Path, content: str, said: str) -> None:
    assert told(tmp_path, content) == said


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ('{"points": 3}', "p.json: it is no list of points (got: 3). Write points = [{ resale = "
         '40000, probability = "1/3" }], or the same as JSON.'),
        ('{"a": 1, "points": []}', "p.json: it is no list of points (got: a, points). Write points "
         '= [{ resale = 40000, probability = "1/3" }], or the same as JSON.'),
        ("[[40000, 0.5, 1], []]", "p.json: 2 entries are wrong: point 1 has to be two numbers, "
         'such as [40000, "1/3"] (got: [40000, 0.5, 1]); point 2 has to be two numbers, such as '
         '[40000, "1/3"] (got: []). Correct them.'),
        ('[{"resal": 40000, "probability": 1}]', "p.json: 2 entries are wrong: point 1, resal has "
         "to be one of resale, value, amount, price, probability, chance, share, weight (got: an "
         "unknown entry); point 1, resale has to be an amount (got: nothing). Correct them."),
        ('[{"resale": 4, "weight": 1}, {"resale": 5, "share": 1}]', "p.json: one entry is wrong: "
         "points has to be all of one kind, weights or probabilities (got: both). Correct it."),
        ("[[NaN, 0.5], [true, Infinity]]", f"p.json: 3 entries are wrong: point 1, resale has to "
         f"be {AMOUNT} (got: NaN); point 2, resale has to be {AMOUNT} (got: True); point 2, "
         f"probability has to be {CHANCE} (got: Infinity). Correct them."),
    ],
)  # fmt: skip
def test_a_wrong_list_is_told(tmp_path: Path, content: str, said: str) -> None:
    assert told(tmp_path, content, "p.json") == said


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("p.xlsx", "", "p.xlsx: points of a resale are read from CSV, TOML or JSON (got: .xlsx). "
         "Let the name end in .csv, .toml or .json."),
        ("p", "", "p: points of a resale are read from CSV, TOML or JSON (got: no ending). Let the "
         "name end in .csv, .toml or .json."),
        ("p.json", "[", "p.json: it can't be read (got: Expecting value: "),
        ("p.toml", "points = [", "p.toml: it can't be read (got: "),
        ("p.toml", b"\xff", "p.toml: it can't be read (got: "),
        ("p.csv", '"' + "a" * 2_000_000, "p.csv: it can't be read (got: field larger than "),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_read(
    tmp_path: Path, name: str, content: str | bytes, said: str
) -> None:
    assert told(tmp_path, content, name).startswith(said)


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(ResaleError, match=r"^none\.csv: it can't be read \(got: No such file"):
        read_resale_points(tmp_path / "none.csv")


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=6),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(("resale", "weight", "share", "points")), inner)
    ),
    max_leaves=8,
)


@STEADY
@given(JSON)
def test_whatever_a_file_holds_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, content: object
) -> None:
    folder = tmp_path_factory.mktemp("points")
    with suppress(ResaleError):
        found = read(folder, json.dumps(content), "points.json")
        assert sum(p for _, p in found) == 1
