"""What a cost settings file may not say, each refused in a clause of its own."""

from __future__ import annotations

import re
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.bidding.costs_file import costs_from_toml, example_costs
from valuation.errors import CostsError

TOP = 'currency = "USD"\n'
TARGET = "[target]\nmargin = 1\n"
BUYING = "[buying.default]\n"
AMOUNT = "an amount from 0 to 1,000,000,000 with at most two decimals"
POSITIVE = "an amount from 0.01 to 1,000,000,000 with at most two decimals"
PERCENT = "a number from 0 to 100 with at most four decimals"
TIERS = "parts whose up_to rises, the last of them without up_to"


def told(text: str) -> str:
    with pytest.raises(CostsError) as caught:
        costs_from_toml(text, where="ours.toml", folder=Path("nowhere"))
    return str(caught.value)


def assert_one(text: str, said: str) -> None:
    assert told(text) == f"ours.toml: one entry is wrong: {said}. Correct it."


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (TARGET + BUYING, 'currency has to be a code of ISO 4217, such as "USD" (got: nothing)'),
        ('currency = "usd"\n' + TARGET + BUYING,
         "currency has to be a code of ISO 4217, such as \"USD\" (got: 'usd')"),
        (TOP + BUYING, "target has to be a table [target] with margin, margin_share, "
         "loss_probability or outlay (got: nothing)"),
        (TOP + "[target]\n" + BUYING, "target has to be a table [target] with margin, "
         "margin_share, loss_probability or outlay (got: nothing)"),
        (TOP + "target = 3\n" + BUYING, "target has to be a table [target] (got: 3)"),
        (TOP + TARGET, "buying has to be a table [buying.default], and one for each venue (got: "
         "nothing)"),
        (TOP + TARGET + "[buying]\n",
         "buying.default has to be a table [buying.default] (got: nothing)"),
        (TOP + TARGET + "[buying.Hall]\n",
         "buying.default has to be a table [buying.default] (got: nothing)"),
        (TOP + TARGET + "[buying]\ndefault = 3\n",
         "buying.default has to be a table [buying.default] (got: 3)"),
        (TOP + TARGET + BUYING + "[[buying.Hall]]\n",
         "buying.Hall has to be a table [buying.Hall] (got: [{  }])"),
        (TOP + TARGET + BUYING + '[buying."A Hall"]\n[buying."a  hall"]\n',
         'buying."a  hall" has to be named once, capitals aside (got: the same name again)'),
    ],
)  # fmt: skip
def test_what_has_to_be_there(text: str, said: str) -> None:
    assert_one(text, said)


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        ("margin = -1", f"target.margin has to be {AMOUNT} (got: -1)"),
        ("margin = 10.005", f"target.margin has to be {AMOUNT} (got: 10.005)"),
        ("margin = 1000000000.01", f"target.margin has to be {AMOUNT} (got: 1000000000.01)"),
        ("margin = nan", f"target.margin has to be {AMOUNT} (got: NaN)"),
        ("margin = inf", f"target.margin has to be {AMOUNT} (got: Infinity)"),
        ("margin = 1e-999999", f"target.margin has to be {AMOUNT} (got: 1E-999999)"),
        ("margin = 1e99999999999999999999", f"target.margin has to be {AMOUNT} (got: NaN)"),
        ("margin = true", f"target.margin has to be {AMOUNT} (got: True)"),
        ('margin = "5,000"', f"target.margin has to be {AMOUNT} (got: '5,000')"),
        ("margin = { low = 0.1 }", f"target.margin has to be {AMOUNT} (got: {{ low = 0.1 }})"),
        ("margin_share = 1", "target.margin_share has to be a number from 0 to 0.999999 with at "
         "most six decimals (got: 1)"),
        ("margin_share = 10", "target.margin_share has to be a number from 0 to 0.999999 with at "
         "most six decimals (got: 10)"),
        ("loss_probability = 1.1", "target.loss_probability has to be a number from 0 to 1 with "
         "at most six decimals (got: 1.1)"),
        ("loss_probability = -0.1", "target.loss_probability has to be a number from 0 to 1 with "
         "at most six decimals (got: -0.1)"),
        ("outlay = 0", f"target.outlay has to be {POSITIVE} (got: 0)"),
        ("marginshare = 1", "target.marginshare has to be margin_share, the nearest known name "
         "(got: an unknown entry)"),
        ("spam = 1", "target.spam has to be one of loss_probability, margin, margin_share, outlay "
         "(got: an unknown entry)"),
        ('"a b" = 1', 'target."a b" has to be one of loss_probability, margin, margin_share, '
         "outlay (got: an unknown entry)"),
    ],
)  # fmt: skip
def test_target(entry: str, said: str) -> None:
    assert_one(TOP + BUYING + "[target]\n" + entry, said)


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        ("premium = [{ percent = 700 }]", f"premium, number 1.percent has to be {PERCENT} (got: "
         "700)"),
        ("premium = [{ percent = 0.12345 }]", f"premium, number 1.percent has to be {PERCENT} "
         "(got: 0.12345)"),
        ("premium = [{ percent = 15, up_to = 5 }]", f"premium has to be {TIERS} (got: 5)"),
        ("premium = [{ percent = 15 }, { percent = 10 }]",
         f"premium has to be {TIERS} (got: no end, no end)"),
        ("premium = [{ percent = 9, up_to = 5 }, { percent = 8, up_to = 5 }, { percent = 7 }]",
         f"premium has to be {TIERS} (got: 5, 5, no end)"),
        ("premium = 15", "premium has to be a list of tables, such as [ { ... }, { ... } ] (got: "
         "15)"),
        ("premium = [15]", "premium has to be a list of tables, such as [ { ... }, { ... } ] "
         "(got: [15])"),
        ("premium = [{}]", f"premium, number 1.percent has to be {PERCENT} (got: nothing)"),
        ('premium = [{ percent = 5 }]\npremium_applied = "both"',
         "premium_applied has to be one of by slice, on the whole price (got: 'both')"),
        ("premium = [{ percent = 5 }]\npremium_cap = 5\npremium_minimum = 6",
         "premium_cap has to be 6 or more, as premium_minimum is (got: 5)"),
        ("premium_cap = 5", "premium_cap has to be left out where there is no premium (got: no "
         "premium)"),
        ("increments = [{ step = 0 }]", f"increments, number 1.step has to be {POSITIVE} (got: 0)"),
        ("increments = [{ step = -5 }]",
         f"increments, number 1.step has to be {POSITIVE} (got: -5)"),
        ("increments = [{ step = 0.001 }]",
         f"increments, number 1.step has to be {POSITIVE} (got: 0.001)"),
        ("increments = [{ up_to = 900, step = 5 }, { up_to = 800, step = 9 }, { step = 10 }]",
         f"increments has to be {TIERS} (got: 900, 800, no end)"),
        ("increments = [{ up_to = 900, step = 5 }]", f"increments has to be {TIERS} (got: 900)"),
        ("surcharge = { percent = 5, cap = 3, minimum = 4 }",
         "surcharge.cap has to be 4 or more, as minimum is (got: 3)"),
        ("surcharge = { amount = 5, cap = 3 }",
         "surcharge.cap has to be 5 or more, as amount is (got: 3)"),
        ("surcharge = { minimum = 5 }",
         "surcharge.minimum has to be beside a percent or an amount (got: neither)"),
        ("surcharge = 101", f"surcharge has to be {PERCENT} (got: 101)"),
        ("tax = { percent = 20 }", "tax.on has to be premium or price and premium, where percent "
         "is stated (got: nothing)"),
        ('tax = { percent = 20, on = "none" }', "tax.on has to be premium or price and premium, "
         "where percent is stated (got: 'none')"),
        ('tax = { on = "premium" }', f"tax.percent has to be {PERCENT} (got: nothing)"),
        ('tax = { percent = 101, on = "premium" }', f"tax.percent has to be {PERCENT} (got: 101)"),
        ('tax = { percent = 20, on = "profit" }', "tax.on has to be one of none, premium, price "
         "and premium (got: 'profit')"),
        ('tax = { percent = 20, on = "premium", reclaimed = "no" }', "tax.reclaimed has to be "
         "true or false (got: 'no')"),
        ("tax = 20", "tax has to be a table [buying.default.tax] (got: 20)"),
        ("transport = { low = 900, high = 600 }",
         "transport.low has to be 600 or less, as high is (got: 900)"),
        ("transport = { low = 900 }", f"transport.high has to be {AMOUNT} (got: nothing)"),
        ("transport = { low = 9, high = 10, currency = 'EUR' }",
         "transport.currency has to be USD (got: 'EUR')"),
        ("transport = { cost = 5, low = 4 }",
         "transport.cost has to be left out beside low and high (got: low too)"),
        ("inspection = {}", f"inspection.cost has to be {AMOUNT}, or low and high in its place "
         "(got: nothing)"),
        ("other = [{ cost = 5 }]", "other, number 1.what has to be text between quotation marks "
         "(got: nothing)"),
        ("other = [{ what = 'a', cots = 5, cost = 5 }]", "other, number 1.cots has to be cost, "
         "the nearest known name (got: an unknown entry)"),
        ("landed = [{ what = 'duty', percent = 2.5 }]", "landed, number 1.on has to be one of "
         "price, price and premium, everything so far (got: nothing)"),
        ("landed = [{ what = 'duty', on = 'price' }]", "landed, number 1.percent has to be a "
         "number from 0 to 400 with at most four decimals (got: nothing)"),
        ("landed = [{ what = 'duty', percent = 700, on = 'price' }]", "landed, number 1.percent "
         "has to be a number from 0 to 400 with at most four decimals (got: 700)"),
        ("landed = [{ what = 'duty', percent = 7, on = 'price', cost = 9 }]",
         "landed, number 1.cost has to be left out beside percent and on (got: percent too)"),
        ("rate = 1.25",
         "rate has to be left out, USD being the currency of the resale (got: 1.25)"),
        ('currency = "USD"\nrate = { low = 1, high = 2 }',
         "rate has to be left out, USD being the currency of the resale (got: 1 to 2)"),
        ('currency = "GBP"', "rate has to be what one GBP is worth in USD until payment, as low "
         "and high (got: nothing)"),
        ('currency = "GBP"\nrate = 0', "rate has to be a number from 0.000001 to 1,000,000 with "
         "at most eight decimals (got: 0)"),
        ('currency = "GBP"\nrate = { low = 1.3, high = 1.2 }',
         "rate.low has to be 1.2 or less, as high is (got: 1.3)"),
        ('currency = "pounds"', "currency has to be a code of ISO 4217, such as \"USD\" (got: "
         "'pounds')"),
        ("curency = 'GBP'",
         "curency has to be currency, the nearest known name (got: an unknown entry)"),
    ],
)  # fmt: skip
def test_buying(entry: str, said: str) -> None:
    assert_one(TOP + TARGET + BUYING + entry, f"buying.default.{said}")


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        ("[[work]]\ncost = 5", "work, number 1.what has to be text between quotation marks (got: "
         "nothing)"),
        ('[[work]]\nwhat = "a"\nlow = 5\nhigh = 4',
         "work, number 1.low has to be 4 or less, as high is (got: 5)"),
        ('[[work]]\nwhat = "a"\ncost = 5\ncurrency = "GBP"', "work, number 1.currency has to be "
         "one of cost, high, low, what (got: an unknown entry)"),
        ("[work]\nwhat = 'a'", "work has to be a list of tables, such as [ { ... }, { ... } ] "
         "(got: { what = 'a' })"),
        ("[holding]\ndays = 30.5", "holding.days has to be a whole number of days from 0 to 3,650 "
         "(got: 30.5)"),
        ("[holding]\ndays = 3651", "holding.days has to be a whole number of days from 0 to 3,650 "
         "(got: 3651)"),
        ("[holding]\ndays = { low = 90, high = 30 }",
         "holding.days.low has to be 30 or less, as high is (got: 90)"),
        ("[holding]\ndays = 9\nfinance_percent = 101",
         f"holding.finance_percent has to be {PERCENT} (got: 101)"),
        ("[holding]\nstorage_a_month = 5", "holding.days has to be a whole number of days from 0 "
         "to 3,650, or low and high of them (got: nothing)"),
        ("[selling]\nchannel = 3",
         "selling.channel has to be text between quotation marks (got: 3)"),
        ('[selling]\nbasis = "unknown"', "selling.basis has to be one of hammer price, hammer "
         "price plus buyer's premium, asking price, price paid (got: 'unknown')"),
        ("[selling]\nbelow_asking_percent = 100", "selling.below_asking_percent has to be a "
         "number from 0 to 99.9999 with at most four decimals (got: 100)"),
        ("[selling]\ncommission = 50\ncard_fee = 30\nwarranty = { percent = 20 }",
         "selling has to be less than 100 per cent in below_asking_percent, commission, card_fee "
         "and warranty together (got: 50 + 30 + 20)"),
        ("[selling]\ntax = { percent = 20 }",
         "selling.tax.on has to be margin or price, where percent is stated (got: nothing)"),
        ("[winning]\nrivals = 2",
         "winning.own_share has to be stated beside rivals (got: nothing)"),
        ("[winning]\nown_share = 0.3",
         "winning.rivals has to be stated beside own_share (got: nothing)"),
        ("[winning]\nrivals = 1.5\nown_share = 0.3",
         "winning.rivals has to be a whole number from 0 to 1,000 (got: 1.5)"),
        ("[winning]\nrivals = 2\nown_share = 30", "winning.own_share has to be a number from 0 to "
         "1 with at most six decimals (got: 30)"),
        ("[winning]\ncorrection_percent = -4", "winning.correction_percent has to be a number "
         "from 0 to 99.9999 with at most four decimals (got: -4)"),
        ("[title.broken]\ndays = 1\ncost = 1", "title.broken has to be one of not in the seller's "
         "name; lien; missing; bill of sale only; foreign, duty unpaid; branded; number differs "
         "(got: no such title)"),
        ("[title.clear]\ndays = 1\ncost = 1", "title.clear has to be one of not in the seller's "
         "name; lien; missing; bill of sale only; foreign, duty unpaid; branded; number differs "
         "(got: clear needs no cure)"),
        ("[title.lien]\ncost = 1", "title.lien.days has to be a whole number of days from 0 to "
         "3,650 (got: nothing)"),
        ("[title.lien]\ndays = 1", f"title.lien.cost has to be {AMOUNT}, or low and high in its "
         "place (got: nothing)"),
        ("[title]\nlien = 3", "title.lien has to be a table [title.lien] (got: 3)"),
    ],
)  # fmt: skip
def test_the_rest(entry: str, said: str) -> None:
    assert_one(TOP + TARGET + BUYING + entry, said)


def test_a_fault_of_the_default_is_told_once() -> None:
    text = TOP + TARGET + BUYING + 'currency = "GBP"\npremium_cap = 5\n[buying.Hall]\ntransport = 9'
    assert told(text) == (
        "ours.toml: 2 entries are wrong: buying.default.rate has to be what one GBP is worth in "
        "USD until payment, as low and high (got: nothing); buying.default.premium_cap has to be "
        "left out where there is no premium (got: no premium). Correct them."
    )


def test_a_currency_that_is_missing_hides_no_other_fault() -> None:
    said = told(TARGET + BUYING + "transport = -1\n[buying.Hall]\ncurrency = 'GBP'\nrate = 1.2")
    assert said.startswith("ours.toml: 2 entries are wrong: currency has to be ")
    assert f"buying.default.transport has to be {AMOUNT} (got: -1)" in said


@pytest.mark.parametrize("line", [n for n in example_costs().splitlines() if n.startswith("[")])
def test_an_unknown_entry_is_told_in_every_table(line: str) -> None:
    spoilt = example_costs().replace(f"\n{line}\n", f"\n{line}\nunheard_of = 1\n", 1)
    said = told(spoilt)
    assert "one entry is wrong" in said
    assert "unheard_of has to be " in said
    assert "(got: an unknown entry)" in said


VALUES = st.one_of(
    st.sampled_from(
        ["true", "nan", "-inf", "-0.0", "1e400", "[]", "{}", "[[]]", "2025-01-01", "''"]
    ),
    st.integers(-(10**12), 10**12).map(str),
    st.decimals(-(10**6), 10**6, allow_nan=False, allow_infinity=False).map(str),
    st.sampled_from(["{ low = 1, high = 2 }", "{ percent = 3 }", "[{ percent = 3 }]", "'price'"]),
)
ENTRIES = [
    m.span(1) for m in re.finditer(r"^\w+ = (.+?)(?: +#.*)?$", example_costs(), re.MULTILINE)
]


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.sampled_from(ENTRIES), VALUES)
def test_whatever_stands_in_an_entry_is_read_or_refused(span: tuple[int, int], value: str) -> None:
    text = example_costs()
    spoilt = text[: span[0]] + value + text[span[1] :]
    with suppress(CostsError):
        made = costs_from_toml(spoilt, where="ours.toml", folder=Path("nowhere"))
        assert made.ways["default"].currency in ("EUR", "GBP", "USD")
