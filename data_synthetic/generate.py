"""Write the synthetic market again: the same seed gives the same bytes."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path

from valuation.synthetic.files import market_files, write_files
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

SEED = 20_250_101


def main(arguments: list[str] | None = None) -> None:
    """Parse, make the market, write its files, say where they went."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=SEED, help="same seed, same bytes")
    parser.add_argument("--sales", type=int, default=6000, help="number of records")
    parser.add_argument("--end", type=date.fromisoformat, default=date(2024, 12, 31))
    parser.add_argument("--out", type=Path, default=Path(__file__).parent, help="folder")
    given = parser.parse_args(arguments)
    market = make_market(MarketSettings(sales=given.sales, end=given.end), seed=given.seed)
    files = market_files(market)
    write_files(given.out, files)
    for name, content in files.items():
        print(f"{given.out / name}: {len(content):,} bytes")


if __name__ == "__main__":
    main()
