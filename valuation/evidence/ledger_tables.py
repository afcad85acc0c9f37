"""Tables of the stock ledger, of what was said, and of what came of it."""

from __future__ import annotations

from valuation.evidence.sales_tables import CHANGE_COLUMNS
from valuation.evidence.shapes import Column, Table

__all__ = ["LEDGER_TABLES"]

LEDGER_TABLES = (
    Table(
        "ledger_files",
        "A file of the stock ledger: what was read of it.  The file itself may name customers and "
        "is not kept, so that nothing but this tells it again.",
        (
            *CHANGE_COLUMNS,
            Column("batch", "VARCHAR", "First twelve hexadecimal digits of the hash."),
            Column("file", "VARCHAR", "Name of the file."),
            Column("sha256", "VARCHAR", "Hash of its content."),
            Column("rows", "BIGINT", "Rows in it."),
            Column("accepted", "BIGINT", "Rows that are used."),
            Column("entries", "VARCHAR", "Every event with its car, exact amounts, as JSON."),
            Column("set_aside", "VARCHAR", "Rows that can't be used with all reasons, as JSON."),
            Column("notes", "VARCHAR[]", "What was noticed when it was read."),
        ),
        by_people=True,
    ),
    Table(
        "said",
        "Files of what was said, collected together: estimates, bids, figures set in their place.",
        (
            *CHANGE_COLUMNS,
            Column("batch", "VARCHAR", "The collection."),
            Column("said_ids", "VARCHAR[]", "Identity of each: digits of the hash of its content."),
            Column("content", "VARCHAR", "What was said, one after the other, as JSON."),
        ),
        by_people=True,
    ),
    Table(
        "pairs",
        "What was said last before a sale, beside that sale; worked out anew from the others.",
        (
            Column("said_id", "VARCHAR", "What was said."),
            Column("matched_by", "VARCHAR", "chassis, lot or stock number."),
            Column("source", "VARCHAR", "sales or ledger."),
            Column("sale_key", "VARCHAR", "The sale in the evidence, or its entry in the ledger."),
            Column("sold_on", "DATE", "Day of the sale."),
            Column("price", "DECIMAL(18, 2)", "What it brought."),
            Column("currency", "VARCHAR", "Its currency."),
            Column("left_out", "VARCHAR", "Why it is not compared, empty if it is."),
            Column("content", "VARCHAR", "The pair whole, as JSON."),
        ),
    ),
)
