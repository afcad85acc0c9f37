"""The command as a user runs it, on a small synthetic market."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from commands import Commands
from planted_secrets import Planted, plant_secrets

from valuation.synthetic.files import market_files, write_files
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

Run = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture(scope="session")
def commands(
    user_environment: dict[str, str], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Commands]:
    """Return what runs the command without loading its libraries each time."""
    with Commands(tmp_path_factory.mktemp("commands"), user_environment) as started:
        yield started


@pytest.fixture(scope="session")
def run(commands: Commands) -> Run:
    """Return a function that runs the command in a process of its own and returns what it said."""

    def valuation(*words: str | Path) -> subprocess.CompletedProcess[str]:
        return commands.run(words, timeout=300)

    return valuation


@pytest.fixture(scope="session")
def run_installed(user_environment: dict[str, str]) -> Run:
    """Return a function that runs the installed command from its start, as a user does."""
    command = Path(sys.executable).with_name("valuation")

    def valuation(*words: str | Path) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [command, *words],
            capture_output=True,
            text=True,
            check=False,
            timeout=300,
            env=user_environment,
        )

    return valuation


@pytest.fixture(scope="session")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a small market: sales, a list as people keep it, cars."""
    folder = tmp_path_factory.mktemp("data")
    write_files(folder, market_files(make_market(MarketSettings(sales=400, lines=4), seed=7)))
    return folder


@pytest.fixture(scope="session")
def model(run: Run, data: Path) -> Path:
    """Return a model fitted by the command."""
    path = data / "market.model"
    done = run("fit", "--sales", data / "sales.csv", "--model", path)
    assert done.returncode == 0, done.stderr
    # A slow machine is shown a bar, whose returns come back as new lines; nothing else is said.
    said = [line for line in done.stderr.splitlines() if line.strip()]
    assert all("forecasting the past" in line or "fitting" in line for line in said), said
    return path


@pytest.fixture(scope="session")
def planted(commands: Commands, tmp_path_factory: pytest.TempPathFactory) -> Planted:
    """Return a market with secrets in it, in a folder whose name is private too."""
    return plant_secrets(commands, tmp_path_factory.mktemp("zz_private"))
