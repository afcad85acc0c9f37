from __future__ import annotations

from argparse import Namespace
from pathlib import Path

import pytest

from valuation.cli import demo
from valuation.importing.car_file import read_car


def folders_shown(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Path, list[str]]]:
    """Record which folder the demo would work on, and what is in it at that time."""
    seen: list[tuple[Path, list[str]]] = []

    def show(arguments: Namespace, data: Path) -> None:
        assert read_car(data / demo._CAR).values["make"] == "Torvane"
        seen.append((data, sorted(p.name for p in data.iterdir())))

    monkeypatch.setattr(demo, "_show", show)
    return seen


def test_the_shipped_market_is_used_where_it_is_there(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = folders_shown(monkeypatch)
    demo.run(Namespace(out="x", sales=None))
    assert [folder for folder, _ in seen] == [demo._SHIPPED]


def test_the_market_is_made_where_it_was_not_shipped(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    seen = folders_shown(monkeypatch)
    monkeypatch.setattr(demo, "_SHIPPED", tmp_path)
    demo.run(Namespace(out="x", sales=None))
    ((folder, names),) = seen
    assert {"sales.csv", "cars"} <= set(names)
    assert not folder.exists()
