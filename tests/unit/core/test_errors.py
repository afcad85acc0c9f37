"""One error tree; every message is a sentence in four parts."""

from __future__ import annotations

import pickle

import pytest

from valuation import errors
from valuation.errors import SaleFileError, ValuationError


@pytest.mark.parametrize(
    ("parts", "text"),
    [
        (("sales.csv, row 3", "no price", "n/a", "Fill the price"),
         "sales.csv, row 3: no price (got: n/a). Fill the price."),
        (("sales.csv", "no rows", "", "Add sales"), "sales.csv: no rows. Add sales."),
        (("sales.csv", "no rows", "nothing", ""), "sales.csv: no rows (got: nothing)."),
        (("sales.csv", "no rows", "", ""), "sales.csv: no rows."),
    ],
)  # fmt: skip
def test_the_sentence(parts: tuple[str, str, str, str], text: str) -> None:
    where, problem, got, remedy = parts
    error = ValuationError(where, problem, got=got, remedy=remedy)
    assert str(error) == error.sentence() == text
    assert (error.where, error.problem, error.got, error.remedy) == parts


@pytest.mark.parametrize("name", errors.__all__)
def test_every_error_is_of_the_tree(name: str) -> None:
    kind = getattr(errors, name)
    assert issubclass(kind, ValuationError)
    with pytest.raises(ValuationError, match=r"^here: wrong\.$"):
        raise kind("here", "wrong")


def test_branches_are_apart() -> None:
    kinds = [getattr(errors, n) for n in errors.__all__ if n != "ValuationError"]
    assert all(k.__bases__ == (ValuationError,) for k in kinds)


def test_parts_come_by_name() -> None:
    with pytest.raises(TypeError):
        SaleFileError("here", "wrong", "this")


def test_an_error_can_cross_a_process() -> None:
    error = SaleFileError("sales.csv", "no price", got="n/a", remedy="Fill the price")
    again = pickle.loads(pickle.dumps(error))  # noqa: S301
    assert type(again) is SaleFileError
    assert again.sentence() == error.sentence()
