"""What a table of the evidence is made of: names and kinds, as data."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Column", "Table"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table.

    Parameters
    ----------
    name : str
        Its name.
    kind : str
        Its type in the database, such as ``VARCHAR`` or ``TIMESTAMP``.
    help : str
        One sentence that says what it holds.
    """

    name: str
    kind: str
    help: str


@dataclass(frozen=True, slots=True)
class Table:
    """One table of the evidence.

    Parameters
    ----------
    name : str
        Its name.
    help : str
        One sentence that says what a row is.
    columns : tuple of Column
        Its columns.  A later version may append some; none is ever taken away.
    by_people : bool
        Whether its rows are what people said, which no file can tell again: such rows are added
        with :func:`valuation.evidence.journal.record` and never changed.
    """

    name: str
    help: str
    columns: tuple[Column, ...]
    by_people: bool = False

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the columns."""
        return tuple(c.name for c in self.columns)

    def ddl(self) -> str:
        """Return the statement that makes the table where it is missing."""
        columns = ", ".join(f'"{c.name}" {c.kind}' for c in self.columns)
        return f'CREATE TABLE IF NOT EXISTS "{self.name}" ({columns})'
