"""The cost settings file: what it says is read exactly, what is wrong is told at once."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.bidding.costs import CostLine, Costs, Fee, Holding, Increment, Target, WayOfBuying
from valuation.bidding.costs_file import costs_from_toml, example_costs, read_costs
from valuation.errors import CostsError
from valuation.premium import PremiumSlice, premium_fault
from valuation.records import Cure

STEADY = settings(max_examples=80, deadline=None, derandomize=True)
LEAST = 'currency = "USD"\n[target]\nmargin = 1\n[buying.default]\n'


def read(text: str) -> Costs:
    return costs_from_toml(text, where="ours.toml", folder=Path("nowhere"))


def way(entries: str, *more: str) -> WayOfBuying:
    costs = read(LEAST + entries + "\n" + "\n".join(more))
    return costs.ways["Hall" if "Hall" in costs.ways else "default"]


def told(text: str) -> str:
    with pytest.raises(CostsError) as caught:
        read(text)
    return str(caught.value)


def test_the_example_reads_the_same_from_a_copy(tmp_path: Path) -> None:
    copy = tmp_path / "costs.toml"
    copy.write_text(example_costs(), encoding="utf-8")
    costs = read_costs(copy)
    assert costs == costs_from_toml(example_costs(), where="costs.toml", folder=tmp_path)
    copy.write_bytes(b"\xef\xbb\xbf" + example_costs().replace("\n", "\r\n").encode())
    assert read_costs(copy) == costs


def test_the_example_says_what_stands_in_it() -> None:
    costs = read(example_costs())
    assert costs.currency == "EUR"
    assert costs.target == Target(Decimal(5000), Decimal("0.10"), Decimal("0.15"), Decimal(80_000))
    assert costs.holding == Holding(30, 120, Decimal(9), Decimal(1), Decimal(120))
    assert costs.work == (
        CostLine("service and check by a mechanic", Decimal(400), Decimal(900)),
        CostLine("cleaning and polishing", Decimal(300), Decimal(300)),
    )
    assert costs.selling.warranty == Fee(Decimal(1), Decimal(300))
    assert costs.cures["missing"] == Cure(60.0, Decimal(300), Decimal(900), "EUR")
    assert list(costs.ways) == [
        "default", "Tanglewater Hall", "Evening Lots", "Saltglass Rooms", "private purchase",
        "part-exchange",
    ]  # fmt: skip


def test_every_entry_that_the_example_explains_is_in_it() -> None:
    text = example_costs()
    explained = re.findall(r"^# ([a-z_]+(?:, [a-z_]+)*)  +\S", text, flags=re.MULTILINE)
    names = {name for line in explained for name in line.split(", ")}
    assert len(names) == 13
    assert all(re.search(rf"^{name} = ", text, flags=re.MULTILINE) for name in names)


def test_the_least_file_leaves_everything_else_at_nothing() -> None:
    costs = read(LEAST)
    assert costs == Costs(
        "USD",
        {n: WayOfBuying(n, "USD") for n in ("default", "private purchase", "part-exchange")},
        Target(margin=Decimal(1)),
        where="ours.toml",
    )


def test_a_venue_takes_over_what_it_does_not_state() -> None:
    default = "transport = 800\ninspection = 250\npremium = [{ percent = 15 }]\npremium_cap = 900"
    hall = way(default, "[buying.Hall]", "transport = { low = 100, high = 200 }")
    assert hall.lines == (
        CostLine("transport", Decimal(100), Decimal(200)),
        CostLine("inspection", Decimal(250), Decimal(250)),
    )
    assert hall.premium == (PremiumSlice(Decimal(15), cap=Decimal(900)),)


def test_a_stated_premium_takes_nothing_of_the_other_one() -> None:
    default = (
        "premium = [{ up_to = 50000, percent = 15 }, { percent = 10 }]\npremium_cap = 900\n"
        'premium_minimum = 100\npremium_applied = "on the whole price"'
    )
    hall = way(default, "[buying.Hall]", "premium = [{ percent = 8 }]")
    assert hall.premium == (PremiumSlice(Decimal(8)),)
    hall = way(default, "[buying.Hall]", "premium_cap = 700")
    assert [(t.percent, t.cap, t.minimum, t.applied) for t in hall.premium] == [
        (15, 700, 100, "on the whole price"),
        (10, 700, 100, "on the whole price"),
    ]
    assert way(default, "[buying.Hall]", "premium = []").premium == ()


def test_purchases_without_a_lot_take_over_nothing_that_holds_for_lots() -> None:
    default = (
        "increments = [{ step = 500 }]\npremium = [{ percent = 15 }]\nsurcharge = 1.5\n"
        "transport = 800"
    )
    costs = read(LEAST + default + '\n[buying."Private Purchase"]\ninspection = 90')
    for name, lines in (("private purchase", ["transport", "inspection"]),
                        ("part-exchange", ["transport"])):  # fmt: skip
        bought = costs.ways[name]
        assert (bought.increments, bought.premium, bought.surcharge) == ((), (), Fee())
        assert [line.what for line in bought.lines] == lines
    assert way(default, "[buying.Hall]").surcharge == Fee(Decimal("1.5"))
    for channel in ("private", "Dealer"):
        bought = read(LEAST + default + f"\n[buying.{channel}]").ways[channel.casefold()]
        assert (bought.increments, bought.premium, bought.surcharge) == ((), (), Fee())
    stated = read(LEAST + default + '\n[buying."part-exchange"]\nincrements = [{ step = 100 }]')
    assert stated.ways["part-exchange"].increments == (Increment(Decimal(100)),)


def test_a_venue_abroad_keeps_amounts_in_the_currency_they_were_stated_in() -> None:
    hall = way(
        "transport = 800\npremium = [{ percent = 10 }]\nlanded = [{ what = 'freight', cost = 5 }]",
        '[buying.Hall]\ncurrency = "GBP"\nrate = { low = 1.22, high = 1.31 }\ninspection = 90',
    )
    assert (hall.currency, hall.rate_low, hall.rate_high) == (
        "GBP", Decimal("1.22"), Decimal("1.31"),
    )  # fmt: skip
    assert [(n.what, n.low, n.currency) for n in hall.lines] == [
        ("transport", 800, "USD"),
        ("inspection", 90, ""),
    ]
    assert [n.currency for n in hall.landing] == ["USD"]
    assert hall.premium == (PremiumSlice(Decimal(10)),)


def test_a_venue_abroad_has_to_state_anew_what_can_name_no_currency() -> None:
    text = (
        LEAST + "increments = [{ step = 500 }]\npremium = [{ percent = 10 }]\npremium_minimum = 5\n"
        "surcharge = { percent = 1, cap = 9 }\n"
        '[buying.Hall]\ncurrency = "GBP"\nrate = 1.25'
    )
    for name in ("increments", "premium", "surcharge"):
        assert (
            f"buying.Hall.{name} has to be stated in GBP, that of [buying.default] being in USD "
            "(got: nothing)" in told(text)
        )
    hall = read(text + "\nincrements = []\npremium = []\nsurcharge = 2").ways["Hall"]
    assert (hall.increments, hall.premium, hall.surcharge) == ((), (), Fee(Decimal(2)))


def test_a_default_abroad_lends_its_rate_only_within_its_currency() -> None:
    default = 'currency = "GBP"\nrate = 1.25\ntransport = 800'
    assert way(default, "[buying.Hall]\ninspection = 1").rate_high == Decimal("1.25")
    at_home = LEAST + default + '\n[buying.Hall]\ncurrency = "USD"\n'
    assert told(at_home) == (
        "ours.toml: one entry is wrong: buying.Hall.transport has to be stated in USD, that of "
        "[buying.default] being in GBP (got: nothing). Correct it."
    )
    assert read(at_home + "transport = 0").ways["Hall"].rate_low is None
    elsewhere = LEAST + default + '\n[buying.Hall]\ncurrency = "EUR"\ntransport = 0'
    assert "buying.Hall.rate has to be what one EUR is worth in USD until payment" in told(
        elsewhere
    )


def test_a_number_stands_for_a_span_and_a_per_cent_for_a_fee() -> None:
    costs = read(LEAST + "[holding]\ndays = 60\n[selling]\ncommission = 5\ncard_fee = {}")
    assert (costs.holding.days_low, costs.holding.days_high) == (60, 60)
    assert (costs.selling.commission, costs.selling.card_fee) == (Fee(Decimal(5)), Fee())


def test_words_of_the_trade_are_read_as_elsewhere() -> None:
    costs = read(LEAST + '[selling]\nbasis = "paid"\n[title."Salvage"]\ndays = 9\ncost = 0')
    assert costs.selling.basis == "price paid"
    assert costs.cures == {"branded": Cure(9.0, Decimal(0), Decimal(0), "USD")}


@STEADY
@given(st.decimals(0, 1_000_000_000, places=2), st.decimals(0, 1, places=6))
def test_decimals_are_those_of_the_text(amount: Decimal, share: Decimal) -> None:
    costs = read(LEAST.replace("margin = 1", f"margin = {amount}\nloss_probability = {share}"))
    assert (costs.target.margin, costs.target.loss_probability) == (amount, share)


@STEADY
@given(
    st.lists(
        st.tuples(st.decimals("0.01", 900_000, places=2), st.decimals(0, 100, places=4)),
        max_size=4,
    ),
    st.decimals(0, 100, places=4),
    st.none() | st.decimals(0, 9000, places=2),
    st.none() | st.decimals(0, 9000, places=2),
)
def test_tiers_are_in_order_or_refused(
    tiers: list[tuple[Decimal, Decimal]],
    last: Decimal,
    minimum: Decimal | None,
    cap: Decimal | None,
) -> None:
    listed = [f"{{ up_to = {end}, percent = {percent} }}" for end, percent in tiers]
    text = f"premium = [{', '.join([*listed, f'{{ percent = {last} }}'])}]"
    text += "" if minimum is None else f"\npremium_minimum = {minimum}"
    text += "" if cap is None else f"\npremium_cap = {cap}"
    made = [PremiumSlice(percent, end, minimum=minimum, cap=cap) for end, percent in tiers]
    made.append(PremiumSlice(last, minimum=minimum, cap=cap))
    if premium_fault(made):
        assert "buying.default.premium" in told(LEAST + text)
    else:
        assert way(text).premium == tuple(made)


def test_the_record_of_won_purchases_is_read(tmp_path: Path) -> None:
    path = tmp_path / "costs.toml"
    path.write_text(LEAST + '[winning]\nrecord = "won.csv"', encoding="utf-8")
    record = tmp_path / "won.csv"
    pairs = ((Decimal(41_250), Decimal("39800.50")), (Decimal(1_000), Decimal(990)))
    for text in (
        "expected,realised\n41250,39800.50\n1000,990\n",
        "41250;39800,50\n\n1000;990\n",
        "car;realised (USD);expected\nx;39.800,50;41.250,00\ny;990;USD 1.000\n",
    ):
        record.write_text(text, encoding="utf-8")
        assert read_costs(path).winning.record == pairs
    at_home = replace(read_costs(path), where="", currency="")
    assert at_home.winning.record == pairs


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (None, "winning.record has to be a CSV file beside this one (got: won.csv: No such file or "
         "directory)"),
        ("", "winning.record has to be a file of numbers in the columns expected, realised (got: "
         "won.csv: nothing)"),
        ("car,price\n1,2\n", "winning.record has to be a file of numbers in the columns expected, "
         "realised (got: won.csv: car, price)"),
        ("1000,-3\n", "winning.record, row 1, realised has to be an amount from 0.01 to "
         "1,000,000,000 with at most two decimals, in USD (got: -3)"),
        ("1000\n", "winning.record, row 1, realised has to be an amount from 0.01 to 1,000,000,000 "
         "with at most two decimals, in USD (got: nothing)"),
        ("expected;realised\n1000;900 EUR\n", "winning.record, row 2, realised has to be an amount "
         "from 0.01 to 1,000,000,000 with at most two decimals, in USD (got: 900 EUR)"),
    ],
)  # fmt: skip
def test_a_wrong_record_is_told(tmp_path: Path, content: str | None, said: str) -> None:
    path = tmp_path / "costs.toml"
    path.write_text(LEAST + '[winning]\nrecord = "won.csv"', encoding="utf-8")
    if content is not None:
        (tmp_path / "won.csv").write_text(content, encoding="utf-8")
    with pytest.raises(CostsError) as caught:
        read_costs(path)
    assert said in str(caught.value)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (None, "ours.toml: the cost settings can't be read (got: No such file or directory). Check "
         "the path."),
        (b"[target", "ours.toml: this is not valid TOML (got: "),
        (b"\xff", "ours.toml: this is not valid TOML (got: no text in UTF-8: invalid start byte). "
         "Save it as UTF-8."),
        (b"a = " + b"9" * 5000, "ours.toml: this is not valid TOML (got: "),
        (b"a = " + b"[" * 5000, "ours.toml: this is not valid TOML (got: "),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_read(tmp_path: Path, content: bytes | None, said: str) -> None:
    path = tmp_path / "ours.toml"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(CostsError) as caught:
        read_costs(path)
    assert str(caught.value).startswith(said)


def test_all_faults_are_told_at_once() -> None:
    text = (
        'currency = "USD"\nextra = 1\n[target]\nmargin = -1\n[buying.default]\n'
        "premium = [{ percent = 700 }]\n[holding]\nfinance = 9\n"
    )
    assert told(text) == (
        "ours.toml: 4 entries are wrong: target.margin has to be an amount from 0 to 1,000,000,000 "
        "with at most two decimals (got: -1); buying.default.premium, number 1.percent has to be a "
        "number from 0 to 100 with at most four decimals (got: 700); holding.finance has to be "
        "finance_percent, the nearest known name (got: an unknown entry); extra has to be one of "
        "buying, currency, holding, selling, target, title, winning, work (got: an unknown entry). "
        "Correct them."
    )
