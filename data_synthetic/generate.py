"""Write the synthetic market again: the same seed gives the same bytes."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from datetime import date
from pathlib import Path

from valuation.synthetic.files import market_files, write_files
from valuation.synthetic.market import make_market
from valuation.synthetic.months import monthly_files
from valuation.synthetic.settings import MarketSettings
from valuation.synthetic.yard import make_yard
from valuation.synthetic.yard_files import yard_files

SEED = 20_250_101


def main(arguments: list[str] | None = None) -> None:
    """Parse, make the market, write its files, say where they went."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=SEED, help="same seed, same bytes")
    parser.add_argument("--sales", type=int, default=6000, help="number of records")
    parser.add_argument("--end", type=date.fromisoformat, default=date(2024, 12, 31))
    parser.add_argument("--out", type=Path, default=Path(__file__).parent, help="folder")
    parser.add_argument(
        "--months",
        type=Path,
        metavar="OUT_DIR",
        help="write a history and 24 monthly folders of files there instead",
    )
    parser.add_argument(
        "--yard",
        type=Path,
        metavar="OUT_DIR",
        help="write two years of a firm of its own there instead: ledger, cars, sales, truth",
    )
    given = parser.parse_args(arguments)
    if given.months:
        written(given.months, monthly_files(seed=given.seed).files())
        return
    if given.yard:
        written(given.yard, yard_files(make_yard(seed=given.seed)))
        return
    market = make_market(MarketSettings(sales=given.sales, end=given.end), seed=given.seed)
    written(given.out, market_files(market))


def written(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write files and say where they went."""
    write_files(folder, files)
    for name, content in files.items():
        print(f"{folder / name}: {len(content):,} bytes")


if __name__ == "__main__":
    main()
