"""``valuation justify``: the sheet that justifies a price to a customer."""

from __future__ import annotations

import re
from argparse import Namespace
from collections.abc import Sequence
from pathlib import Path

from valuation.appraisal.market import MarketModel
from valuation.cli.inputs import car_of, inspection_settings_of
from valuation.cli.logging_said import version_of
from valuation.cli.output import print_json
from valuation.cli.own_car import stock_car_of
from valuation.errors import SettingsError
from valuation.files import write_in_one_step
from valuation.report.page import Page
from valuation.report.pdf import PAPERS, render_pdf
from valuation.report.render import render_page
from valuation.report.sheet_page import sheet_page
from valuation.report.write import write_page
from valuation.results.customer_sheet_parts import CarPicture
from valuation.selling.own_stock import known_by, purchase_of
from valuation.selling.sheet import customer_sheet
from valuation.selling.sheet_picture import picture_of
from valuation.store.modelfile import load_model

__all__ = ["model_version", "run"]

_ENDINGS = (".html", ".pdf")

_HASH = re.compile(r"[0-9a-f]{16}")

_DIGITS = 8


def run(arguments: Namespace) -> None:
    """Load the model, read the car, make its sheet, write and print it."""
    paper = _checked(arguments.out, arguments.paper)
    picture = _picture(arguments.picture)
    settings = inspection_settings_of(arguments)
    stock = stock_car_of(arguments) if arguments.stock else None
    market = load_model(arguments.model)
    sheet = customer_sheet(
        market,
        known_by(car_of(arguments.car, market.makes, settings), stock),
        as_of=arguments.as_of,
        asking=None if arguments.asking is None else float(arguments.asking),
        channel=arguments.channel,
        picture=picture,
        version=model_version(Path(arguments.model), market),
        purchase=purchase_of(stock, market.currency),
        inspection=settings,
    )
    page = sheet_page(sheet) if arguments.out else None
    written = [_write(page, path, paper) for path in arguments.out if page]
    if arguments.json:
        print_json(sheet.to_dict())
        return
    print(sheet.summary())
    for path in written:
        print(f"Sheet for the customer: {path}")


def _checked(files: Sequence[str], paper: str) -> str:
    """Return the size of paper; say at once what can't be written."""
    for file in files:
        if Path(file).suffix.lower() not in _ENDINGS:
            raise SettingsError(
                "-o",
                "a sheet is a page or a PDF",
                got=file,
                remedy=f"Let its name end in {' or '.join(_ENDINGS)}",
            )
    if not paper:
        return PAPERS[0]
    known = {size.lower(): size for size in PAPERS}
    if paper.lower() not in known:
        raise SettingsError(
            "--paper",
            "no such size of paper is known",
            got=paper,
            remedy=f"Use one of {', '.join(PAPERS)}",
        )
    if not any(Path(file).suffix.lower() == ".pdf" for file in files):
        raise SettingsError(
            "--paper",
            "only a PDF has a size of paper; a page is printed on any",
            got=paper,
            remedy="Add -o SHEET.pdf, or leave it out",
        )
    return known[paper.lower()]


def _picture(file: str | None) -> CarPicture | None:
    if not file:
        return None
    try:
        content = Path(file).read_bytes()
    except OSError as error:
        raise SettingsError(
            file,
            "the picture can't be read",
            got=error.strerror or type(error).__name__,
            remedy="Give a JPEG or PNG of the car",
        ) from error
    return picture_of(content, name=file)


def model_version(model: Path, market: MarketModel) -> str:
    """Return the published version, else the day of the model with the start of its file's hash."""
    version = version_of(model)
    if not _HASH.fullmatch(version):
        return version
    day = market.as_of.isoformat() if market.as_of else "undated"
    return f"{day}-{version[:_DIGITS]}"


def _write(page: Page, file: str, paper: str) -> Path:
    if Path(file).suffix.lower() == ".pdf":
        return write_in_one_step(file, render_pdf(page, paper=paper), what="sheet")
    return write_page(render_page(page), file)
