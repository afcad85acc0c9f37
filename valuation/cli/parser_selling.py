"""The words of ``valuation justify``."""

from __future__ import annotations

from valuation.cli.parser_parts import Commands, add_json, add_workspace, command, day, exact

__all__ = ["add_justify"]


def add_justify(commands: Commands) -> None:
    """Add the command that makes the customer's sheet."""
    said = "the sheet that justifies a price to a customer"
    sheet = command(commands, "justify", said)
    sheet.add_argument("car", metavar="CAR", help="a car file or a filled inspection sheet")
    sheet.add_argument(
        "--model", required=True, metavar="PATH", help="model of 'fit', or a published folder"
    )
    sheet.add_argument("--asking", type=exact, metavar="N", help="your asking price")
    sheet.add_argument("--picture", metavar="FILE", help="a photograph of the car, JPEG or PNG")
    sheet.add_argument(
        "--channel", default="", metavar="CHANNEL", help="where the car is sold (default: dealer)"
    )
    sheet.add_argument("--as-of", type=day, metavar="DATE", help="day of the sheet")
    sheet.add_argument(
        "--stock",
        default="",
        metavar="NUMBER",
        help="its number in the stock ledger, so that your purchase of it stays off the sheet",
    )
    add_workspace(sheet)
    sheet.add_argument("--settings", metavar="FILE", help="inspection settings of your own")
    sheet.add_argument(
        "-o",
        dest="out",
        action="append",
        default=[],
        metavar="SHEET",
        help="write the sheet, .html or .pdf; may be given twice",
    )
    sheet.add_argument("--paper", default="", metavar="SIZE", help="A4 (the default) or Letter")
    add_json(sheet)
