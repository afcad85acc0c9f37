from __future__ import annotations

import csv
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

HEADER = ("Lot", "Date", "Make", "Model", "Year", "Price", "Mileage")


def sale_rows(n: int = 24) -> list[list[Any]]:
    """Sales of two invented makes, no two alike, with prices within a third of each other."""
    lines = (("Kora", "GT"), ("Torvane", "Zephyr"))
    return [
        [
            101 + i,
            (date(2024, 1, 15) + timedelta(days=3 * i)).isoformat(),
            lines[i % 2][0],
            lines[i % 2][1],
            1962 + i % 11,
            20_000 + 310 * i,
            41_000 + 1_013 * i,
        ]
        for i in range(n)
    ]


Writer = Callable[..., Path]


@pytest.fixture
def write_csv(tmp_path: Path) -> Writer:
    """Write rows as a CSV of any delimiter and encoding."""

    def write(
        header: Sequence[Any],
        rows: Sequence[Sequence[Any]],
        name: str = "sales.csv",
        *,
        delimiter: str = ",",
        encoding: str = "utf-8",
    ) -> Path:
        path = tmp_path / name
        with path.open("w", encoding=encoding, newline="") as file:
            writer = csv.writer(file, delimiter=delimiter)
            writer.writerow(header)
            writer.writerows(rows)
        return path

    return write


@pytest.fixture
def sales_csv(write_csv: Writer) -> Path:
    """A plain, clean file of dated sales."""
    return write_csv(HEADER, sale_rows())
