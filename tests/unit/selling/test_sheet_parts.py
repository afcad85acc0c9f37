"""Parts of the customer's sheet one by one: rounding, pictures, facts, lines, the course."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from valuation.appraisal.market import MarketModel
from valuation.errors import SettingsError
from valuation.inspection.settings_file import default_inspection_settings
from valuation.records import Car, OpenFact
from valuation.results.customer_sheet_parts import LineCourse, NoCourse
from valuation.results.valuation import Contribution
from valuation.selling.sheet_course import line_course
from valuation.selling.sheet_facts import basic_facts, finding_facts, open_questions, paper_facts
from valuation.selling.sheet_lines import price_lines
from valuation.selling.sheet_picture import LONGEST, picture_of
from valuation.selling.sheet_rounding import mid_quarter, rounded_price
from valuation.selling.sheet_words import heading_of, instead_words, plain_value, shown_words


@given(st.floats(50.0, 1e8))
def test_a_rounded_price_is_near_and_on_a_coarse_step(price: float) -> None:
    told = rounded_price(price)
    assert abs(told - price) <= 0.025 * price + 0.5
    steps = [m * 10**k for k in range(8) for m in (1, 2, 5)]
    coarse = [s for s in steps if 0.0199 * price <= s <= 0.05 * price]
    assert any(told % s == 0 for s in coarse) or price < 100


@given(st.floats(1_000.0, 1e7))
def test_many_prices_have_one_rounded_price(price: float) -> None:
    told = rounded_price(price)
    half = 0.009 * price
    assert {rounded_price(told - 0.9 * half), rounded_price(told + 0.9 * half)} == {told}


@given(st.dates(date(1990, 1, 1), date(2030, 12, 31)))
def test_the_day_of_a_quarter_is_one_for_all_its_days(day: date) -> None:
    middle = mid_quarter(day)
    assert mid_quarter(middle) == middle
    assert abs((middle - day).days) <= 46
    assert (middle.month - 1) // 3 == (day.month - 1) // 3


def picture(
    size: tuple[int, int] = (80, 60), kind: str = "JPEG", mode: str = "RGB", **more: object
) -> bytes:
    out = io.BytesIO()
    Image.new(mode, size, 7 if mode == "P" else "teal").save(out, kind, **more)
    return out.getvalue()


def with_exif(orientation: int = 1) -> bytes:
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010F] = "SECRETCAMERA"
    exif[0x9286] = "SECRETCOMMENT"
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 0.0)
    return picture(exif=exif, comment=b"SECRETPATH", icc_profile=b"SECRETPROFILE" * 9)


def opened(content: bytes) -> Image.Image:
    return Image.open(io.BytesIO(content))


def test_nothing_but_pixels_is_left_of_a_picture() -> None:
    given_file = with_exif()
    assert b"SECRETCAMERA" in given_file
    assert b"SECRETPATH" in given_file
    made = picture_of(given_file, name="car.jpg")
    assert b"SECRET" not in made.content
    shown = opened(made.content)
    assert not shown.getexif()
    assert set(shown.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert (shown.format, shown.size) == ("JPEG", (80, 60))


def test_a_picture_is_turned_as_the_camera_was_held() -> None:
    made = picture_of(with_exif(orientation=6), name="car.jpg")
    assert (made.width, made.height) == (60, 80)


def test_a_large_picture_is_shrunk_and_a_small_one_is_not() -> None:
    made = picture_of(picture((3000, 1500)), name="car.jpg")
    assert (made.width, made.height) == (LONGEST, LONGEST // 2)
    assert opened(made.content).size == (made.width, made.height)
    assert picture_of(picture(), name="car.jpg").width == 80


@pytest.mark.parametrize("mode", ["RGBA", "P", "L", "LA", "1"])
def test_every_kind_of_png_becomes_a_jpeg_on_white(mode: str) -> None:
    out = io.BytesIO()
    Image.new("RGBA", (20, 10), (0, 0, 0, 0)).convert(mode).save(out, "PNG")
    made = picture_of(out.getvalue(), name="car.png")
    assert opened(made.content).mode == "RGB"
    if mode in ("RGBA", "LA"):
        assert opened(made.content).getpixel((5, 5)) == (255, 255, 255)


def test_the_same_picture_gives_the_same_bytes() -> None:
    assert picture_of(with_exif(), name="a").content == picture_of(with_exif(), name="b").content


@pytest.mark.parametrize(
    "content",
    [b"", b"no picture", picture()[:200], picture(kind="GIF"), b"<svg xmlns='x'></svg>"],
    ids=["empty", "text", "cut off", "gif", "svg"],
)
def test_what_is_no_picture_is_refused(content: bytes) -> None:
    with pytest.raises(SettingsError) as fault:
        picture_of(content, name="car.jpg")
    assert str(fault.value) == (
        "car.jpg: the picture can't be read (got: no whole JPEG or PNG file). "
        "Give a JPEG or PNG of the car."
    )


def test_a_picture_that_would_fill_the_memory_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 1000)
    with pytest.raises(SettingsError, match="more pixels than a photograph has"):
        picture_of(picture(), name="car.jpg")


def test_basic_facts_go_together_and_say_how_they_are_known() -> None:
    car = Car(
        {
            "engine_size": 2.6,
            "engine_layout": "V8",
            "transmission": "manual",
            "gears": 4.0,
            "mileage": 48_200.0,
            "mileage_status": "unknown",
            "colour": "red",
        },
        marks={"paint": 7.0},
        statements={"mileage": "title: 48k"},
    )
    told = {f.label: (f.value, f.standing) for f in basic_facts(car)}
    assert told == {
        "Engine": ("2.6 litres, V8", "recorded"),
        "Gearbox": ("manual, 4 forward gears", "recorded"),
        "Mileage": ("48,200 miles, true distance unknown", "stated"),
        "Colour": ("red", "checked"),
    }
    only = basic_facts(Car({"mileage_status": "exempt"}))
    assert [f.value for f in only] == ["exempt from statement, true distance unknown"]
    assert basic_facts(Car({})) == ()


def test_an_inspection_has_seen_what_one_sees_and_the_papers_it_rests_on() -> None:
    values = {
        "condition_grade": 63.0,
        "genuineness": "genuine, documented",
        "restoration": "older restoration",
        "title_status": "clear",
    }
    inspection = default_inspection_settings()
    found = finding_facts(Car(values, marks={"paint": 7.0}), inspection)
    assert {f.label: f.standing for f in found} == {
        "Condition": "checked",
        "Genuine version or tribute": "checked",
        "Restoration": "recorded",
        "Papers of ownership": "recorded",
    }
    assert found[0].value == "63 of 100 points (driver)"
    assert {f.standing for f in finding_facts(Car(values), inspection)} == {"recorded"}


def test_what_can_no_longer_be_told_is_told() -> None:
    car = Car({}, cannot_be_told=frozenset({"restoration"}))
    (fact,) = finding_facts(car, default_inspection_settings())
    assert (fact.label, fact.value) == ("Can no longer be found out", "restoration")


BOTH = "bills; build record"


@pytest.mark.parametrize(
    ("car", "bills", "record"),
    [
        (Car({"documents": ("bills",)}), "with the car", "not with the car"),
        (Car({}), "not stated", "not stated"),
        (Car({}, not_looked_at=frozenset({"documents"})), "not looked at", "not looked at"),
        (
            Car({}, open=(OpenFact("documents", ("bills", BOTH), claim=BOTH),)),
            "with the car",
            "said to be with the car, not seen",
        ),
        (
            Car({}, open=(OpenFact("documents", ("none", "build record")),)),
            "not with the car",
            "not settled",
        ),
        (Car({}, open=(OpenFact("documents"),)), "not settled", "not settled"),
    ],
)  # fmt: skip
def test_each_document_is_told(car: Car, bills: str, record: str) -> None:
    told = {f.label: f.value for f in paper_facts(car)}
    assert (told["Bills"], told["Build record"]) == (bills, record)
    assert len(told) == 5


GENUINE = "genuine, documented"


def test_words_with_a_comma_are_set_apart_and_documents_are_told_elsewhere() -> None:
    car = Car(
        {},
        open=(
            OpenFact("genuineness", (GENUINE, "tribute"), claim=GENUINE),
            OpenFact("documents", ("none", "bills"), claim="bills"),
            OpenFact("condition_grade", low=55.0, high=71.5, claim="as new, he says"),
        ),
        not_looked_at=frozenset({"restoration"}),
    )  # fmt: skip
    told = {q.label: q for q in open_questions(car, ())}
    assert told["Genuine version or tribute"].possible == "“genuine, documented” or “tribute”"
    assert told["Genuine version or tribute"].claim == "genuine, documented"
    assert (told["Documents"].possible, told["Documents"].claim) == ("", "bills")
    assert told["Condition"].possible == "55 to 71.5 of 100 points"
    assert told["Condition"].claim == ""
    assert told["Restoration"].state == "not looked at"


def contribution(name: str, amount: int, value: str = "x", half: float = 100.0) -> Contribution:
    return Contribution(
        name, name, value, amount, float(amount), amount - half, amount + half, 9, 0.5
    )


def test_lines_of_one_row_go_together_and_no_money_is_lost() -> None:
    made = [
        contribution("body", 900),
        contribution("channel and venue", 300, "dealer, Kiln Street Garage", 30.0),
        contribution("basis", -100, "price paid", 40.0),
        contribution("wording", 50, "barn"),
        contribution("statements", 25, "faults: rust"),
        contribution("colour", 11, "not stated"),
        contribution("gears", 3),
        contribution("everything else", 2, "5 small differences"),
        contribution("closest sales", -7, "brought less", 0.0),
    ]
    cells = {"body": "coupe", "channel": "dealer", "basis": "price paid", "gears": 4.0}
    usual = {"channel": "live auction", "basis": "hammer price"}
    lines = price_lines(made, cells, usual=usual, central=10_000)
    assert sum(x.amount for x in lines) == sum(x.amount for x in made)
    told = {x.name: x for x in lines}
    assert list(told) == ["body", "sale", "wording", "silent", "smaller", "closest sales"]
    assert (told["sale"].lower, told["sale"].upper) == (150, 250)  # 30 and 40 together are 50
    assert told["sale"].value == "by a dealer instead of at a live auction"
    assert told["wording"].value == ""
    assert told["silent"].value == "colour"
    assert told["smaller"].evidence_share is None
    assert (told["closest sales"].lower, told["closest sales"].value) == (
        None,
        "less than the lines above explain",
    )
    assert "Kiln" not in repr(lines)
    assert "barn" not in repr(lines)


def test_words_for_laymen() -> None:
    assert plain_value("condition_grade", {"condition_grade": 63.0}) == "63 of 100 points"
    assert plain_value("wording", {"title": "barn find"}) == ""
    assert plain_value("documents", {"documents": "open: none or bills"}) == "not settled"
    sale = {"channel": "dealer", "basis": "price paid"}
    assert instead_words(sale, {**sale, "basis": "unknown"}) == (
        "the price paid instead of price basis not known"
    )
    assert instead_words(sale, sale) == "by a dealer"
    assert instead_words({"channel": "barter"}, sale) == "by way of barter instead of by a dealer"
    cells = {"year": 1968.0, "make": "Torvane", "model": "GT TR4 1180", "chassis": "TR4-1180"}
    assert heading_of(cells) == "1968 Torvane"
    assert shown_words("GT 12", {"chassis": "12"}) == "GT 12"
    assert heading_of({}) == "A car"


@pytest.fixture
def common(tiny_market: MarketModel) -> tuple[Car, np.ndarray]:
    """Return a car of the line that sells most, and the rows of its sales."""
    lines = tiny_market.fitted.sales.line
    code = int(np.bincount(lines[lines >= 0]).argmax())
    rows = lines == code
    cells = tiny_market.frame[rows].iloc[0]
    named = {n: str(cells[n]) for n in ("make", "model", "generation") if cells[n]}
    return Car({"year": float(cells["year"]), **named}), rows


def test_the_course_ends_at_the_start_and_is_surest_there(
    tiny_market: MarketModel, common: tuple[Car, np.ndarray]
) -> None:
    car, rows = common
    found = line_course(tiny_market, car, start=50_000, as_of=tiny_market.as_of)
    assert isinstance(found, LineCourse)
    last = found.months[-1]
    assert (last.amount, last.lower, last.upper) == (50_000, 50_000, 50_000)
    assert len(found.months) <= 60
    for m in found.months[:-1]:
        assert m.lower < m.amount < m.upper
    names = [m.month for m in found.months]
    assert names == sorted(set(names))
    sold = rows & (tiny_market.frame["outcome"] != "not sold").to_numpy()
    first = np.datetime64(f"{names[0]}-01")
    days = tiny_market.frame["sale_date"].to_numpy()[sold]
    assert sum(q.sales for q in found.quarters) == int((days >= first).sum())


def test_a_course_needs_days_sales_and_movement(
    tiny_market: MarketModel, common: tuple[Car, np.ndarray]
) -> None:
    car, _ = common
    undated = line_course(tiny_market, car, start=50_000, as_of=None)
    unknown = replace(car, values={**car.values, "model": "Farthingale"})
    never = line_course(tiny_market, unknown, start=50_000, as_of=tiny_market.as_of)
    still = replace(tiny_market.fitted, coef=np.zeros_like(tiny_market.fitted.coef))
    flat = line_course(
        replace(tiny_market, fitted=still), car, start=50_000, as_of=tiny_market.as_of
    )
    for answer, words in ((undated, "no dates"), (never, "No sale"), (flat, "no movement")):
        assert isinstance(answer, NoCourse)
        assert words in answer.reason
