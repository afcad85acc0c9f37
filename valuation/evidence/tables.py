"""All tables of the evidence, and how a database is brought to their shape."""

from __future__ import annotations

import duckdb

from valuation.evidence.ledger_tables import LEDGER_TABLES
from valuation.evidence.sales_tables import SALES_TABLES
from valuation.evidence.shapes import Column, Table

__all__ = ["BY_TABLE", "FORMAT", "META", "TABLES", "format_of", "make_tables", "show_all_columns"]

FORMAT = 1
"""Version of the format: rises when a change can't be read by what was written before it."""

META = Table(
    "meta",
    "A fact about the whole database.",
    (Column("key", "VARCHAR", "Its name."), Column("value", "VARCHAR", "What it is.")),
)

TABLES: tuple[Table, ...] = (META, *SALES_TABLES, *LEDGER_TABLES)
"""Every table.  A module with tables of its own appends them here."""

BY_TABLE: dict[str, Table] = {t.name: t for t in TABLES}


def _found(con: duckdb.DuckDBPyConnection) -> dict[str, set[str]]:
    """Return the columns of each table that is in the database."""
    found: dict[str, set[str]] = {}
    for table, column in con.execute(
        "SELECT table_name, column_name FROM duckdb_columns() "
        "WHERE database_name = current_database() AND schema_name = 'main' AND NOT internal"
    ).fetchall():
        found.setdefault(table, set()).add(column)
    return found


def make_tables(con: duckdb.DuckDBPyConnection) -> None:
    """Make the tables and columns that a database lacks; what is there stays as it is."""
    found = _found(con)
    for table in TABLES:
        if table.name not in found:
            con.execute(table.ddl())
            continue
        for column in table.columns:
            if column.name not in found[table.name]:
                con.execute(f'ALTER TABLE "{table.name}" ADD COLUMN "{column.name}" {column.kind}')
    if META.name not in found:
        con.execute("INSERT INTO meta VALUES ('format', ?), ('changes', '0')", [str(FORMAT)])


def show_all_columns(con: duckdb.DuckDBPyConnection) -> None:
    """Let a database that can't be changed look as if it had every table and column.

    An older database lacks what later versions added.  Who reads it sees the missing tables empty
    and the missing columns not stated.
    """
    found = _found(con)
    for table in TABLES:
        if table.name not in found:
            con.execute(table.ddl().replace("CREATE TABLE", "CREATE TEMP TABLE", 1))
            continue
        lacking = [c for c in table.columns if c.name not in found[table.name]]
        if lacking:
            more = ", ".join(f'CAST(NULL AS {c.kind}) AS "{c.name}"' for c in lacking)
            database = con.execute("SELECT current_database()").fetchall()[0][0]
            con.execute(
                f'CREATE OR REPLACE TEMP VIEW "{table.name}" AS '
                f'SELECT *, {more} FROM "{database}".main."{table.name}"'
            )


def format_of(con: duckdb.DuckDBPyConnection) -> int:
    """Return the version of the format of a database, 0 if it is no database of evidence."""
    if META.name not in _found(con):
        return 0
    rows = con.execute("SELECT value FROM meta WHERE key = 'format'").fetchall()
    return int(rows[0][0]) if rows and str(rows[0][0]).isdecimal() else 0
