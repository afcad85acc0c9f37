"""Tables of estimates and prices from anywhere."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from valuation.errors import SaleFileError
from valuation.importing.predictions import Predictions, read_predictions


def read(tmp_path: Path, text: str) -> Predictions:
    path = tmp_path / "p.csv"
    path.write_text(text, encoding="utf-8")
    return read_predictions(path)


def test_two_columns_are_enough(tmp_path: Path) -> None:
    found = read(tmp_path, "price,estimate\n100,90\n200,210.5\n")
    assert found.frame["price"].tolist() == [100.0, 200.0]
    assert found.frame["central"].tolist() == [90.0, 210.5]
    assert found.frame["outcome"].tolist() == ["unknown"] * 2
    assert (found.currency, found.rows, found.notes) == ("", 2, ())


def test_amounts_are_read_as_people_write_them(tmp_path: Path) -> None:
    text = (
        'Price;Central estimate;Status\n"41.250,00 €";"39.000,50 €";sold\nbid to 38.000;40.000;\n'
    )
    found = read(tmp_path, text)
    assert found.frame["price"].tolist() == [41_250.0, 38_000.0]
    assert found.frame["central"].tolist() == [39_000.5, 40_000.0]
    assert found.frame["outcome"].tolist() == ["sold", "unknown"]
    assert found.currency == "EUR"


def test_words_of_the_price_tell_the_outcome_where_no_column_does(tmp_path: Path) -> None:
    found = read(tmp_path, "price,estimate\nbid to 38000,1000\n40000,1000\n")
    assert found.frame["outcome"].tolist() == ["not sold", "unknown"]


def test_every_column_that_is_known_is_read(tmp_path: Path) -> None:
    text = (
        "sale_id,sale_date,month,price,central,lower,upper,lower_50,upper_50,Lower 95,Upper 95,"
        "outside,months ahead,make,year,basis,channel,colour\n"
        "'=A1,2024-05-02,2024-05,100,90,80,120,90,110,70,140,False,1.0,Kora,1967.0,hammer price,"
        "dealer,red\n"
        "B2,2024-06-02,2024-06,100,90,,,,,,,True,0,Kora,n/s,,,\n"
    )
    frame = read(tmp_path, text).frame
    assert frame["sale_id"].tolist() == ["=A1", "B2"]
    assert frame["sale_date"].dt.strftime("%d.%m.%y").tolist() == ["02.05.24", "02.06.24"]
    assert frame["month"].tolist() == ["2024-05", "2024-06"]
    assert frame["outside"].tolist() == [False, True]
    assert frame["months_ahead"].tolist() == [1.0, 0.0]
    assert frame["year"].tolist()[0] == 1967.0
    assert np.isnan(frame["year"].tolist()[1])
    assert frame["basis"].tolist() == ["hammer price", "unknown"]
    bounds = [c for c in frame if c.startswith(("lower", "upper"))]
    assert len(bounds) == 6
    assert frame.loc[0, bounds].tolist() == [80, 120, 90, 110, 70, 140]
    assert frame.loc[1, bounds].isna().all()
    assert frame["colour"].fillna("-").tolist() == ["red", "-"]


def test_rows_that_cannot_be_used_are_counted_with_their_reason(tmp_path: Path) -> None:
    rows = ["100,90,80,120", "n/a,90,,", "100,,,", "0,90,,", "100,soon,,", "100,90,130,120",
            "100,90,80,", ",90,,"]  # fmt: skip
    found = read(tmp_path, "\n".join(["price,estimate,lower,upper", *rows]))
    assert found.rows == 8
    assert found.frame["price"].tolist() == [100.0, 100.0]
    assert np.isnan(found.frame["central"].tolist()[1])
    assert found.notes == (
        "p.csv: 2 rows set aside, no price: rows 3, 9.",
        "p.csv: 1 row set aside, price that is no amount above 0: row 5.",
        "p.csv: 1 row set aside, estimate that is no amount above 0: row 6.",
        "p.csv: 2 rows set aside, lower and upper that are no range: rows 7, 8.",
    )


def test_many_rows_are_not_all_named(tmp_path: Path) -> None:
    found = read(tmp_path, "price,estimate\n100,90\n" + "n/a,90\n" * 7)
    assert found.notes == (
        "p.csv: 7 rows set aside, no price: rows 3, 4, 5, 6, 7 and 2 more.",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "price,estmate\n1,2\n",
            "p.csv: no column estimate (got: columns price, estmate). Name one column price and "
            "one estimate, and both bounds of a range.",
        ),
        (
            "worth,lower,upper_50\n1,2,3\n",
            "p.csv: no column price; no column estimate; no column upper beside lower; no column "
            "lower_50 beside upper_50 (got: columns worth, lower, upper_50). Name one column price "
            "and one estimate, and both bounds of a range.",
        ),
        (
            "price,valuation,predicted\n1,2,3\n",
            "p.csv: two columns for central: valuation, predicted (got: columns price, valuation, "
            "predicted). Name one column price and one estimate, and both bounds of a range.",
        ),
        (
            "price,estimate,currency\n1,2,EUR\n1,2,GBP\n",
            "p.csv: amounts stand in several currencies (got: EUR, GBP). Bring them to one, or "
            "study one currency at a time.",
        ),
        (
            "price,estimate\nn/a,2\n",
            "p.csv: no row has both a price and an estimate that can be read (got: rows: 1). Fill "
            "the columns price and estimate with amounts above 0.",
        ),
        ("", "p.csv: it is empty. Choose a file with sales in it."),
    ],
)
def test_what_cannot_be_read_is_one_sentence(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(SaleFileError) as caught:
        read(tmp_path, text)
    assert str(caught.value) == said


def test_the_contract_s_own_name_wins(tmp_path: Path) -> None:
    found = read(tmp_path, "price,hammer price,estimate,central estimate\n1,2,3,4\n")
    assert found.frame["price"].tolist() == [1.0]
    assert found.frame["central"].tolist() == [3.0]
    assert found.frame["hammer price"].tolist() == ["2"]
