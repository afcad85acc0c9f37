"""Tables of what was read in: batches, sales, rows set aside, and what people decided on them."""

from __future__ import annotations

from valuation.evidence.shapes import Column, Table
from valuation.schema import ATTRIBUTES, SALE_FIELDS
from valuation.schema.kinds import Attribute, Field

__all__ = ["CHANGE_COLUMNS", "SALES_TABLES", "SALE_COLUMNS", "TEXT_COLUMNS"]

CHANGE_COLUMNS = (
    Column("number", "BIGINT", "Number of the change, rising."),
    Column("moment", "TIMESTAMP", "When it was made, in coordinated universal time."),
    Column("who", "VARCHAR", "Who made it."),
)
"""With these begins every table whose rows are what people said."""

TEXT_COLUMNS = ("engine_text", "transmission_text", "colour_text")
"""Words of a sale beside the contract, as they came."""

_KINDS = {"money": "DOUBLE", "date": "DATE", "number": "DOUBLE", "set": "VARCHAR[]"}


def _sale_columns() -> tuple[Column, ...]:
    contract: tuple[Field | Attribute, ...] = (*SALE_FIELDS, *ATTRIBUTES)
    return (
        Column("batch", "VARCHAR", "Batch the sale came with."),
        Column("sale_key", "VARCHAR", "Batch and row, by which the sale is named."),
        *(Column(f.name, _KINDS.get(f.kind, "VARCHAR"), f.help) for f in contract),
        Column("statements", "VARCHAR[]", "What the words say and no attribute expresses."),
        Column("file", "VARCHAR", "File, and sheet where it has several."),
        Column("row", "BIGINT", "Row as a spreadsheet counts it."),
        *(Column(name, "VARCHAR", "Words as they came.") for name in TEXT_COLUMNS),
    )


SALE_COLUMNS = _sale_columns()

SALES_TABLES = (
    Table(
        "batches",
        "A file that was read in.",
        (
            Column("batch", "VARCHAR", "First twelve hexadecimal digits of the hash."),
            Column("kind", "VARCHAR", "sales, ledger or said."),
            Column("file", "VARCHAR", "Name of the file."),
            Column("sha256", "VARCHAR", "Hash of its content."),
            Column("rows", "BIGINT", "Data rows in it."),
            Column("accepted", "BIGINT", "Rows that became sales."),
            Column("set_aside", "BIGINT", "Rows that could not be used."),
            Column("reading", "VARCHAR", "Which note beside the kept file says how it was read."),
            Column("currency", "VARCHAR", "Currency of its amounts; XXX if nothing names one."),
            Column("dated", "BOOLEAN", "Whether its rows have dates."),
            Column("notes", "VARCHAR[]", "What was noticed when it was read."),
            Column("source_map", "VARCHAR", "How its columns were read, as TOML."),
        ),
    ),
    Table("sales", "A sale that was read and can be used.", SALE_COLUMNS),
    Table(
        "rows_set_aside",
        "A row that could not be used, with all its reasons.",
        (
            Column("batch", "VARCHAR", "Batch it came with."),
            Column("sale_key", "VARCHAR", "Batch and row, by which the row is named."),
            Column("file", "VARCHAR", "File, and sheet where it has several."),
            Column("row", "BIGINT", "Row as a spreadsheet counts it."),
            Column("faults", "VARCHAR", "Every reason: code, column, what came, remedy, as JSON."),
            Column("cells", "VARCHAR", "The row as it came, as JSON."),
        ),
    ),
    Table(
        "events",
        "Something that was decided about a batch; the last one counts.",
        (
            *CHANGE_COLUMNS,
            Column("batch", "VARCHAR", "The batch."),
            Column("kind", "VARCHAR", "Kind of the batch."),
            Column("event", "VARCHAR", "read in, undone, held, accepted or restored."),
            Column("status", "VARCHAR", "Status from then on: in use, held or undone."),
            Column("sha256", "VARCHAR", "When read in: hash of the file."),
            Column("reading", "VARCHAR", "When read in: which way of reading the kept file."),
            Column("about", "VARCHAR", "When read in: what the batch then was, as JSON."),
            Column("reason", "VARCHAR", "Why."),
        ),
        by_people=True,
    ),
    Table(
        "corrections",
        "Something that was decided about a sale; the last one counts.",
        (
            *CHANGE_COLUMNS,
            Column("sale_key", "VARCHAR", "The sale."),
            Column("action", "VARCHAR", "set aside, fix or restore."),
            Column("field", "VARCHAR", "Attribute or sale field that is fixed."),
            Column("value", "VARCHAR", "Its value from then on, as JSON."),
            Column("stated", "VARCHAR", "What was typed."),
            Column("reason", "VARCHAR", "Why."),
        ),
        by_people=True,
    ),
)
