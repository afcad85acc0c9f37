"""Lots in running text."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.errors import LotFileError
from valuation.importing.lot_html import html_text
from valuation.importing.lot_placed import placed_records
from valuation.importing.lot_snippets import take_snippets
from valuation.importing.lot_text import text_table


def rows(text: str) -> list[dict[str, str]]:
    table = text_table("t", text)
    return [{k: v for k, v in r.items() if v} for r in table.cells.to_dict("records")]


def test_one_line() -> None:
    text = "Lot 112  1968 Torvane GT Coupe, 4-speed, est. $40,000-50,000, no reserve"
    assert rows(text) == [
        {
            "lot": "112",
            "title": "1968 Torvane GT Coupe, 4-speed",
            "estimate": "est. $40,000-50,000",
            "reserve": "no reserve",
        }
    ]


def test_entries_of_several_lines_under_days() -> None:
    text = """Harbour Rooms, spring sale
Friday 14 March 2025

LOT 112:
1968 Torvane GT Coupe
Matching-numbers engine, bills on file.
Chassis no. TO68-90412

Estimate €40.000 – 50.000

Saturday 15 March 2025
Lot 113
1971 Gorlimar Lariander, automatic
Offered without reserve.
My notes: ask about the roof

Kind regards,
Ida
"""
    assert rows(text) == [
        {
            "lot": "112",
            "day": "Friday 14 March 2025",
            "title": "1968 Torvane GT Coupe",
            "description": "Matching-numbers engine, bills on file.",
            "chassis": "TO68-90412",
            "estimate": "Estimate €40.000 – 50.000",
        },
        {
            "lot": "113",
            "day": "Saturday 15 March 2025",
            "title": "1971 Gorlimar Lariander, automatic",
            "reserve": "Offered without reserve",
            "notes": "ask about the roof",
        },
    ]
    table = text_table("t", text)
    assert table.rows == (4, 12)
    assert table.notes == (
        "t: lines before the first lot that are not read as lots: 1 "
        '(such as "Harbour Rooms, spring sale").',
        't: lines behind the last lot that are not read as lots: 2 (such as "Kind regards, Ida").',
    )


def test_bare_numbers_and_columns_of_spaces_or_tabs() -> None:
    text = (
        "112 1968 Torvane GT Coupe   TO68-90412   40,000   50,000\n"
        "113\t1971 Gorlimar Lariander\t25,000 - 30,000\n"
        "114 Enamel sign\n"
        "115A c.1955 Obrastel Madrigo $60,000–70,000\n"
        "with a 1.5 litre engine since 1961\n"
        "F12.1: 1970 Ystrix Quill\n"
    )
    found = rows(text)
    assert [r["lot"] for r in found] == ["112", "113", "114", "115A", "F12.1"]
    assert [r["title"] for r in found] == [
        "1968 Torvane GT Coupe",
        "1971 Gorlimar Lariander",
        "Enamel sign",
        "c.1955 Obrastel Madrigo",
        "1970 Ystrix Quill",
    ]
    assert [r.get("estimate", "") for r in found] == [
        "40,000 - 50,000", "25,000 - 30,000", "", "$60,000–70,000", "",
    ]  # fmt: skip
    assert found[0]["description"] == "TO68-90412"
    assert found[3]["description"] == "with a 1.5 litre engine since 1961"


def test_lines_without_numbers() -> None:
    text = "1968 Torvane GT Coupe\n'71 Gorlimar Lariander\nEnamel sign\n1955 Obrastel Madrigo\n"
    assert [r["title"] for r in rows(text)] == text.strip().split("\n")


def test_paragraphs_without_numbers() -> None:
    text = """Hello Tom, here are the cars:

1968 Torvane GT Coupe
4-speed, est. 40-50k EUR

'67 Ystrix Quill. Rust free. Reserve 20,000 EUR.

and something else
"""
    assert rows(text) == [
        {"title": "1968 Torvane GT Coupe", "description": "4-speed", "estimate": "est. 40-50k EUR"},
        {"title": "'67 Ystrix Quill", "description": "Rust free.", "reserve": "20,000 EUR."},
        {"title": "and something else"},
    ]


def test_several_lots_in_one_line_and_quoted_mail() -> None:
    text = (
        "> Lot 1: 1968 Torvane GT, red; Lot 2: 1970 Torvane GT, see also lot 1\n>\n> • Lot 3 Sign"
    )
    assert [(r["lot"], r["title"]) for r in rows(text)] == [
        ("1", "1968 Torvane GT, red"), ("2", "1970 Torvane GT, see also lot 1"), ("3", "Sign"),
    ]  # fmt: skip


def test_a_year_is_no_lot_number() -> None:
    assert rows("Lot 1968 Torvane GT")[0] == {"title": "1968 Torvane GT"}
    assert rows("Lot 1968 1968 Torvane GT")[0]["lot"] == "1968"
    assert rows("1968 Torvane GT\n1969 Torvane GT")[0] == {"title": "1968 Torvane GT"}


def test_years_at_the_end_of_a_line_are_no_estimate() -> None:
    found = take_snippets("Torvane GT, built 1967 - 1972")
    assert found["estimate"] == ""
    assert found["title"] == "Torvane GT, built 1967 - 1972"


@pytest.mark.parametrize(
    ("text", "chassis"),
    [
        ("Chassis no. TO68-90412", "TO68-90412"),
        ("VIN: 0XM003F0000001007.", "0XM003F0000001007"),
        ("Fahrgestellnr. 651133", "651133"),
        ("a chassis like new", ""),
    ],
)
def test_chassis_numbers(text: str, chassis: str) -> None:
    assert take_snippets(f"1968 Torvane GT\n{text}")["chassis"] == chassis


def test_text_without_lots_is_refused_with_what_to_do() -> None:
    with pytest.raises(LotFileError) as error:
        text_table("pasted text", "Hello Tom,\nsee you on Friday.\n")
    assert str(error.value) == (
        'pasted text: no lot is recognised in the text (got: "Hello Tom, see you on Friday."). '
        'Write each lot on a line of its own, such as "Lot 112  1968 Torvane GT Coupe".'
    )


_PIECES = st.sampled_from(
    ["Lot 5", "lot 6:", "1968", "Torvane GT", "\n", "\n\n", "est.", "$40,000-50,000", "no reserve",
     "Friday", "14 March 2025", "- ", "> ", "|", "\t", "   ", "112", "Regards,", "VIN", "sign"]
)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(st.lists(st.one_of(_PIECES, st.just("WORD")), max_size=60))
def test_no_word_of_a_text_is_lost(pieces: list[str]) -> None:
    words = [f"qword{i}q" if p == "WORD" else p for i, p in enumerate(pieces)]
    text = " ".join(words)
    try:
        table = text_table("t", text)
    except LotFileError:
        return
    cells = " ".join(" ".join(map(str, row)) for row in table.cells.to_numpy())
    left = sum(int(n) for note in table.notes for n in re.findall(r"as lots: (\d+)", note))
    missing = [w for w in words if w.startswith("qword") and w not in cells]
    lines = [line for line in text.split("\n") if any(m in line for m in missing)]
    assert len(lines) <= left


def test_html_is_only_stripped() -> None:
    page = (
        "<html><head><title>x</title><style>p{}</style></head><body><script>alert(1)</script>"
        "<p>Hello&nbsp;Tom<br>see:</p><table><tr><th>Lot</th><th><p>Car</p></th></tr>"
        "<tr><td>7</td><td><div>1967 Torvane <b>GT</b></div></td></tr>"
        "<tr><td></td><td>empty number</td></tr></table><!-- gone --></body></html>"
    )
    assert html_text(page) == "Hello Tom\nsee:\nLot\tCar\n7\t1967 Torvane GT\n\tempty number"


def test_columns_by_their_place_on_the_page() -> None:
    text = """Harbour Rooms
Lot   Car                      Estimate
Friday 14 March 2025
112   1968 Torvane GT Coupe    40,000 - 50,000
      with a long tale
Saturday 15 March 2025
113   1971 Gorlimar
Lot   Car                      Estimate
114                            25,000 - 30,000"""
    assert placed_records(text) == [
        ["Lot", "Car", "Estimate", "Day"],
        [
            "112",
            "1968 Torvane GT Coupe with a long tale",
            "40,000 - 50,000",
            "Friday 14 March 2025",
        ],
        ["113", "1971 Gorlimar", "", "Saturday 15 March 2025"],
        ["114", "", "25,000 - 30,000", "Saturday 15 March 2025"],
    ]
    assert placed_records("Lot 112 1968 Torvane GT\n1969 Torvane GT") == []
