from __future__ import annotations

import importlib
import subprocess
import sys
from collections.abc import Callable
from types import SimpleNamespace

import pytest

from valuation.cli.command import main
from valuation.errors import CarFileError

WORDS = ["price", "car.toml", "--model", "m"]
Run = Callable[[object], None]


@pytest.fixture
def price_does(monkeypatch: pytest.MonkeyPatch) -> Callable[[Run], None]:
    """Return a function that puts something else in the place of the price command."""

    def put(run: Run) -> None:
        rooms = {"valuation.cli.price": SimpleNamespace(run=run)}
        monkeypatch.setattr(importlib, "import_module", rooms.__getitem__)

    return put


def failing(error: BaseException) -> Run:
    def run(arguments: object) -> None:
        raise error

    return run


def test_a_command_gets_its_arguments(price_does: Callable[[Run], None]) -> None:
    seen: list[object] = []
    price_does(seen.append)
    assert main(WORDS) == 0
    (arguments,) = seen
    assert vars(arguments)["model"] == "m"


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (
            CarFileError("car.toml", "no make", got="nothing", remedy="Fill in the make"),
            "valuation: car.toml: no make (got: nothing). Fill in the make.\n",
        ),
        (FileNotFoundError(2, "No such file", "x.csv"), "valuation: x.csv: No such file.\n"),
        (OSError("disk is odd"), "valuation: disk is odd.\n"),
    ],
)
def test_a_fault_is_one_sentence(
    error: Exception,
    said: str,
    price_does: Callable[[Run], None],
    capsys: pytest.CaptureFixture[str],
) -> None:
    price_does(failing(error))
    assert main(WORDS) == 2
    assert capsys.readouterr() == ("", said)


def test_the_user_can_stop_it(
    price_does: Callable[[Run], None], capsys: pytest.CaptureFixture[str]
) -> None:
    price_does(failing(KeyboardInterrupt()))
    assert main(WORDS) == 130
    assert capsys.readouterr().err == "valuation: stopped.\n"


def test_a_fault_of_the_program_is_not_hidden(price_does: Callable[[Run], None]) -> None:
    price_does(failing(ZeroDivisionError("bug")))
    with pytest.raises(ZeroDivisionError):
        main(WORDS)


def test_nobody_reads_the_output() -> None:
    script = (
        "import importlib, sys; from types import SimpleNamespace; from valuation.cli import main\n"
        "def run(arguments):\n"
        "    for _ in range(100_000): print('x' * 80)\n"
        "importlib.import_module = lambda name: SimpleNamespace(run=run)\n"
        f"sys.exit(main({WORDS}))"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", script], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert process.stdout
    assert process.stderr
    process.stdout.readline()
    process.stdout.close()
    said = process.stderr.read()
    process.stderr.close()
    assert (process.wait(60), said) == (1, b"")
