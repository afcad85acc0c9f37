from __future__ import annotations

from datetime import date

import pytest

from valuation.cli.parser import build_parser
from valuation.cli.workers import runner_of


def parse(*words: str) -> dict[str, object]:
    return vars(build_parser().parse_args(words))


def test_demo_needs_nothing() -> None:
    assert parse("demo") == {"command": "demo", "out": "demo_output", "sales": None}


def test_check_takes_a_file_and_says_where_to_write() -> None:
    words = "check s.csv --map m.toml --write-map n.toml --rejects r.csv --rates x.csv --json"
    assert parse(*words.split()) == {
        "command": "check",
        "file": "s.csv",
        "map": "m.toml",
        "write_map": "n.toml",
        "rejects": "r.csv",
        "rates": "x.csv",
        "json": True,
    }


def test_fit_takes_several_files() -> None:
    words = "fit --sales a.csv --sales b.xlsx --model m --as-of 2025-09-30 --no-assumptions"
    given = parse(*words.split())
    assert given["sales"] == ["a.csv", "b.xlsx"]
    assert given["as_of"] == date(2025, 9, 30)
    assert given["no_assumptions"] is True


def test_price_and_template() -> None:
    assert parse("price", "car.toml", "--model", "m", "--page", "p.html")["page"] == "p.html"
    assert parse("template", "new.xlsx")["out"] == "new.xlsx"


def test_inspect_reads_a_sheet_or_makes_an_empty_one() -> None:
    given = parse("inspect", "sheet.xlsx", "-o", "car.toml", "--json", "--settings", "own.toml")
    assert (given["sheet"], given["out"], given["blank"]) == ("sheet.xlsx", "car.toml", None)
    assert (given["json"], given["settings"]) == (True, "own.toml")
    assert parse("inspect", "--blank", "new.xlsx")["blank"] == "new.xlsx"


def test_costs_checks_a_file_or_gives_an_example() -> None:
    given = parse("costs", "own.toml", "--json")
    assert (given["file"], given["json"], given["example"]) == ("own.toml", True, False)
    given = parse("costs", "--example", "-o", "new.toml")
    assert (given["file"], given["out"], given["example"]) == (None, "new.toml", True)


def test_backtest_has_sensible_defaults() -> None:
    given = parse("backtest", "--sales", "a.csv")
    assert (given["test_share"], given["months"]) == (None, None)
    assert (given["refit"], given["undated_seed"]) == ("month", 0)
    assert parse("backtest", "--sales", "a.csv", "--test-share", "0.2")["test_share"] == 0.2
    assert parse("backtest", "--sales", "a.csv", "--months", "6")["months"] == 6


def test_replay_takes_limits_and_shares() -> None:
    words = "replay --sales a.csv --costs c.toml --loss-limits 0.1 0.2 --months 4"
    given = parse(*words.split())
    assert (given["loss_limits"], given["plain_shares"]) == ([0.1, 0.2], None)
    assert (given["months"], given["refit"], given["inspected"]) == (4, "month", False)
    assert (given["truth"], given["seed"], given["page"]) == (None, 0, None)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("fit --sales a --model m --as-of 3.4.25", "not a day (got: 3.4.25); write it as 2025"),
        ("backtest --sales a --test-share 30", "not a share between 0 and 1 (got: 30)"),
        ("backtest --sales a --test-share x", "not a share between 0 and 1 (got: x)"),
        ("backtest --sales a --months 0", "not a whole number from 1 up (got: 0)"),
        ("backtest --sales a --months 3 --test-share 0.1", "not allowed with argument"),
        ("backtest --sales a --refit daily", "invalid choice: 'daily'"),
        ("fit --sales a --model m --assumptions f --no-assumptions", "not allowed with argument"),
        ("fit --model m", "the following arguments are required: --sales"),
        ("price car.toml", "the following arguments are required: --model"),
        ("replay --sales a", "the following arguments are required: --costs"),
        ("replay --sales a --costs c --loss-limits 15", "not a share between 0 and 1 (got: 15)"),
        ("", "the following arguments are required: COMMAND"),
        ("price car.toml --mod m", "the following arguments are required: --model"),
    ],
)  # fmt: skip
def test_a_wrong_word_is_said_and_ends_with_2(
    words: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as caught:
        parse(*words.split())
    assert caught.value.code == 2
    assert said in capsys.readouterr().err


@pytest.mark.parametrize(
    "command", ["demo", "check", "template", "inspect", "fit", "price", "backtest", "replay"]
)
def test_every_command_has_its_own_help(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        parse(command, "--help")
    assert caught.value.code == 0
    assert f"usage: valuation {command}" in capsys.readouterr().out


@pytest.mark.parametrize(
    "words",
    [
        "fit --sales a.csv --model m",
        "backtest --sales a.csv",
        "replay --sales a.csv --costs c.toml",
        "runlist lots.xlsx --costs c.toml --model m",
    ],
)
def test_long_work_runs_on_processes_or_a_cluster(words: str) -> None:
    parser = build_parser()
    alone = runner_of(parser.parse_args(words.split()))
    assert (alone.workers, alone.cluster) == (1, "")
    two = runner_of(parser.parse_args([*words.split(), "--workers", "2"]))
    assert (two.workers, two.cluster) == (2, "")
    there = runner_of(parser.parse_args([*words.split(), "--cluster", "tcp://10.0.0.5:8786"]))
    assert (there.workers, there.cluster) == (1, "tcp://10.0.0.5:8786")
    with pytest.raises(SystemExit):
        parser.parse_args([*words.split(), "--workers", "2", "--cluster", "local:2"])
    with pytest.raises(SystemExit):
        parser.parse_args([*words.split(), "--workers", "0"])
