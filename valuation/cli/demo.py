"""``valuation demo``: the whole way from sales to a page, on a synthetic market."""

from __future__ import annotations

import tempfile
from argparse import Namespace
from pathlib import Path

from valuation.appraisal.appraise import appraise
from valuation.appraisal.market import fit_market
from valuation.cli.progress import Progress
from valuation.importing.car_file import read_car
from valuation.importing.sales import read_sales
from valuation.report.valuation_page import valuation_page
from valuation.report.write import write_page
from valuation.synthetic.files import market_files, write_files
from valuation.synthetic.market import make_market
from valuation.synthetic.settings import MarketSettings

__all__ = ["run"]

_SHIPPED = Path(__file__).parents[2] / "data_synthetic"
_CAR = Path("cars") / "ordinary.toml"
_SEED = 20_250_101


def run(arguments: Namespace) -> None:
    """Fit, price one car, print range and explanation, and the page to open."""
    if (_SHIPPED / "sales.csv").is_file() and (_SHIPPED / _CAR).is_file():
        _show(arguments, _SHIPPED)
        return
    with tempfile.TemporaryDirectory() as folder:
        write_files(Path(folder), market_files(make_market(MarketSettings(), seed=_SEED)))
        _show(arguments, Path(folder))


def _show(arguments: Namespace, data: Path) -> None:
    sales = arguments.sales or data / "sales.csv"
    book = read_sales(sales)
    print(f"{len(book):,} of {book.rows:,} rows of {Path(sales).name} can be used.")
    print("Learning the market from them; this takes about a minute.", flush=True)
    with Progress() as progress:
        market = fit_market(book, progress=progress)
    print(market.summary(), end="\n\n")
    car = read_car(data / _CAR, known_makes=market.makes)
    valuation = appraise(market, car)
    page = write_page(valuation_page(valuation), Path(arguments.out) / "valuation.html")
    print(valuation.summary())
    print(f"\nPage to open in a browser: {page.resolve()}")
