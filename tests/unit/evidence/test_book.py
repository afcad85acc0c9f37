"""The evidence as one book: what was read, corrected, joined, in whatever order files came."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pandas as pd
from evidence_files import HEADER, JUNE, LATER, MAY, NOW, file_of, line
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.evidence.batches import batches, restore_batch, undo_batch
from valuation.evidence.book import evidence_book
from valuation.evidence.corrections import fix_sale, set_aside_sale
from valuation.evidence.opening import reading, writing
from valuation.evidence.sales_in import ImportResult, import_sales
from valuation.evidence.workspace import Workspace, workspace_at
from valuation.importing.sales import read_sales
from valuation.reading.mileage import MILES_PER_KM
from valuation.records import SalesBook, empty_table
from valuation.synthetic.market import SyntheticMarket

Write = Callable[..., Path]
ReadIn = Callable[..., ImportResult]
Book = Callable[..., SalesBook]


def key_of(done: ImportResult, row: int) -> str:
    made = done.files[0].batch
    assert made is not None
    return f"{made.batch}:{row}"


def same_cells(one: pd.DataFrame, other: pd.DataFrame) -> None:
    """Check that two tables hold the same: values, types, and the kind of what is not stated."""
    pd.testing.assert_frame_equal(one, other, check_exact=True)
    for name in one.columns:
        if one[name].dtype == object:
            kinds = [(type(a), type(b)) for a, b in zip(one[name], other[name], strict=True)]
            assert all(a is b for a, b in kinds), name


def test_of_one_file_it_is_what_reading_the_file_gives(
    workspace: Workspace, tmp_path: Path, read_in: ReadIn, book: Book
) -> None:
    path = Path(__file__).parents[3] / "data_synthetic" / "sales_dirty.csv"
    done = read_in(path)
    read, found = read_sales(path), book()
    table = found.table
    made = done.files[0].batch
    assert made is not None
    assert set(table.columns) == set(read.table.columns) | {"sale_key", "batch"}
    assert set(empty_table(0).columns) < set(table.columns)
    assert set(table["batch"]) == {made.batch}
    assert table["sale_key"].tolist() == [f"{made.batch}:{r}" for r in table["row"]]
    in_order = read.table.assign(sale_key=[f"{made.batch}:{r}" for r in read.table["row"]])
    in_order = in_order.sort_values(["sale_date", "sale_key"], ignore_index=True)
    same_cells(table[list(read.table.columns)], in_order[list(read.table.columns)])
    assert (found.currency, found.dated, found.set_aside, found.notes) == ("EUR", True, (), ())
    assert found.rows == len(found)


def test_sets_and_words_come_back_as_they_went(
    workspace: Workspace, tmp_path: Path, read_in: ReadIn, book: Book
) -> None:
    path = tmp_path / "words.csv"
    header = "sale_date,price,currency,make,model,year,documents,equipment,history,description"
    path.write_text(
        f"{header}\n"
        "2024-05-04,41000,EUR,Torvane,GT,1968,bills; build record,hard top; books,,"
        '"Rust in both sills, no accident. Ein Traum: 1° – ""echt"" ☂"\n'
        "2024-05-05,42000,EUR,Torvane,GT,1968,none,,,\n"
        "2024-05-06,43000,EUR,Torvane,GT,1968,,,accident,No rust.\n",
        encoding="utf-8",
    )
    read_in(path)
    table, read = book().table, read_sales(path).table
    assert table["documents"].tolist() == [("bills", "build record"), (), None]
    assert table["statements"].tolist()[0] == read["statements"].tolist()[0]
    assert table["statements"].tolist()[0]
    same_cells(table[list(read.columns)], read)


def test_a_synthetic_market_comes_back_whole(
    workspace: Workspace, small_world: SyntheticMarket, tmp_path: Path, read_in: ReadIn, book: Book
) -> None:
    text = small_world.table.head(120).drop(columns=["statements", "file", "row"])
    for name in text.columns:
        text[name] = [
            "; ".join(v) or "none" if isinstance(v, tuple) else v for v in text[name].tolist()
        ]
    path = tmp_path / "market.csv"
    text.to_csv(path, index=False, date_format="%Y-%m-%d")
    read_in(path)
    read = read_sales(path)
    in_order = read.table.assign(key=[str(r) for r in read.table["row"]])
    in_order = in_order.sort_values(["sale_date", "key"], ignore_index=True)
    same_cells(book().table[list(read.table.columns)], in_order[list(read.table.columns)])


def test_a_sale_in_two_files_counts_once(write: Write, read_in: ReadIn, book: Book) -> None:
    first = read_in(write("may.csv", MAY))
    second = read_in(write("again.csv", [*MAY[:1], *JUNE, MAY[1] + "48200"]))
    found = book()
    assert len(found) == 7
    assert found.rows == 8
    (aside,) = found.set_aside
    keys = {key_of(first, 2), key_of(second, 2)}
    kept, gone = min(keys), max(keys)
    assert aside.cells["sale_key"] == gone
    assert aside.faults[0].code == "same sale"
    assert aside.faults[0].got in {
        f"the same as row 2 of {file} ({kept})" for file in ("may.csv", "again.csv")
    }
    assert aside.faults[0].remedy == "Nothing to do: the same sale counts once"
    assert (aside.row, aside.cells["price"], aside.cells["sale_date"]) == (2, "41000", "2024-05-04")
    assert found.notes == ("Records of a sale that another record tells of: 1.",)


def test_a_chassis_offered_again_weeks_later_is_one_event(
    write: Write, read_in: ReadIn, book: Book
) -> None:
    read_in(write("may.csv", MAY))
    again = read_in(
        write("july.csv", [line(21, day="2024-07-01", chassis="TR4 1180 K", price=39_000)])
    )
    found = book()
    assert found.table["sale_key"].tolist()[-1] == key_of(again, 2)
    assert [a.faults[0].code for a in found.set_aside] == ["re-offer"]
    assert found.set_aside[0].faults[0].got == (
        f"offered again within 60 days, row 2 of july.csv ({key_of(again, 2)})"
    )
    assert found.notes == ("Offers of a chassis that came back in 60 days: 1.",)


def test_as_of_a_day_nothing_later_is_known(write: Write, read_in: ReadIn, book: Book) -> None:
    read_in(write("may.csv", MAY))
    read_in(write("july.csv", [line(21, day="2024-07-01", chassis="TR4-1180-K", price=39_000)]))
    assert len(book()) == 4
    found = book(as_of=date(2024, 5, 18))
    assert found.table["price"].tolist() == [41_000, 28_500, 35_250]
    assert found.set_aside == ()


def test_offers_without_a_day_count_only_among_themselves(
    workspace: Workspace, tmp_path: Path, write: Write, read_in: ReadIn, book: Book
) -> None:
    header = HEADER.replace("sale_date,", "")
    undated = [text.replace("2024-05-04,", "").replace("2024-05-11,", "") for text in MAY[:2]]
    read_in(write("asked.csv", undated, header=header))
    assert (len(book()), book().dated) == (2, False)
    read_in(write("june.csv", JUNE))
    found = book()
    assert (len(found), found.dated) == (2, True)
    assert [a.faults[0].code for a in found.set_aside] == ["no date", "no date"]
    assert found.notes == ("Offers without a day, left out as others have one: 2.",)


def test_corrections_count(workspace: Workspace, write: Write, read_in: ReadIn, book: Book) -> None:
    done = read_in(write("may.csv", MAY))
    with writing(workspace, who="Bo", now=LATER) as con:
        set_aside_sale(con, key_of(done, 2), reason="a replica", who="Bo", now=LATER)
        fix_sale(
            con,
            key_of(done, 3),
            {
                "mileage": "48,200 km",
                "price": "29.000",
                "sale_date": "2024-06-30",
                "documents": "bills",
                "model": "not stated",
                "outcome": "bid to",
            },
            reason="read from the catalogue",
            who="Bo",
            now=LATER,
        )
    found = book()
    last = found.table.iloc[-1]
    assert last["sale_key"] == key_of(done, 3)
    assert (last["price"], last["documents"], last["model"]) == (29_000, ("bills",), None)
    assert last["mileage"] == 48_200 * MILES_PER_KM
    assert (last["sale_date"], last["outcome"]) == (pd.Timestamp("2024-06-30"), "not sold")
    ours = ("engine_text", "transmission_text", "colour_text", "sale_key", "batch")
    kinds = dict(empty_table(0).dtypes) | dict.fromkeys(ours, object)
    assert dict(found.table.dtypes) == kinds
    (aside,) = found.set_aside
    assert (aside.faults[0].code, aside.faults[0].got) == (
        "set aside by hand",
        "a replica (Bo, 02 July 2024)",
    )
    assert found.notes == (
        "Sales set aside by hand: 1.",
        "Sales with values put right by hand: 1.",
    )


def test_a_sale_set_aside_stands_for_no_other(
    workspace: Workspace, write: Write, read_in: ReadIn, book: Book
) -> None:
    read_in(write("may.csv", MAY))
    read_in(write("again.csv", [*MAY[:1], *JUNE]))
    (joined,) = book().set_aside
    by = joined.faults[0].got.partition("(")[2].rstrip(")")
    with writing(workspace, who="Bo", now=LATER) as con:
        set_aside_sale(con, by, reason="not ours", who="Bo", now=LATER)
    found = book()
    assert {a.cells["sale_key"]: a.faults[0].code for a in found.set_aside} == {
        by: "set aside by hand"
    }
    assert joined.cells["sale_key"] in set(found.table["sale_key"])


LINES = st.lists(
    st.builds(
        line,
        st.just(1),
        day=st.sampled_from(["2024-05-04", "2024-05-20", "2024-09-01"]),
        price=st.sampled_from([30_000, 41_000]),
        chassis=st.sampled_from(["", "TR4-1180-K", "TR4-2291-K"]),
        mileage=st.sampled_from(["", "61200"]),
    ),
    min_size=1,
    max_size=4,
    unique=True,
)


def _evidence(folder: Path, files: Sequence[Path]) -> Workspace:
    made = workspace_at(folder, {}, make=True)
    import_sales(made, files, currency="EUR", who="Ada", now=NOW)
    return made


def _told(there: Workspace) -> tuple[pd.DataFrame, Any, Any]:
    with reading(there) as con:
        found = evidence_book(con)
    return found.table, found.set_aside, found.notes


@settings(max_examples=3, deadline=None)
@given(st.lists(LINES, min_size=2, max_size=3), st.randoms(use_true_random=False))
def test_the_order_of_files_does_not_matter_and_undoing_is_taken_back(
    contents: list[list[str]], luck: Any
) -> None:
    with TemporaryDirectory() as name:
        files = []
        for i, lines in enumerate(contents):
            files.append(Path(name) / f"{i}.csv")
            files[-1].write_text(file_of(*lines), encoding="utf-8")
        one = _evidence(Path(name) / "one", files)
        luck.shuffle(files)
        other = _evidence(Path(name) / "other", files)
        first, second = _told(one), _told(other)
        same_cells(first[0], second[0])
        assert first[1:] == second[1:]
        with writing(one, who="Bo", now=LATER) as con:
            names = [b.batch for b in batches(con)]
            for b in names:
                undo_batch(con, b, reason="all wrong", who="Bo", now=LATER)
            assert len(evidence_book(con)) == 0
            for b in reversed(names):
                restore_batch(con, b, reason="all right", who="Bo", now=LATER)
        again = _told(one)
        same_cells(again[0], first[0])
        assert again[1:] == first[1:]
